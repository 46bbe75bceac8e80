"""Every kind of entry, under its name.

A new kind is one new class in a module of `acts`: its fields, how it changes a case, and what
speaks against it stand together there; its name stands here beside its module's, so that a
module is only read when one of its kinds is met (whoever scans at a door waits for it).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import import_module
from typing import Annotated, Any, Final, Union

from pydantic import Field, TypeAdapter, ValidationError

from continuity.care.acts.base import Act
from continuity.care.things import CaseNumber, Digest, ItemRef, PersonalField, Slug, ThingId
from continuity.errors import InputError

_MODULES = {
    "house": (
        "register-started",
        "key-enrolled",
        "key-replaced",
        "key-revoked",
        "place-named",
        "holder-named",
        "policy-adopted",
        "cases-indexed",
        "register-restored",
    ),
    "opening": ("case-opened", "disposition-changed", "retention-stated"),
    "receipt": ("received", "identified", "inspected"),
    "movement": (
        "moved",
        "put-in",
        "taken-out",
        "handed-over",
        "hand-over-accepted",
        "returned",
        "sighted",
    ),
    "containers": (
        "provided",
        "opened",
        "sealed",
        "packaging-discarded",
        "labelled",
        "label-voided",
    ),
    "parts": ("separated", "joined", "associated"),
    "treatment": ("cared-for", "weighed"),
    "counting": ("place-counted",),
    "retention": ("retained", "instructed"),
    "leaving": (
        "released",
        "coffin-closed",
        "coffin-reopened",
        "coffin-shared",
        "disposed",
        "ashes-received",
        "recalled",
    ),
    "matters": (
        "irregularity-raised",
        "irregularity-resolved",
        "corrected",
        "closing-check-signed",
        "personal-details-erased",
    ),
}

ERASING: Final = "personal-details-erased"
"""The kind of entry after which personal details are deleted; a test holds it to its class."""


class Kinds(Mapping[str, type[Act]]):
    """Each kind's model by its name, read when a kind of its module is first asked for."""

    def __init__(self) -> None:
        self._module = {kind: module for module, kinds in _MODULES.items() for kind in kinds}
        self._read: dict[str, type[Act]] = {}

    def __getitem__(self, kind: str) -> type[Act]:
        if kind not in self._read:
            name = f"{Act.__module__.rpartition('.')[0]}.{self._module[kind]}"
            self._read |= {act.model_fields["kind"].default: act for act in _acts(name)}
        return self._read[kind]

    def __contains__(self, kind: object) -> bool:
        return kind in self._module

    def __iter__(self) -> Iterator[str]:
        return iter(self._module)

    def __len__(self) -> int:
        return len(self._module)


def _acts(module: str) -> Iterator[type[Act]]:
    """The kinds of entry that a module defines."""
    for member in vars(import_module(module)).values():
        if (
            isinstance(member, type)
            and issubclass(member, Act)
            and member.__module__ == module
            and isinstance(member.model_fields["kind"].default, str)
        ):
            yield member


KINDS = Kinds()
"""Each kind's model by its name, in the order of the case's course."""


def read_act(fields: Mapping[str, Any]) -> Act:
    """Make an act from its fields, `kind` among them.

    Raises:
        InputError: unknown kind or field, or a value that does not fit; names the field.
    """
    name = fields.get("kind")
    kind = KINDS.get(name) if isinstance(name, str) else None
    if kind is None:
        raise InputError(f"kind {name!r}: no such kind of entry; `continuity schema` lists them")
    try:
        return kind.model_validate(dict(fields))
    except ValidationError as error:
        raise InputError(f"{name}: {explain(error)}") from None


def explain(error: ValidationError) -> str:
    """The first fault of a validation, in one sentence."""
    first = error.errors()[0]
    # The first of several is 1, as in `#1`.
    where = ".".join(str(p + 1 if isinstance(p, int) else p) for p in first["loc"])
    message = _told(first["type"], first.get("ctx", {})) or first["msg"]
    message = message.removeprefix("Value error, ")
    return f"{where}: {message}" if where else message


def _told(fault: str, given: Mapping[str, Any]) -> str | None:
    """A common fault in the words of whoever works with this; None leaves it as it was said."""
    if fault == "string_pattern_mismatch":
        return _PATTERNS.get(given["pattern"], f"must fit {given['pattern']}")
    if fault in ("enum", "literal_error"):
        return f"one of {given['expected'].replace(' or ', ', ')}"
    return _FAULTS[fault].format(**given) if fault in _FAULTS else None


def _pattern(kind: Any) -> str:
    return str(kind.__metadata__[0].pattern)


_PATTERNS = {
    _pattern(Slug): "small letters, digits and hyphens, at most 32, as in cold-room",
    _pattern(CaseNumber): "a case number is capitals, digits and hyphens, as in 2026-0001",
    _pattern(ThingId): "a thing's number, as in 2026-0001.2",
    _pattern(ItemRef): "a thing's number, as in 2026-0001.2, or #2 for this act's second new thing",
    _pattern(Digest): "a SHA-256 in 64 hexadecimal digits",
    _pattern(PersonalField): "small letters and hyphens, at most 32, as in date-of-birth",
}
_FAULTS = {
    "extra_forbidden": "no such field",
    "missing": "is needed",
    "string_type": "text is wanted here",
    "string_unicode": "text in UTF-8 is wanted here",
    "string_too_short": "is empty",
    "string_too_long": "at most {max_length} characters",
    "int_type": "a whole number is wanted here",
    "int_parsing": "a whole number is wanted here",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "greater_than_equal": "at least {ge}",
    "less_than_equal": "at most {le}",
    "too_short": "at least {min_length} of them",
    "too_long": "at most {max_length} of them",
    "tuple_type": "a list is wanted here",
}


def schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of an intent's act: one shape for each kind."""
    union: Any = Annotated[Union[tuple(KINDS.values())], Field(discriminator="kind")]  # noqa: UP007
    return TypeAdapter(union).json_schema()
