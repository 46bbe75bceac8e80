"""A kind's fields as options: built from its model, read back as the same fields."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click
import pytest

from continuity.care.entries import KINDS
from continuity_cli.commands.record import ELSEWHERE, command
from continuity_cli.fields import Shape, shape_of

if TYPE_CHECKING:
    from tests.cli.conftest import Tool

CONTEXT = click.Context(command)
RECORDED = [kind for kind in KINDS if kind not in ELSEWHERE]


def options(kind: str) -> dict[str, click.Option]:
    """The options of a kind's command, by every name they are typed with."""
    built = command.get_command(CONTEXT, kind)
    assert built is not None
    found: dict[str, click.Option] = {}
    for option in built.params:
        assert isinstance(option, click.Option)
        for name in (*option.opts, *option.secondary_opts):
            assert name not in found, f"{kind} has {name} twice"
            found[name] = option
    return found


@pytest.mark.parametrize("kind", RECORDED)
def test_every_field_of_a_kind_has_an_option_of_its_own(kind: str) -> None:
    given = options(kind)
    parameters = {option.name for option in given.values()}
    fields = set(KINDS[kind].model_fields) - {"kind", *KINDS[kind].filled_in}
    missing = {f for f in fields if f"field_{f}" not in parameters}
    assert not missing
    assert {"--occurred-at", "--found", "--as", "--with", "--register", "--json"} <= given.keys()
    assert ("--case" in given) == (not KINDS[kind].for_house and kind != "case-opened")


def test_what_only_the_register_fills_in_has_no_option() -> None:
    for kind in RECORDED:
        assert not {"--despite", "--known", "--in-cases", "--kind"} & options(kind).keys()


@pytest.mark.parametrize("kind", ELSEWHERE)
def test_kinds_with_a_command_of_their_own_are_not_recorded_bare(kind: str, tool: Tool) -> None:
    told = tool("record", kind, status=2)
    assert told.error == f"record: {kind} is recorded by {ELSEWHERE[kind]}"


@pytest.mark.parametrize(
    ("kind", "field", "shape"),
    [
        ("moved", "scanned", Shape(bool)),
        ("inspected", "leak", Shape(bool)),
        ("weighed", "grams", Shape(int)),
        ("ashes-received", "grams", Shape(int, many=True)),
        ("retention-stated", "kept", Shape(str, choices=("none", "some", "unknown"))),
        ("inspected", "seal", Shape(str, choices=("intact", "broken", "absent"))),
    ],
)
def test_the_shape_of_a_field_is_read_from_its_model(kind: str, field: str, shape: Shape) -> None:
    assert shape_of(KINDS[kind].model_fields[field]) == shape


@pytest.mark.parametrize(
    ("kind", "things"),
    [
        ("moved", {"things"}),
        ("put-in", {"things", "into"}),
        ("taken-out", {"things", "into", "out_of"}),
        ("joined", {"things", "to"}),
        ("cared-for", {"thing", "removed"}),
        ("closing-check-signed", {"coffin"}),
        ("place-named", set()),
    ],
)
def test_the_fields_that_name_things_are_known(kind: str, things: set[str]) -> None:
    fields = KINDS[kind].model_fields.items()
    assert {n for n, field in fields if shape_of(field).is_thing and n != "known"} == things


def recorded(tool: Tool, *words: object) -> dict[str, Any]:
    """The details of the entry that these words record."""
    receipt = tool("record", *words, "--json").json
    entries = tool("case", receipt["case"], "--entries", "--json").json["entries"]
    details: dict[str, Any] = entries[receipt["entry"]]["details"]
    return details


def test_flags_numbers_words_and_texts_become_what_they_say(tool: Tool) -> None:
    words = ["inspected", "--thing", "2026-0001.2", "--no-leak", "--odour", "--seal", "intact"]
    assert recorded(tool, *words, "--seal-number", "88", "--remark", "on the table") == {
        "thing": "2026-0001.2",
        "leak": False,
        "odour": True,
        "seal": "intact",
        "seal_number": "88",
        "remark": "on the table",
    }


def test_nested_fields_are_given_as_a_list_or_as_json(tool: Tool) -> None:
    details = recorded(
        tool,
        *("received", "--case", "2026-0001", "--giver", "coroner", "--place", "table-1"),
        *("--item", "what=part,description=a foot, left, in a box,organ=left foot,inferred=true"),
        *("--item", '{"what": "effect", "description": "ring, a=b", "within": "#1"}'),
        "--no-giver-signed",
    )
    assert details["giver_signed"] is False
    assert details["items"] == [
        {
            "thing": "2026-0001.5",
            "what": "part",
            "description": "a foot, left, in a box",
            "organ": "left foot",
            "inferred": True,
        },
        {
            "thing": "2026-0001.6",
            "what": "effect",
            "description": "ring, a=b",
            "within": "2026-0001.5",
        },
    ]


RECEIVED = ("received", "--case", "2026-0001", "--giver", "coroner", "--place", "table-1")


@pytest.mark.parametrize(
    ("item", "sentence"),
    [
        ("ring", "--item 'ring': write it as NAME=VALUE,NAME=VALUE, or as JSON"),
        (", what=effect", "--item ', what=effect': write it as NAME=VALUE,NAME=VALUE, or as"),
        ("what=effect,colour=gold", "--item: colour: no such field; it takes what, form, "),
        ("what=effect,what=part", "--item: what: given twice"),
        ('{"what": 1.5}', "--item: 1.5: not a whole number"),
        ('{"what": "effect", "what": "part"}', "--item: what: given twice"),
        ('{"what":', "--item: the value is not JSON: "),
        ("what=hat,description=x", "received: items.1.what: one of 'decedent', "),
        ("what=effect", "received: items.1.description: is needed"),
    ],
)
def test_a_nested_field_that_cannot_be_read_is_named(tool: Tool, item: str, sentence: str) -> None:
    assert tool("record", *RECEIVED, "--item", item, status=2).error.startswith(sentence)


def test_personal_details_are_kept_apart(tool: Tool) -> None:
    tool(
        *("record", "case-opened", "--number", "2026-0009"),
        *("--personal", "name=A = B", "--personal", "date-of-birth=1940-01-01"),
    )
    assert "A = B" not in tool("case", "2026-0009", "--entries", "--json").out
    personal = tool("case", "2026-0009", "--personal", "--json").json["personal"]
    assert personal == {"0": {"name": "A = B", "date-of-birth": "1940-01-01"}}
    assert "name           A = B" in tool("case", "2026-0009", "--personal").out


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--personal", "name"), "--personal 'name': write it as NAME=TEXT"),
        (("--personal", "a=1", "--personal", "a=2"), "--personal a: given twice"),
        (("--personal", "Name=1"), "case-opened: personal.Name"),
    ],
)
def test_a_personal_detail_has_one_name(tool: Tool, words: tuple[str, ...], sentence: str) -> None:
    told = tool("record", "case-opened", *words, status=2)
    assert told.error.startswith(sentence)
