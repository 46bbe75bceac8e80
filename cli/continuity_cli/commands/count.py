"""`continuity count`: everything at a place scanned, compared with the record, and recorded."""

from __future__ import annotations

import sys
from itertools import takewhile
from typing import TYPE_CHECKING

import click

from continuity.care.counting import together
from continuity.care.intent import read_intent
from continuity.care.things import case_of
from continuity.errors import InputError
from continuity_cli import options
from continuity_cli.answers.count import answer
from continuity_cli.given import thing_of
from continuity_cli.labelling.codes import place_code
from continuity_cli.paths import opened
from continuity_cli.plain import harmless
from continuity_cli.printing import show, show_json
from continuity_cli.statuses import WANTING, YES
from continuity_cli.words import titled
from continuity_labels.code import CodeBook

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from continuity.care.counting import Count
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

    It is recorded in each case that has something there, with that case's things alone.

    Each THING is a number or a scanned label; without any, they are read from standard input, one
    a line, as a scanner types them, up to the place's own label or the end. At a terminal each
    is answered, and one that is not read is told at once and left out; elsewhere it ends the
    count, and nothing is recorded. What lies in something shut that was scanned is uncounted.
    The exit status is 0 only if the place and the record agree.
    """
    with opened(files) as register:
        if place not in register.house().places:
            raise InputError(f"place {place!r}: none is named so in this register")
        signatories = signing.signatories()
        seen = _seen(register, things) if things else _scanned(register, place)
        counts = register.count(place, seen)
        intents = [read_intent(_fields(case, count)) for case, count in counts.items()]
        receipts = register.record_all(intents, signatories)
    count = together(place, counts.values())
    told = answer(count, receipts)
    if as_json:
        show_json(told)
    else:
        show(_screen(told))
    return YES if count.agrees else WANTING


def _fields(case: str, count: Count) -> dict[str, object]:
    """The entry that tells a case of its own things."""
    return {
        "kind": "place-counted",
        "case": case,
        "place": count.place,
        "seen": count.seen,
        "missing": count.missing,
        "unexpected": count.unexpected,
        "uncounted": count.uncounted,
    }


def _scanned(register: Register, place: str) -> list[str]:
    """The things scanned on standard input, each once, up to the place's own label."""
    own = place_code(CodeBook(register.id), place).text
    lines = (line.strip() for line in sys.stdin)
    scans = takewhile(lambda text: text.upper().replace("-", "") != own, filter(None, lines))
    return _seen(register, scans, told=sys.stdin.isatty())


def _seen(register: Register, texts: Iterable[str], *, told: bool = False) -> list[str]:
    """The things scanned, each once; where each is told, what is not read is left out."""
    seen: dict[str, None] = {}
    for number, text in enumerate(texts, 1):
        try:
            thing = _known(register, thing_of(register, text))
        except InputError as error:
            if not told:
                raise InputError(f"scan {number}: {error}") from None
            click.echo(f"\aNOT COUNTED: {harmless(str(error))}", err=True)
            continue
        if told:
            again = " again" if thing in seen else ""
            click.echo(f"{len(seen | {thing: None})}: {thing}{again}", err=True)
        seen[thing] = None
    return list(seen)


def _known(register: Register, thing: str) -> str:
    """The thing, if there is one of that number."""
    if thing not in register.case(case_of(thing)).things:
        raise InputError(f"thing {thing}: no such thing in this register; check the label")
    return thing


def _screen(told: Answer) -> Iterator[str]:
    verdict = "agrees with the record" if told["agrees"] else "does not agree with the record"
    number = len(told["seen"])
    yield f"{harmless(told['place'])} {verdict}: {number} seen"
    yield from titled("missing: recorded there, not found", told["missing"])
    yield from titled("unexpected: found there, recorded elsewhere", told["unexpected"])
    yield from titled("uncounted: shut in what was seen", told["uncounted"])
    entries = [f"case {one['case']}, entry {one['entry']}" for one in told["entries"]]
    yield from titled("recorded in", entries or ["no case: none has anything there"])
