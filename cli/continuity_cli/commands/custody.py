"""`continuity custody`: who held what of a case, from when to when."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from continuity.care.custody import custody as replayed
from continuity.care.things import natural
from continuity_cli import options
from continuity_cli.answers.custody import answer
from continuity_cli.asked import Asked
from continuity_cli.paths import opened
from continuity_cli.printing import show, show_json
from continuity_cli.words import local, table, titled

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from continuity_cli.answers.custody import Answer, TransferAnswer
    from continuity_cli.paths import Files


@click.command()
@click.argument("case")
@options.at_a_moment
@options.as_json
@options.register
def command(
    case: str,
    files: Files,
    known: datetime | None,
    happened: datetime | None,
    *,
    as_json: bool,
) -> None:
    """Show who held each thing of a case, from when to when, and where that chain is broken.

    CASE is its number, one of its things, or a scanned label. `here` is the firm itself.
    """
    with opened(files) as register:
        asked = Asked.of(register, case, known, happened)
        folded = asked.read(register)
    told = answer(folded, replayed(folded), asked)
    if as_json:
        show_json(told)
    else:
        show(_screen(told, asked))


def _screen(told: Answer, asked: Asked) -> Iterator[str]:
    yield click.style(f"case {told['case']}", bold=True) + f", {asked.words}"
    held = sorted(told["holdings"], key=lambda h: (natural(h["thing"]), h["since"]))
    rows = (
        (h["thing"], h["holder"], local(h["since"]), local(h["until"]) or "still", str(h["entry"]))
        for h in held
    )
    yield from titled("custody", table(rows, ("thing", "held by", "from", "until", "entry")))
    head = ("entry", "at", "from", "to", "things", "signed for")
    yield from titled("hand-overs", table(map(_transfer, told["transfers"]), head))
    broken = (
        (b["what"], b["thing"], f"{b['before']} to {b['after']}", local(b["at"]), str(b["entry"]))
        for b in told["broken"]
    )
    yield from titled("broken", table(broken, ("what", "thing", "between", "at", "entry")))


def _transfer(transfer: TransferAnswer) -> tuple[str, ...]:
    accepted = transfer["accepted"]
    return (
        str(transfer["entry"]),
        local(transfer["at"]),
        transfer["giver"],
        transfer["taker"],
        ", ".join(transfer["things"]),
        local(accepted) if accepted else "by one side only",
    )
