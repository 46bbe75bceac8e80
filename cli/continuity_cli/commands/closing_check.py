"""`continuity closing-check`: is anything still elsewhere, before the coffin is closed?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from continuity.care.things import HERE
from continuity_cli import options
from continuity_cli.answers.closing_check import answer
from continuity_cli.asked import Asked
from continuity_cli.paths import opened
from continuity_cli.plain import harmless
from continuity_cli.printing import show, show_json
from continuity_cli.statuses import WANTING, YES
from continuity_cli.words import local, titled

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime

    from continuity_cli.answers.closing_check import Answer, FindingAnswer
    from continuity_cli.paths import Files

_FRAMES = {"clear": ("=", "green"), "not clear": ("X", "red")}
_OVER = ("!", "yellow")
"""What frames the verdict: by shape and by word first, by colour only besides."""


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
) -> int:
    """Check a case before its coffin is closed: is everything accounted for?

    CASE is its number, one of its things, or a scanned label. The exit status is 0 only if the
    verdict is clear. The check records nothing; `record closing-check-signed` signs it.
    """
    with opened(files) as register:
        asked = Asked.of(register, case, known, happened)
        verdict = register.closing_check(asked.case, known_until=known, happened_until=happened)
    told = answer(verdict, asked)
    if as_json:
        show_json(told)
    else:
        show(_screen(told, asked))
    return YES if verdict.clear else WANTING


def _screen(told: Answer, asked: Asked) -> Iterator[str]:
    yield from _banner(told["verdict"])
    yield f"case {told['case']}, {asked.words}; checked for {local(told['at'])}"
    stopping = [f for f in told["findings"] if f["stops"]]
    known = [f for f in told["findings"] if not f["stops"]]
    yield from titled(f"stops the closing ({len(stopping)})", _lines(stopping))
    yield from titled(f"noted, and does not stop the closing ({len(known)})", _lines(known))
    if told["closed_over"]:
        yield from titled("closed over, on the word of two", told["closed_over"])


def _banner(verdict: str) -> Iterator[str]:
    """The verdict, big and plain: a closed frame that differs for each."""
    mark, colour = _FRAMES.get(verdict, _OVER)
    line = f"{mark * 3}   {verdict.upper()}   {mark * 3}"
    for text in (mark * len(line), line, mark * len(line)):
        yield click.style(text, fg=colour, bold=True)


def _lines(findings: Iterable[FindingAnswer]) -> Iterator[str]:
    for finding in findings:
        yield f"{click.style(finding['code'], bold=True)}: {harmless(finding['what'])}"
        yield f"    {'; '.join(_particulars(finding))}"
        yield f"    mend: {harmless(finding['mend'])}"


def _particulars(finding: FindingAnswer) -> Iterator[str]:
    """Where it is, who holds it, when it was last sighted, and which entries show it."""
    if finding["things"]:
        yield f"at {finding['place']}" if finding["place"] else "at no place on record"
        holder = finding["holder"]
        yield "held by this house" if holder == HERE else f"held by {holder or 'nobody on record'}"
        seen = finding["last_sighted"]
        yield f"last sighted {local(seen)}" if seen else "never sighted"
    shown = ", ".join(map(str, finding["entries"]))
    entries = "entry" if len(finding["entries"]) == 1 else "entries"
    yield f"see {entries} {shown} of the case" if shown else "no entry speaks of it"
