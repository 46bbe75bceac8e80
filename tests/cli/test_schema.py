"""Every answer fits the shape it bears; every intent that is recorded fits the published one."""

from __future__ import annotations

import json
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
from jsonschema import Draft202012Validator

from continuity.care.entries import KINDS
from continuity_cli.commands.schema import INTENT, schemas_by_name
from tests.cli.conftest import HOUSE, ITEMS

if TYPE_CHECKING:
    from tests.cli.conftest import Tool

SIGHTED = ("record", "sighted", "--thing", "2026-0001.1", "--json")
ASKED = {
    "continuity-receipt/1": SIGHTED,
    "continuity-case/1": ("case", "2026-0001", "--entries", "--personal", "--json"),
    "continuity-plan/1": ("plan", "2026-0001", "--json"),
    "continuity-custody/1": ("custody", "2026-0001", "--json"),
    "continuity-closing-check/1": ("closing-check", "2026-0001", "--json"),
    "continuity-count/1": ("count", "table-1", "2026-0001.1", "--json"),
    "continuity-verification/1": ("verify", "--json"),
}


@cache
def schemas() -> dict[str, Any]:
    return dict(schemas_by_name())


def fits(shape: str, value: Any) -> list[str]:
    return [e.message for e in Draft202012Validator(schemas()[shape]).iter_errors(value)]


@pytest.fixture
def told(tool: Tool) -> Tool:
    """Cases in which something of each kind that the answers speak of has happened."""
    tool("record", "handed-over", "--thing", "2026-0001.4", "--taker", "coroner", "--authority", 1)
    tool("record", "irregularity-raised", "--thing", "2026-0001.2", "--what", "a seal")
    tool("record", "inspected", "--thing", "2026-0001.2", "--leak")
    tool("record", "put-in", "--thing", "2026-0001.2", "--into", "2026-0002.1", "--found")
    tool("record", "disposition-changed", "--case", "2026-0001", "--authority", "kin",
         "--disposition", "cremation")  # fmt: skip
    return tool


@pytest.mark.parametrize("shape", ASKED)
def test_an_answer_bears_its_shape_and_fits_it(told: Tool, shape: str) -> None:
    answer = told(*ASKED[shape], status=None).json
    assert answer["shape"] == shape
    assert fits(shape, answer) == []
    assert fits(shape, {**answer, "shape": "another/1"}) == ["'" + shape + "' was expected"]
    for field in answer:
        rest = {name: value for name, value in answer.items() if name != field}
        optional = field in {"entries", "personal"} and shape == "continuity-case/1"
        assert bool(fits(shape, rest)) is not optional, field


def test_the_verdict_on_a_dossier_fits_its_shape(tool: Tool) -> None:
    file = tool.folder / "case.html"
    tool("dossier", "2026-0001", "--output", file)
    answer = tool("verify", file, "--json").json
    assert fits("continuity-dossier-verification/1", answer) == []
    assert (answer["sound"], answer["entries"]) == (True, 2)


def test_every_shape_is_published_and_named(bare: Tool) -> None:
    named = bare("schema", "--list").out.splitlines()
    assert named[0] == INTENT
    assert set(ASKED) < set(named)
    assert bare("schema").json == schemas()
    for name in named:
        Draft202012Validator.check_schema(bare("schema", name).json)


def test_a_shape_that_is_not_is_told(bare: Tool) -> None:
    error = bare("schema", "continuity-case/2", status=2).error
    assert error == (
        "continuity-case/2: there is no such shape; `continuity schema --list` names them"
    )


@pytest.mark.parametrize(
    "intent",
    [
        *HOUSE,
        {"kind": "case-opened"},
        {"kind": "case-opened", "number": "2026-0001", "personal": {"name": "A B"}},
        {"kind": "received", "case": "A", "giver": "c", "place": "t", "items": list(ITEMS)},
        {
            "kind": "weighed",
            "thing": "A.1",
            "grams": 3,
            "found": True,
            "occurred_at": "2026-03-01T10:00:00+01:00",
        },
    ],
)
def test_an_intent_fits_the_published_shape(intent: dict[str, Any]) -> None:
    assert fits(INTENT, intent) == []


@pytest.mark.parametrize(
    "intent",
    [
        {},
        {"kind": "vanished"},
        {"kind": "weighed", "thing": "A.1"},
        {"kind": "weighed", "thing": "A.1", "grams": 1.5},
        {"kind": "weighed", "thing": "A", "grams": 1},
        {"kind": "weighed", "thing": "A.1", "grams": 1, "colour": "red"},
        {"kind": "weighed", "thing": "A.1", "grams": 1, "despite": ["role"]},
        {**HOUSE[0], "case": "A"},
    ],
)
def test_an_intent_that_would_be_wrong_does_not_fit(intent: dict[str, Any]) -> None:
    assert fits(INTENT, intent)


def test_the_intents_shape_has_every_kind() -> None:
    assert set(schemas()[INTENT]["discriminator"]["mapping"]) == set(KINDS)


def test_answers_are_ascii_so_that_nothing_in_them_drives_a_terminal(tool: Tool) -> None:
    tool("record", "sighted", "--thing", "2026-0001.1", "--remark", "\u202e\x1b[2J é")
    out = tool("case", "2026-0001", "--entries", "--json").out
    assert out.isascii()
    assert json.loads(out)["entries"][-1]["details"]["remark"] == "\u202e\x1b[2J é"
