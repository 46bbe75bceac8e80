"""`continuity count`: everything at a place scanned, compared with the record, and recorded."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from continuity.care.intent import read_intent
from continuity.errors import InputError
from continuity_cli import options
from continuity_cli.answers.count import answer
from continuity_cli.given import thing_of
from continuity_cli.paths import opened
from continuity_cli.plain import harmless
from continuity_cli.printing import show, show_json
from continuity_cli.statuses import WANTING, YES
from continuity_cli.words import titled

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from continuity.register import Register
    from continuity_cli.answers.count import Answer
    from continuity_cli.paths import Files
    from continuity_cli.signing import Signing


@click.command()
@click.argument("place")
@click.argument("things", nargs=-1, metavar="[THING]...")
@options.register
@options.signing
@options.as_json
def command(
    place: str,
    things: tuple[str, ...],
    files: Files,
    signing: Signing,
    *,
    as_json: bool,
) -> int:
    """Count a place: tell what is missing, unexpected or uncounted, and record the count.

    Each THING is a number or a scanned label; without any, they are read from standard input, one
    a line, as a scanner types them. What lies in something shut that was scanned is uncounted. The
    exit status is 0 only if the place and the record agree.
    """
    with opened(files) as register:
        if place not in register.house().places:
            raise InputError(f"place {place!r}: none is named so in this register")
        signatories = signing.signatories()
        count = register.count(place, _seen(register, things or _scanned()))
        fields = {
            "kind": "place-counted",
            "place": place,
            "seen": count.seen,
            "missing": count.missing,
            "unexpected": count.unexpected,
            "uncounted": count.uncounted,
        }
        receipt = register.record(read_intent(fields), signatories)
    told = answer(count, receipt)
    if as_json:
        show_json(told)
    else:
        show(_screen(told))
    return YES if count.agrees else WANTING


def _scanned() -> Iterator[str]:
    """The lines of standard input that hold something."""
    return (line.strip() for line in sys.stdin if line.strip())


def _seen(register: Register, texts: Iterable[str]) -> list[str]:
    """The things scanned, each once."""
    seen: dict[str, None] = {}
    for number, text in enumerate(texts, 1):
        try:
            seen[thing_of(register, text)] = None
        except InputError as error:
            raise InputError(f"scan {number}: {error}") from None
    return list(seen)


def _screen(told: Answer) -> Iterator[str]:
    verdict = "agrees with the record" if told["agrees"] else "does not agree with the record"
    number = len(told["seen"])
    yield f"{harmless(told['place'])} {verdict}: {number} seen; entry {told['entry']}"
    yield from titled("missing: recorded there, not found", told["missing"])
    yield from titled("unexpected: found there, recorded elsewhere", told["unexpected"])
    yield from titled("uncounted: shut in what was seen", told["uncounted"])
