"""What `record` answers: one line, or one JSON object in a line, for each entry."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from continuity_cli.answers.receipt import answer

if TYPE_CHECKING:
    from collections.abc import Callable

    from continuity.recording import Receipt


def line(receipt: Receipt) -> str:
    """The receipt as a person reads it: case, entry, what it was, and what is new."""
    chain = receipt.case or "the register"
    parts = [f"recorded in {chain} as entry {receipt.number}: {receipt.act.kind}"]
    if receipt.act.introduces():
        parts.append(f"new {', '.join(receipt.act.introduces())}")
    if receipt.act.despite:
        parts.append(
            f"found so in spite of {', '.join(receipt.act.despite)}: irregularity"
            f" {receipt.number} is open"
        )
    if receipt.mirrored:
        parts.append(f"also in {', '.join(receipt.mirrored)}")
    return "; ".join(parts)


def teller(*, as_json: bool) -> Callable[[Receipt], None]:
    """What prints a receipt: for a person, or for a program."""
    if as_json:
        return lambda receipt: click.echo(json.dumps(answer(receipt)))
    return lambda receipt: click.echo(line(receipt))
