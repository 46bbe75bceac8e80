"""From what was given to an intent: what scanned codes, files and entry numbers stand for."""

from __future__ import annotations

import re
from hashlib import file_digest
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

from continuity.care.entries import KINDS
from continuity.care.intent import Intent, read_intent
from continuity.care.things import CASE_NUMBER
from continuity.clock import now
from continuity.errors import InputError
from continuity_cli.fields import option_name, shape_of

if TYPE_CHECKING:
    from pathlib import Path

    from continuity.register import Register

_NUMBER = re.compile(rf"{CASE_NUMBER}\.\d+|#\d+")
_LONGEST_POLICY = 1_000_000  # characters; an entry holds less
_ENTRY = re.compile(r"[0-9]{1,9}")
_LEAF = re.compile(r"[0-9a-f]{64}")


def intent_of(register: Register, fields: dict[str, Any]) -> Intent:
    """An intent from its fields, in which a scanned code may stand for a thing.

    Unless it says so itself, it was scanned if every thing was given by its label's code.

    A case that is opened without a number gets the year's next.

    Raises:
        InputError: names the field and what is wrong with it.
    """
    kind = fields.get("kind")
    model = KINDS.get(kind) if isinstance(kind, str) else None
    if model:
        given = {"scanned": _scanned(fields)} if "scanned" in model.model_fields else {}
        fields = given | _with_things(register, fields, model)
    if kind == "corrected":
        fields = {**fields, "instead": _completed(register, fields)}
    if kind == "case-opened" and fields.get("case", fields.get("number")) is None:
        fields = {**fields, "number": register.next_case_number(now().astimezone().year)}
    return read_intent(fields)


def _completed(register: Register, fields: dict[str, Any]) -> Any:
    """What is read instead of a struck entry: fields that differ, laid over those it has now.

    A field given as null is left out.
    """
    instead, case = fields.get("instead"), fields.get("case")
    if not isinstance(instead, dict) or "kind" in instead or not isinstance(case, str):
        return instead
    strikes = fields.get("strikes")
    for event in register.case(case).events:
        if strikes in (event.leaf, event.mirrors):
            now = event.act.details()
            own = {n: v for n, v in now.items() if n not in (*event.act.filled_in, "personal")}
            both = {"kind": event.act.kind, **own, **instead}
            return {name: value for name, value in both.items() if value is not None}
    return instead


def _scanned(fields: dict[str, Any]) -> bool:
    """Whether all that an act takes in hand was given by its label; a typed number is no scan."""
    things = fields.get("things")
    given = [*(things if isinstance(things, (list, tuple)) else [things]), fields.get("into")]
    return not any(isinstance(thing, str) and _NUMBER.fullmatch(thing) for thing in given)


def thing_of(register: Register, text: str) -> str:
    """The thing a number or a scanned label code names.

    Raises:
        InputError: it is neither, or the label is none of this register's.
    """
    if _NUMBER.fullmatch(text):
        return text
    from continuity_labels.code import CodeBook  # noqa: PLC0415 - a number needs no code book
    from continuity_labels.errors import LabelError  # noqa: PLC0415

    try:
        code = CodeBook(register.id).parse(text)
    except LabelError as error:
        raise InputError(
            f"thing {text!r}: not a thing's number, as in 2026-0001.2, and {error}"
        ) from None
    thing = register.thing_of_label(code.text)
    if thing is None:
        raise InputError(f"label {code.grouped}: this register never printed it; check the label")
    return thing


def _with_things(
    register: Register, fields: dict[str, Any], model: type[BaseModel]
) -> dict[str, Any]:
    """The fields, each scanned code replaced by the thing it stands for."""
    settled = dict(fields)
    for name, value in fields.items():
        field = model.model_fields.get(name)
        shape = shape_of(field) if field else None
        if shape is None or not (shape.is_thing or issubclass(shape.base, BaseModel)):
            continue
        values = value if isinstance(value, (list, tuple)) else [value]
        found = [_settled(register, v, shape.base, thing=shape.is_thing) for v in values]
        settled[name] = found if values is value else found[0]
    return settled


def _settled(register: Register, value: Any, base: type, *, thing: bool) -> Any:
    if thing and isinstance(value, str):
        return thing_of(register, value)
    if isinstance(value, dict) and issubclass(base, BaseModel):
        return _with_things(register, value, base)
    return value


def from_options(register: Register, fields: dict[str, Any]) -> dict[str, Any]:
    """Fields as options give them: `@FILE` for its digest, an entry's number for its leaf.

    Raises:
        InputError: a file cannot be read, or there is no such entry.
    """
    model = KINDS[fields["kind"]]
    settled = dict(fields)
    for name, value in fields.items():
        field = model.model_fields.get(name)
        if field is None or not isinstance(value, str):
            continue
        if name == "policy":
            settled[name] = _policy(value)
        elif name == "strikes" and not _LEAF.fullmatch(value):
            settled[name] = _leaf(register, fields.get("case"), value)
        elif shape_of(field).is_digest and value.startswith("@"):
            settled[name] = _digest(option_name(name), value[1:])
    return settled


def _leaf(register: Register, case: str | None, text: str) -> str:
    if not _ENTRY.fullmatch(text):
        raise InputError(f"--strikes {text!r}: give the entry's number in its case, or its leaf")
    if case is None:
        raise InputError("--case: needed to find an entry by its number")
    entries, number = register.entries(case), int(text)
    if number >= len(entries):
        raise InputError(f"--strikes {number}: case {case} has entries 0 to {len(entries) - 1}")
    return entries[number].leaf


def _digest(option: str, path: str | Path) -> str:
    try:
        with open(path, "rb") as file:  # noqa: PTH123 - as it was given
            return file_digest(file, "sha256").hexdigest()
    except (OSError, ValueError) as error:
        raise InputError(f"{option} @{path}: cannot be read: {_reason(error)}") from None


def _policy(path: str) -> dict[str, Any]:
    from continuity.care import policy  # noqa: PLC0415 - one kind needs it

    try:
        with open(path, encoding="utf-8") as file:  # noqa: PTH123 - as it was given
            text = file.read(_LONGEST_POLICY + 1)
    except (OSError, ValueError) as error:
        raise InputError(f"--policy {path}: cannot be read: {_reason(error)}") from None
    if len(text) > _LONGEST_POLICY:
        raise InputError(f"--policy {path}: too long for a policy; name another file")
    return policy.from_toml(text, f"--policy {path}").model_dump(mode="json")


def _reason(error: Exception) -> str:
    return getattr(error, "strerror", None) or "it is not UTF-8 text"
