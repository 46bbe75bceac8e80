"""What `record` answers: one line, or one JSON object in a line, for each entry."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from continuity_cli.answers.receipt import answer

if TYPE_CHECKING:
    from collections.abc import Callable

    from continuity.recording import Receipt
    from continuity.register import Register


MOVES = frozenset(
    {
        "case-opened",
        "received",
        "moved",
        "put-in",
        "taken-out",
        "handed-over",
        "returned",
        "released",
        "recalled",
        "disposed",
    }
)
"""The kinds by which something comes, goes, or changes its place."""


def warn_of_alike(register: Register, receipt: Receipt) -> None:
    """With every move, tell on standard error of a decedent in care whose name is alike."""
    if receipt.case is None or receipt.act.kind not in MOVES:
        return
    for neighbour in register.alike(receipt.case):
        click.echo(
            f"take care: the decedent of case {neighbour.case}, in care too, has the same or a"
            f" similar name as that of {receipt.case}; read the number from the tag",
            err=True,
        )


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
