"""A kind's fields as options, and what was given in them as fields again."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from types import UnionType
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union, get_args, get_origin

import click
from pydantic import BaseModel

from continuity.care.intent import read_fields
from continuity.care.things import Digest, ItemRef, ThingId
from continuity.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping

    from pydantic.fields import FieldInfo

    from continuity.care.acts.base import Act

PREFIX = "field_"
"""Before a field's name, as the command's parameter: no field can be taken for a shared option."""

LAST = ("remark", "personal")
"""What every kind takes, shown after what is its own."""

_ONE_OF = {
    "entries": "entry",
    "fields": "field",
    "identifiers": "identifier",
    "items": "item",
    "panels": "panel",
    "things": "thing",
    "with_cases": "with_case",
}
"""What an option given once for each is called."""

_METAVARS = {
    "instead": "NAME=VALUE,...",
    "personal": "NAME=TEXT",
    "policy": "FILE.toml",
    "strikes": "ENTRY",
}

_TOLD = {
    "instead": "what is read in its place: the fields that differ from it; or, as a JSON object,"
    " those, or an act of another kind with all its fields",
    "number": "the case's number; else the year's next",
    "strikes": "the struck entry: its number, as `case --entries` lists it, or its leaf hash",
}
"""What the command line takes otherwise than the record keeps it."""

_PAIR = re.compile(r"([a-z_]+)=")


@dataclass(frozen=True, slots=True)
class Shape:
    """What a field takes.

    Attributes:
        base: bool, int, str, datetime, dict, or the model of a nested object.
        many: whether it takes several.
        choices: the words it takes, where they are few.
        pattern: what its text must look like, as its model says.
    """

    base: type
    many: bool = False
    choices: tuple[str, ...] = ()
    pattern: str | None = None

    @property
    def is_thing(self) -> bool:
        """Whether it names a thing."""
        return self.pattern in (_pattern(ThingId), _pattern(ItemRef))

    @property
    def is_digest(self) -> bool:
        """Whether it is the SHA-256 of a file kept elsewhere."""
        return self.pattern == _pattern(Digest)


def _pattern(annotated: Any) -> str | None:
    return next((m.pattern for m in get_args(annotated)[1:] if hasattr(m, "pattern")), None)


def shape_of(field: FieldInfo) -> Shape:
    """What a field takes, read from its annotation."""
    annotation: Any = field.annotation
    marks = list(field.metadata)
    many = False
    while origin := get_origin(annotation):
        inner = get_args(annotation)
        if origin is Annotated:
            annotation, marks = inner[0], [*marks, *inner[1:]]
        elif origin in (Union, UnionType):
            annotation = next(a for a in inner if a is not type(None))
        elif origin is tuple:
            annotation, many = inner[0], True
        elif origin is Literal:
            return Shape(str, many, tuple(inner))
        else:
            annotation = origin
    pattern = next((m.pattern for m in marks if getattr(m, "pattern", None)), None)
    if issubclass(annotation, Enum):
        return Shape(str, many, tuple(member.value for member in annotation))
    return Shape(annotation, many, pattern=pattern)


def options_of(kind: type[Act]) -> Iterator[click.Option]:
    """One option for each field of a kind that somebody may give."""
    names = [n for n in kind.model_fields if n not in {"kind", *kind.filled_in, *LAST}]
    for name in (*names, *LAST):
        field = kind.model_fields[name]
        yield _option(name, field, shape_of(field))


def option_name(field: str) -> str:
    """The option of a field, as it is typed."""
    return f"--{_ONE_OF.get(field, field).replace('_', '-')}"


def _option(name: str, field: FieldInfo, shape: Shape) -> click.Option:
    flag = option_name(name)
    # A case's number is given by the register when nobody gives one.
    needed = field.is_required() and name != "number"
    told: dict[str, Any] = {"required": needed, "help": _help(name, field, shape)}
    if shape.base is bool:
        # With three states, or true unless said otherwise, both ways can be said.
        both = field.is_required() or field.default is not False
        flag = f"{flag}/--no-{flag[2:]}" if both else flag
        return click.Option([flag, PREFIX + name], default=None, is_flag=True, **told)
    return click.Option(
        [flag, PREFIX + name],
        type=_type(name, shape),
        multiple=shape.many or name == "personal",
        metavar=_metavar(name, shape),
        **told,
    )


def _type(name: str, shape: Shape) -> Any:
    if shape.choices:
        return click.Choice(shape.choices)
    if name == "policy":
        return click.Path()
    return int if shape.base is int else str


def _metavar(name: str, shape: Shape) -> str | None:
    if name in _METAVARS:
        return _METAVARS[name]
    if shape.is_thing or shape.is_digest:
        return "THING" if shape.is_thing else "SHA256|@FILE"
    if issubclass(shape.base, BaseModel):
        return "NAME=VALUE,..."
    names: dict[type, str] = {int: "NUMBER", datetime: "TIME", dict: "JSON"}
    return None if shape.choices else names.get(shape.base, "TEXT")


def _help(name: str, field: FieldInfo, shape: Shape) -> str:
    told = _TOLD.get(name, field.description)
    parts = [f"{told[0].upper()}{told[1:]}." if told else ""]
    if issubclass(shape.base, BaseModel):
        names = [
            n + ("" if f.is_required() else "?")
            for n, f in shape.base.model_fields.items()
            if n != "thing"
        ]
        parts.append(f"Takes {', '.join(names)}; or a JSON object.")
        few = {n: shape_of(f).choices for n, f in shape.base.model_fields.items()}
        parts += [f"{n}: {', '.join(words)}." for n, words in few.items() if words]
    if shape.many:
        parts.append("Repeatable.")
    return " ".join(p for p in parts if p)


def fields_of(kind: type[Act], parameters: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of an act, from the parameters of its command.

    Raises:
        InputError: a nested object or a personal detail cannot be read; names the option.
    """
    fields: dict[str, Any] = {"kind": kind.model_fields["kind"].default}
    for parameter, value in parameters.items():
        name = parameter.removeprefix(PREFIX)
        if value is None or value == () or name == parameter:
            continue
        fields[name] = _value(name, value, shape_of(kind.model_fields[name]))
    return fields


def _value(name: str, given: Any, shape: Shape) -> Any:
    option = option_name(name)
    if name == "personal":
        return _pairs(option, given)
    if shape.base is dict and name != "policy":
        return _named(option, given)
    if issubclass(shape.base, BaseModel):
        return [_nested(option, text, shape.base) for text in given]
    return list(given) if shape.many else given


def _pairs(option: str, given: Iterable[str]) -> dict[str, str]:
    """Personal details by name."""
    pairs: dict[str, str] = {}
    for text in given:
        name, equals, value = text.partition("=")
        if not (name and equals):
            raise InputError(f"{option} {text!r}: write it as NAME=TEXT")
        if name in pairs:
            raise InputError(f"{option} {name}: given twice")
        pairs[name] = value
    return pairs


def _nested(option: str, text: str, model: type[BaseModel]) -> dict[str, Any]:
    """`what=part,description=a foot, left`: a comma parts two only where a name and = follow."""
    return _named(option, text, [n for n in model.model_fields if n != "thing"])


def _named(option: str, text: str, known: Collection[str] | None = None) -> dict[str, Any]:
    """Fields by name, or as a JSON object; any name where none is known."""
    if text.lstrip().startswith("{"):
        return _json(option, text)
    starts = [m for m in _PAIR.finditer(text) if m.start() == 0 or text[m.start() - 1] == ","]
    if not starts or starts[0].start():
        raise InputError(f"{option} {text!r}: write it as NAME=VALUE,NAME=VALUE, or as JSON")
    fields: dict[str, Any] = {}
    for start, end in zip(starts, [*starts[1:], None], strict=True):
        name = start[1]
        if known is not None and name not in known:
            raise InputError(f"{option}: {name}: no such field; it takes {', '.join(known)}")
        if name in fields:
            raise InputError(f"{option}: {name}: given twice")
        fields[name] = text[start.end() : end.start() - 1 if end else None]
    return fields


def _json(option: str, text: str) -> dict[str, Any]:
    try:
        return read_fields(text)
    except InputError as error:
        raise InputError(f"{option}: {str(error).replace('the line is', 'the value is')}") from None
