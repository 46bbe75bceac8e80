"""Intents: what somebody wants recorded, as it arrives from a command, a scan or a line of JSON."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from continuity.care.entries import KINDS, read_act
from continuity.care.things import is_case_number
from continuity.care.times import parse_time
from continuity.errors import InputError

if TYPE_CHECKING:
    from datetime import datetime

    from continuity.care.acts.base import Act

MAX_BYTES = 65_535
ENVELOPE = ("case", "occurred_at", "found")


@dataclass(frozen=True, slots=True)
class Intent:
    """An act to be recorded: into which case, when it happened, and whether it was found so.

    Attributes:
        act: what happened.
        case: the case's number; None for the register's own chain.
        occurred_at: when it happened, UTC; None means now.
        found: it is so, whatever the rules say: record it and open an irregularity.
    """

    act: Act
    case: str | None = None
    occurred_at: datetime | None = None
    found: bool = False


def read_intent(fields: dict[str, Any]) -> Intent:
    """Make an intent from its fields: those of the act, and `case`, `occurred_at`, `found`.

    Raises:
        InputError: names the field and what is wrong with it.
    """
    fields = dict(fields)
    case = fields.pop("case", None)
    occurred_at = fields.pop("occurred_at", None)
    found = fields.pop("found", False)
    if "despite" in fields:
        raise InputError("despite: only the register fills this in; give found instead")
    if case is not None and not (isinstance(case, str) and is_case_number(case)):
        raise InputError(f"case {case!r}: a case number is capitals, digits and hyphens")
    if not isinstance(found, bool):
        raise InputError("found: true or false")
    if occurred_at is not None:
        try:
            occurred_at = parse_time(occurred_at)
        except ValueError as error:
            raise InputError(f"occurred_at: {error}") from None
    if fields.get("kind") == "case-opened":
        case = fields.setdefault("number", case)
    kind = KINDS.get(fields.get("kind", ""))  # type: ignore[arg-type]
    act = read_act(fields)
    if kind is not None and kind.for_house and case is not None:
        raise InputError(f"case: {act.kind} belongs to the register itself, not to a case")
    if kind is not None and not kind.for_house and case is None:
        raise InputError(f"case: {act.kind} needs the case it belongs to")
    return Intent(act, case, occurred_at, found)


def read_line(line: bytes | str) -> Intent:
    """Read one line of JSON as an intent, strictly: no duplicate names, no floats, no surrogates.

    Raises:
        InputError: names what is wrong.
    """
    data = line.encode("utf-8", "surrogatepass") if isinstance(line, str) else line
    if len(data) > MAX_BYTES:
        raise InputError(f"the line is longer than {MAX_BYTES} bytes")
    try:
        value = json.loads(
            data.decode("utf-8"),
            object_pairs_hook=_no_duplicates,
            parse_float=_no_float,
            parse_constant=_no_float,
        )
        json.dumps(value, ensure_ascii=False).encode("utf-8")
    except InputError:
        raise
    except UnicodeError:
        raise InputError("the line is not UTF-8 text") from None
    except RecursionError:
        raise InputError("the line is nested too deeply") from None
    except ValueError as error:
        raise InputError(f"the line is not JSON: {error}") from None
    if not isinstance(value, dict):
        raise InputError("the line is not a JSON object")
    return read_intent(value)


def _no_duplicates(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    names = dict(pairs)
    if len(names) < len(pairs):
        seen: set[str] = set()
        twice = next(name for name, _ in pairs if name in seen or seen.add(name))
        raise InputError(f"{twice}: given twice")
    return names


def _no_float(text: str) -> Any:
    raise InputError(f"{text}: not a whole number; weights are grams, volumes millilitres")
