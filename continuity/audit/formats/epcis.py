"""A case as a GS1 EPCIS 2.0 document in JSON-LD: what, when, where and why, event by event.

Each entry is one event or several: the first carries what the entry says (`continuity:details`),
all carry its number (`continuity:entry`) and their own place among them (`continuity:part`).

A correction is an error declaration, for an EPCIS event is never edited: the struck entry's events
are told once more, the same to their `eventID`, with the time and reason of the declaration; and
what is to be read instead is told as events of its own, which the declaration names.
"""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

from continuity.audit.formats.casefile import happenings
from continuity.audit.formats.epcis_kinds import Telling, events
from continuity.audit.formats.names import TERMS, Names
from continuity.care.times import write_time

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from continuity.audit.formats.casefile import CaseFile, Happening, Line
    from continuity.audit.formats.epcis_kinds import Event

CONTEXT = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
"""What the standard's own words mean; named in the document, and never fetched by this program."""

OWN_CONTEXT = {
    "continuity": TERMS,
    "continuity:details": {"@id": f"{TERMS}details", "@type": "@json"},
}
"""What this program's words mean. An entry's details are carried as they stand (JSON-LD 1.1,
section 4.2.2)."""

_OFFSET = re.compile(r"[+-](?:0\d|1[0-3]):[0-5]\d|[+-]14:00")
"""The offsets that EPCIS knows; the ledger allows more."""


def epcis_text(file: CaseFile, made: datetime, base: str | None = None) -> Iterator[str]:
    """The case as an EPCIS document, an event to a line.

    Args:
        file: The case.
        made: When the document is made.
        base: Where the register's URIs lie; see `Names`.

    Raises:
        InputError: The base is not a URL that can be one.
    """
    head = {
        "@context": [CONTEXT, OWN_CONTEXT],
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": write_time(made),
    }
    names = Names.of(file, base)
    yield json.dumps(head)[:-1] + ', "epcisBody": {"eventList": ['
    for index, event in enumerate(_events(file, names)):
        yield (",\n" if index else "\n") + json.dumps(event)
    yield "\n]}}\n"


def _events(file: CaseFile, names: Names) -> Iterator[Event]:
    """Every event, in the order in which the entries were recorded."""
    stands = {happening.told_by: happening for happening in happenings(file)}
    lines = {line.number: line for line in file.lines}
    for line in file.lines:
        happening = stands.get(line.number)
        if line.strikes is None:
            yield from _told(file, names, line, happening)
            continue
        instead = list(_told(file, names, line, happening)) if happening else []
        declaration = _declaration(line, [event["eventID"] for event in instead])
        for event in _told(file, names, lines[line.strikes], None):
            yield event | {"errorDeclaration": declaration}
        yield from instead


def _told(file: CaseFile, names: Names, line: Line, happening: Happening | None) -> Iterator[Event]:
    """The events of one entry: of what stands, or, without that, of what the entry said."""
    told = happening.event if happening else line.event
    offset = line.event.utc_offset
    changes = happening.changes if happening else ()
    for part, what in enumerate(events(Telling(told.act, file.number, names, changes)), 1):
        event = {
            "type": what["type"],
            "eventID": names.event(line.event.leaf, json.dumps(what, sort_keys=True)),
            "eventTime": write_time(told.occurred_at),
            "eventTimeZoneOffset": offset if _OFFSET.fullmatch(offset) else "+00:00",
            **what,
            "bizTransactionList": [{"bizTransaction": names.case(file.number)}],
            "continuity:entry": line.number,
            "continuity:part": part,
        }
        yield event | (_particulars(line) if part == 1 else {})


def _particulars(line: Line) -> dict[str, Any]:
    """What an entry says, and who says so; by their ids alone."""
    return {
        "continuity:kind": line.event.act.kind,
        "continuity:words": line.words,
        "continuity:details": line.entry.details,
        "continuity:recordedAt": write_time(line.event.recorded_at),
        "continuity:recordedBy": line.event.by,
        "continuity:signedBy": list(line.event.persons),
        "continuity:leaf": line.event.leaf,
    }


def _declaration(line: Line, corrective: list[str]) -> dict[str, Any]:
    """What a correction declares of the events it strikes."""
    return {
        "declarationTime": write_time(line.event.recorded_at),
        "reason": "incorrect_data" if corrective else "did_not_occur",
        **({"correctiveEventIDs": corrective} if corrective else {}),
        "continuity:entry": line.number,
        **_particulars(line),
    }
