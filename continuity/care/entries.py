"""Every kind of entry, under its name.

A new kind is one new class in a module of `acts`: its fields, how it changes a case, and what
speaks against it stand together there, and it is found here by its name.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Union

from pydantic import Field, TypeAdapter, ValidationError

from continuity.care.acts import (
    containers,
    house,
    leaving,
    matters,
    movement,
    opening,
    parts,
    receipt,
    retention,
    treatment,
)
from continuity.care.acts.base import Act
from continuity.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

_MODULES = (
    house,
    opening,
    receipt,
    movement,
    containers,
    parts,
    treatment,
    retention,
    leaving,
    matters,
)


def _kinds() -> Iterator[type[Act]]:
    for module in _MODULES:
        for member in vars(module).values():
            if (
                isinstance(member, type)
                and issubclass(member, Act)
                and member.__module__ == module.__name__
                and isinstance(member.model_fields["kind"].default, str)
            ):
                yield member


KINDS: dict[str, type[Act]] = {kind.model_fields["kind"].default: kind for kind in _kinds()}
"""Each kind's model by its name, in the order of the case's course."""

CASE_KINDS = {name: kind for name, kind in KINDS.items() if not kind.for_house}
"""The kinds of a case's chain."""


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
    first = error.errors(include_url=False, include_input=False)[0]
    where = ".".join(str(part) for part in first["loc"])
    message = first["msg"].removeprefix("Value error, ")
    if first["type"] == "extra_forbidden":
        message = "no such field"
    elif first["type"] == "missing":
        message = "is needed"
    return f"{where}: {message}" if where else message


def schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of an intent's act: one shape for each kind."""
    union: Any = Annotated[Union[tuple(KINDS.values())], Field(discriminator="kind")]  # noqa: UP007
    return TypeAdapter(union).json_schema()
