"""A case's entries in rows: CSV for a spreadsheet, JSON Lines for a program."""

from __future__ import annotations

import csv
import json
import re
import unicodedata
from datetime import timedelta, timezone
from io import StringIO
from typing import TYPE_CHECKING, Any

from continuity.care.times import write_time
from continuity.ledger import canonical

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.audit.formats.casefile import CaseFile, Line
    from continuity.care.records import Event

COLUMNS = (
    "case",
    "number",
    "status",
    "struck_by",
    "strikes",
    "kind",
    "words",
    "happened",
    "happened_local",
    "recorded",
    "recorded_by",
    "signed_by",
    "things",
    "places",
    "holders",
    "details",
    "position",
    "leaf",
    "previous",
    "mirrors",
)
"""The columns of the CSV, in order."""

_FORMULA = re.compile("(?:^|(?<=[;\n]))(?=\\s*[=+\\-@\uff1d\uff0b\uff0d\uff20])")
"""Where a spreadsheet would begin to compute: at the start of a cell, of a line in it, or of what
it takes for one where semicolons part the cells; full-width signs too (OWASP, CSV Injection)."""

_JOINERS = "\u200c\u200d"
"""Zero-width joiner and non-joiner: without them words in several scripts are misspelt."""


def csv_text(file: CaseFile) -> Iterator[str]:
    """The entries as CSV (RFC 4180): a header, then one row for each, CRLF at line ends.

    Where a spreadsheet would compute, an apostrophe stands; what does not print, or makes a line
    read other than it is, is written as an escape. JSON Lines has both unchanged.
    """
    yield _row(COLUMNS)
    for line in file.lines:
        yield _row([_cell(value) for value in _cells(file, line)])


def jsonl_text(file: CaseFile) -> Iterator[str]:
    """The entries as JSON Lines: each verbatim, with its place in the record and plain words.

    `note` is the signed note's exact text; `entry` is its body, the same JSON.
    """
    for line in file.lines:
        yield json.dumps(_object(file, line)) + "\n"


def local_time(event: Event) -> str:
    """When it happened, by the clock of those who recorded it (RFC 3339)."""
    sign = -1 if event.utc_offset.startswith("-") else 1
    hours, minutes = int(event.utc_offset[1:3]), int(event.utc_offset[4:])
    zone = timezone(sign * timedelta(hours=hours, minutes=minutes))
    return event.occurred_at.astimezone(zone).isoformat(timespec="milliseconds")


def _object(file: CaseFile, line: Line) -> dict[str, Any]:
    event = line.event
    return {
        "register": file.register,
        "case": file.number,
        "number": line.number,
        "status": line.status,
        "struck_by": line.struck_by,
        "strikes": line.strikes,
        "kind": event.act.kind,
        "words": line.words,
        "happened_local": local_time(event),
        "signed_by": list(event.persons),
        "things": {thing: _description(file, thing) for thing in event.act.mentions()},
        "places": list(event.act.places()),
        "holders": list(event.act.holders()),
        "position": line.position,
        "leaf": event.leaf,
        "entry": canonical.decode(line.note.split(b"\n", 2)[1]),
        "note": line.note.decode(),
    }


def _description(file: CaseFile, thing: str) -> str | None:
    found = file.case.things.get(thing)
    return found.description if found else None


def _cells(file: CaseFile, line: Line) -> tuple[str | int | None, ...]:
    event = line.event
    return (
        file.number,
        line.number,
        line.status,
        line.struck_by,
        line.strikes,
        event.act.kind,
        line.words,
        write_time(event.occurred_at),
        local_time(event),
        write_time(event.recorded_at),
        event.by,
        " ".join(event.persons),
        " ".join(dict.fromkeys(event.act.mentions())),
        " ".join(event.act.places()),
        " ".join(event.act.holders()),
        canonical.encode(line.entry.details).decode(),
        line.position,
        event.leaf,
        line.entry.previous.hex(),
        event.mirrors,
    )


def _cell(value: str | int | None) -> str:
    if value is None:
        return ""
    text = str(value)
    if not text.isprintable():
        text = "".join(map(_legible, text))
    return _FORMULA.sub("'", text)


def _legible(character: str) -> str:
    kept = character.isprintable() or character == "\n" or character in _JOINERS
    if kept or unicodedata.category(character) == "Zs":
        return character
    return (
        f"\\u{ord(character):04x}"
        if ord(character) <= _LAST_OF_FOUR
        else (f"\\U{ord(character):08x}")
    )


_LAST_OF_FOUR = 0xFFFF


def _row(cells: tuple[str, ...] | list[str]) -> str:
    text = StringIO(newline="")
    csv.writer(text).writerow(cells)
    return text.getvalue()
