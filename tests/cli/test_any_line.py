"""Whatever arrives as a line, it is recorded, or told in a sentence; nothing else comes out."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from continuity.care.entries import KINDS
from continuity.care.intent import read_fields, read_intent
from continuity.errors import ContinuityError
from continuity.register import Register, Signatory
from continuity.store.memory import MemoryStore
from continuity_cli.fields import Shape, shape_of
from continuity_cli.given import intent_of
from tests.cli.conftest import HOUSE, ITEMS, REGISTER, key

WORDS = st.sampled_from(
    [
        "2026-0001.1",
        "2026-0001.2",
        "2026-0002.1",
        "2026-0001",
        "2026-0009",
        "2026-0001.9999",
        "#1",
        "#99",
        "table-1",
        "coroner",
        "here",
        "decedent",
        "moved",
        "cremation",
        "2026-02-30",
        "2026-03-02T09:00:00+01:00",
        "0001-01-01T00:00:00Z",
        "0" * 64,
        "x" * 2001,
        "TEK1G-9QWE-2MN8-XYZ4-189",
        "\u202e\x00\n",
        "",
    ]
)
FIELDS = sorted({name for kind in KINDS.values() for name in kind.model_fields})
NAMES = st.sampled_from([*FIELDS, "case", "found", "occurred_at", "what", "within", "\x00"])
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-1, 2**70) | WORDS | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(NAMES, inner, max_size=3),
    max_leaves=6,
)


@pytest.fixture(scope="module")
def register() -> Register:
    register = Register.start(
        MemoryStore(REGISTER), "An invented firm", key(REGISTER, 9), Signatory("d1", key("d1", 1))
    )
    by = [Signatory("d1", key("d1", 1)), Signatory("m1", key("m1", 2))]
    enrolled = {"key": str(key("m1", 2).verify_key), "person": "m1", "role": "mortician"}
    register.record(read_intent({"kind": "key-enrolled", **enrolled}), by)
    cases: list[dict[str, Any]] = [*HOUSE]
    for case in ("2026-0001", "2026-0002"):
        cases.append({"kind": "case-opened", "number": case})
        received = {"giver": "coroner", "place": "table-1", "items": ITEMS}
        cases.append({"kind": "received", "case": case, **received})
    for fields in cases:
        register.record(read_intent(fields), by)
    return register


def attempt(register: Register, line: bytes) -> None:
    """Record a line in a register that is then as it was."""
    before = register.store.head()
    try:
        intent = intent_of(register, read_fields(line))
        register.record(intent, [Signatory("d1", key("d1", 1)), Signatory("m1", key("m1", 2))])
    except ContinuityError:
        assert register.store.head() == before
    else:
        assert register.store.head().size > before.size


@settings(max_examples=150)
@given(kind=st.sampled_from(sorted(KINDS)), fields=st.dictionaries(NAMES, VALUES, max_size=6))
def test_any_fields_of_any_kind(register: Register, kind: str, fields: dict[str, Any]) -> None:
    attempt(register, json.dumps({**fields, "kind": kind}).encode())


THINGS = st.sampled_from([f"2026-000{c}.{n}" for c in (1, 2) for n in (1, 2, 3, 4, 5)])
SLUGS = st.sampled_from(["table-1", "cold-room", "coroner", "pathologist", "attic"])
TIMES = st.sampled_from(["2026-03-02T09:00:00+01:00", "2026-11-02T09:00:00Z"])


def fitting(model: Any) -> st.SearchStrategy[dict[str, Any]]:
    """Fields that mostly fit the model; whether they make sense is for the rules to say."""
    given = {n: f for n, f in model.model_fields.items() if n not in {"kind", "despite", "known"}}
    needed = {n: value(f) for n, f in given.items() if f.is_required()}
    optional = {n: value(f) for n, f in given.items() if n not in needed and n != "in_cases"}
    return st.fixed_dictionaries(needed, optional=optional)


def value(field: Any) -> st.SearchStrategy[Any]:
    shape = shape_of(field)
    one = single(shape)
    return st.lists(one, min_size=1, max_size=3) if shape.many else one


_PLAIN = {bool: st.booleans(), int: st.integers(0, 9), dict: st.just({})}


def single(shape: Shape) -> st.SearchStrategy[Any]:
    if shape.choices:
        return st.sampled_from(shape.choices)
    if shape.is_thing:
        return THINGS | st.just("#1") if shape.pattern and "#" in shape.pattern else THINGS
    if shape.is_digest:
        return st.just("0" * 64)
    if shape.base in _PLAIN:
        return _PLAIN[shape.base]
    if issubclass(shape.base, BaseModel):
        return fitting(shape.base)
    return SLUGS if shape.pattern and "a-z" in shape.pattern else st.just("some words") | SLUGS


@settings(max_examples=250)
@given(data=st.data(), kind=st.sampled_from(sorted(KINDS)))
def test_fields_that_fit_a_kind(register: Register, data: st.DataObject, kind: str) -> None:
    fields = data.draw(fitting(KINDS[kind]))
    envelope = {} if KINDS[kind].for_house else {"case": "2026-0001"}
    when = st.fixed_dictionaries({}, optional={"occurred_at": TIMES, "found": st.booleans()})
    spoilt = st.dictionaries(st.sampled_from([*fields, "remark"]), VALUES, max_size=1)
    spoil = data.draw(spoilt) if data.draw(st.integers(0, 4)) == 0 else {}
    line = {**envelope, **fields, **data.draw(when), **spoil, "kind": kind}
    attempt(register, json.dumps(line).encode())


@given(st.binary(max_size=200))
def test_any_bytes(register: Register, line: bytes) -> None:
    attempt(register, line)
