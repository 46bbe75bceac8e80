"""Intents: what somebody wants recorded, as it arrives from a command, a scan or a line of JSON."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from continuity.care.acts.base import Act
from continuity.care.entries import KINDS, read_act
from continuity.care.entries import schema as acts_schema
from continuity.care.things import CASE_NUMBER, case_of, is_case_number
from continuity.care.times import parse_time
from continuity.errors import InputError

if TYPE_CHECKING:
    from datetime import datetime

MAX_BYTES = 65_535


@dataclass(frozen=True, slots=True)
class Intent:
    """An act to be recorded: into which case, when it happened, and whether it was found so.

    Attributes:
        act: what happened.
        case: the case's number; None for the register's own chain.
        occurred_at: when it happened, UTC; None means now.
        found: it is so, whatever the rules say: record it and open an irregularity.
        as_of: how many entries the register held when whoever asks this looked: what has since been
            moved by somebody else is not where they saw it, and is refused; None asks nothing.
    """

    act: Act
    case: str | None = None
    occurred_at: datetime | None = None
    found: bool = False
    as_of: int | None = None


def read_intent(fields: dict[str, Any]) -> Intent:
    """Make an intent from its fields: those of the act and of the envelope.

    Without `case` it goes into the case of the first thing it names.

    Raises:
        InputError: names the field and what is wrong with it.
    """
    fields = dict(fields)
    case = fields.pop("case", None)
    occurred_at = fields.pop("occurred_at", None)
    found = fields.pop("found", False)
    as_of = fields.pop("as_of", None)
    for name in Act.filled_in:
        if name in fields:
            instead = "; give found instead" if name == "despite" else ""
            raise InputError(f"{name}: only the register fills this in{instead}")
    if case is not None and not (isinstance(case, str) and is_case_number(case)):
        raise InputError(f"case {case!r}: a case number is capitals, digits and hyphens")
    if not isinstance(found, bool):
        raise InputError("found: true or false")
    if as_of is not None and (type(as_of) is not int or as_of < 0):
        raise InputError("as_of: a whole number, how many entries the register held")
    if occurred_at is not None:
        try:
            occurred_at = parse_time(occurred_at)
        except ValueError as error:
            raise InputError(f"occurred_at: {error}") from None
    if fields.get("kind") == "case-opened":
        number = fields.setdefault("number", case)
        if case not in (None, number):
            raise InputError(f"case {case}: it opens under another number, {number}")
        case = number
    act = read_act(_with_power(fields))
    return Intent(act, _belongs_to(act, case), occurred_at, found, as_of)


def _with_power(fields: dict[str, Any]) -> dict[str, Any]:
    """A new device of which nobody says what drives it must not pass for harmless."""

    def said(item: Any) -> Any:
        device = isinstance(item, dict) and item.get("what") == "device"
        return {"power": "unknown", **item} if device else item

    lists = {n: fields[n] for n in ("items", "into") if isinstance(fields.get(n), (list, tuple))}
    return fields | {name: [said(item) for item in items] for name, items in lists.items()}


def _belongs_to(act: Act, case: str | None) -> str | None:
    """The case an act goes into: the one given, or that of the first thing it names."""
    if act.for_house:
        if case is not None:
            raise InputError(f"case: {act.kind} belongs to the register itself, not to a case")
        return None
    if case is None:
        case = next((case_of(thing) for thing in act.mentions()), None)
    if case is None:
        raise InputError(f"case: {act.kind} needs the case it belongs to")
    return case


def schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of an intent: an act with its envelope, one shape a kind."""
    union = acts_schema()
    for kind, name in union["discriminator"]["mapping"].items():
        shape = union["$defs"][name.rpartition("/")[2]]
        fields: dict[str, Any] = shape["properties"]
        for filled_in in Act.filled_in:
            fields.pop(filled_in, None)
        envelope = dict(_ENVELOPE_SCHEMA)
        if KINDS[kind].for_house:
            del envelope["case"]
        shape["properties"] = fields | envelope
        needed = [field for field in shape.get("required", []) if field != "number"]
        shape["required"] = ["kind", *needed]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Intent", **union}


_ENVELOPE_SCHEMA: dict[str, Any] = {
    "case": {
        "type": "string",
        "pattern": f"^{CASE_NUMBER}$",
        "description": "the case it goes into; else that of the first thing it names",
    },
    "occurred_at": {
        "type": "string",
        "format": "date-time",
        "description": "when it happened, with its offset from UTC; else now",
    },
    "found": {
        "type": "boolean",
        "description": "it is found to be so, whatever the rules say; opens an irregularity",
    },
    "as_of": {
        "type": "integer",
        "minimum": 0,
        "description": "how many entries the register held when its maker looked: a thing that"
        " somebody has moved since is refused",
    },
}


def read_line(line: bytes | str) -> Intent:
    """Read one line of JSON as an intent, as strictly as `read_fields`.

    Raises:
        InputError: names what is wrong.
    """
    return read_intent(read_fields(line))


def read_fields(line: bytes | str) -> dict[str, Any]:
    """Read one JSON object strictly: no duplicate names, no floats, no surrogates.

    Raises:
        InputError: names what is wrong.
    """
    data = line.encode(errors="surrogatepass") if isinstance(line, str) else line
    if len(data) > MAX_BYTES:
        raise InputError(f"the line is longer than {MAX_BYTES} bytes")
    try:
        text = data.decode()
    except UnicodeError:
        raise InputError("the line is not UTF-8 text") from None
    try:
        value = json.loads(
            text,
            object_pairs_hook=_no_duplicates,
            parse_float=_no_float,
            parse_constant=_no_float,
        )
        json.dumps(value, ensure_ascii=False).encode()
    except UnicodeError:
        raise InputError("the line escapes half a character (a lone surrogate)") from None
    except RecursionError:
        raise InputError("the line is nested too deeply") from None
    except ValueError as error:
        raise InputError(f"the line is not JSON: {error}") from None
    if not isinstance(value, dict):
        raise InputError("the line is not a JSON object")
    return value


def _no_duplicates(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    names = dict(pairs)
    if len(names) < len(pairs):
        twice = Counter(name for name, _ in pairs).most_common()[0][0]
        raise InputError(f"{twice}: given twice")
    return names


def _no_float(text: str) -> Any:
    raise InputError(f"{text}: not a whole number; weights are grams, volumes millilitres")
