"""Acts of every kind with hostile values, built from their models; one seed, one act."""

from __future__ import annotations

import random
from datetime import datetime
from typing import Any

from pydantic import BaseModel

from continuity.care.acts.base import Act
from continuity.care.entries import KINDS
from continuity_cli.fields import Shape, shape_of
from tests.fuzzing.samples import CASES

ODD = (
    "plain",
    "O'Brien; DROP TABLE entry;--",
    "../../../etc/passwd",
    "\x1b[2J\x1b]0;title\x07",
    "\u202edecedent\u202c \u2066x\u2069",
    "\u0430dult",  # a Cyrillic letter for a Latin one
    "\x00\x7f\x9b\r\n",
    "2026-0001.1",
    "#1",
    "table-1",
    "coroner",
    "\U0001f480" * 3,
    "x" * 2000,
    "",
    " ",
    "=HYPERLINK(1)",
    "<script>alert(1)</script>",
    "{}",
    "-1",
    "null",
)
TIMES = (
    "2026-03-02T09:00:00+01:00",
    "0001-01-01T00:00:00+23:59",
    "9999-12-31T23:59:59-23:59",
    "2026-02-30T00:00:00Z",
    "2026-03-02T25:00:00Z",
    "2026-03-02T08:00:30.999999999Z",
)
NUMBERS = (0, 1, 2, 3, 7, -1, 10**4, 499_999, 500_001, 2**31, 2**53, 2**63, 10**400)
PLACES = ("table-1", "cold-room", "nowhere", "here")
HOLDERS = ("coroner", "family", "here", "nobody")
DIGEST = "0" * 64


def an_act(seed: bytes | int) -> dict[str, Any]:
    """Fields of an act: mostly what fits its kind, now and then something else."""
    chance = random.Random(seed)
    kind = chance.choice(tuple(KINDS))
    fields = _fields(KINDS[kind], chance)
    fields["kind"] = kind
    if chance.random() < 0.5:
        fields["case"] = chance.choice(CASES)
    if chance.random() < 0.3:
        fields["found"] = True
    if chance.random() < 0.2:
        fields["occurred_at"] = chance.choice(TIMES)
    return fields


def _fields(model: type[BaseModel], chance: random.Random) -> dict[str, Any]:
    fields: dict[str, Any] = {}
    for name, field in model.model_fields.items():
        if name in Act.filled_in or name == "kind":
            continue
        if field.is_required() or chance.random() < 0.3:
            fields[name] = _value(name, shape_of(field), chance)
    return fields


def _value(name: str, shape: Shape, chance: random.Random) -> Any:
    if chance.random() < 0.02:
        return chance.choice((None, [], {}, 1.5, [[]], True, ODD[0]))
    if shape.many:
        return [_one(name, shape, chance) for _ in range(chance.choice((0, 1, 1, 2, 3)))]
    return _one(name, shape, chance)


def _one(name: str, shape: Shape, chance: random.Random) -> Any:
    if shape.choices:
        return chance.choice(shape.choices)
    if isinstance(shape.base, type) and issubclass(shape.base, BaseModel):
        return _fields(shape.base, chance)
    if shape.is_thing:
        thing = f"{chance.choice(CASES)}.{chance.choice((1, 2, 3, 4, 5, 6, 7, 99))}"
        return chance.choice((thing, thing, thing, f"#{chance.randrange(4)}"))
    if shape.is_digest:
        return DIGEST
    if shape.base is bool:
        return chance.random() < 0.5
    if shape.base is int:
        return chance.choice(NUMBERS)
    if shape.base is datetime:
        return chance.choice(TIMES)
    if shape.base is dict:
        return {chance.choice(("name", "date-of-birth", "x y", "")): chance.choice(ODD)}
    known = {"place": PLACES, "giver": HOLDERS, "taker": HOLDERS, "holder": HOLDERS}
    return chance.choice((*known.get(name, ODD), chance.choice(ODD)))
