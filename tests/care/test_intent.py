"""Intents as they arrive: which case they go into, and what is wrong with a line of JSON."""

from __future__ import annotations

import json
from typing import Any

import jsonschema
import pytest

from continuity.care.intent import MAX_BYTES, Intent, read_fields, read_intent, read_line, schema
from continuity.errors import InputError

MOVED = {"kind": "moved", "things": ["2026-0002.1"], "place": "table-1"}


def test_without_a_case_it_goes_into_that_of_the_first_thing_it_names() -> None:
    assert read_intent(MOVED).case == "2026-0002"
    fields = {"kind": "put-in", "things": ["2026-0001.2"], "into": "2026-0002.1"}
    assert read_intent(fields).case == "2026-0001"
    assert read_intent({**MOVED, "case": "2026-0001"}).case == "2026-0001"


def test_a_case_is_opened_under_the_number_it_goes_by() -> None:
    assert read_intent({"kind": "case-opened", "case": "A-1"}).act.number == "A-1"
    assert read_intent({"kind": "case-opened", "number": "A-1"}).case == "A-1"
    with pytest.raises(InputError, match="case A-1: it opens under another number, A-2"):
        read_intent({"kind": "case-opened", "case": "A-1", "number": "A-2"})


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"kind": ["moved"]}, "kind ['moved']: no such kind of entry"),
        ({**MOVED, "case": "a b"}, "case 'a b': a case number is capitals"),
        ({**MOVED, "found": "yes"}, "found: true or false"),
        ({**MOVED, "as_of": "7"}, "as_of: a whole number, how many entries the register held"),
        ({**MOVED, "as_of": True}, "as_of: a whole number"),
        ({**MOVED, "as_of": -1}, "as_of: a whole number"),
        ({**MOVED, "occurred_at": "2026-03-01T10:00:00"}, "occurred_at: a time is written with"),
        ({**MOVED, "despite": ["role"]}, "despite: only the register fills this in; give found"),
        ({**MOVED, "known": []}, "known: only the register fills this in"),
        ({**MOVED, "in_cases": []}, "in_cases: only the register fills this in"),
        ({**MOVED, "weight": 1}, "moved: weight: no such field"),
        ({"kind": "moved", "place": "table-1"}, "moved: things: is needed"),
        ({"kind": "retained", "holder": "coroner"}, "case: retained needs the case"),
        (
            {"kind": "place-named", "case": "A", "place": "a", "what": "table", "description": "a"},
            "case: place-named belongs to the register itself",
        ),
    ],
)
def test_wrong_fields_are_named(fields: dict[str, Any], sentence: str) -> None:
    with pytest.raises(InputError) as error:
        read_intent(fields)
    assert str(error.value).startswith(sentence)


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        (b"\xff", "the line is not UTF-8 text"),
        (b"[]", "the line is not a JSON object"),
        (b"{", "the line is not JSON: "),
        (b'{"kind": "moved", "kind": "moved"}', "kind: given twice"),
        (b'{"kind": "weighed", "grams": 1.5}', "1.5: not a whole number"),
        (b'{"kind": "weighed", "grams": 1e3}', "1e3: not a whole number"),
        (b'{"kind": "weighed", "grams": NaN}', "NaN: not a whole number"),
        (b'{"remark": "\\ud800"}', "the line escapes half a character"),
        (b'{"grams": ' + b"9" * 5000 + b"}", "the line is not JSON: "),
        (b"[" * 30_000, "the line is nested too deeply"),
        (b" " * (MAX_BYTES + 1), "the line is longer than 65535 bytes"),
    ],
)
def test_a_wrong_line_is_told_in_a_sentence(line: bytes, sentence: str) -> None:
    with pytest.raises(InputError) as error:
        read_line(line)
    assert str(error.value).startswith(sentence)


def test_a_line_and_its_fields_make_the_same_intent() -> None:
    assert read_line(json.dumps(MOVED)) == read_intent(MOVED)


def test_a_device_of_which_nobody_says_what_drives_it_does_not_pass_for_harmless() -> None:
    def powers(kind: str, name: str, *items: dict[str, Any], **fields: Any) -> list[str]:
        act = read_intent({"kind": kind, name: list(items), **fields}).act
        return [item.power.value for item in getattr(act, name)]

    bare = {"what": "device", "description": "a box under the skin"}
    plate, ring = {**bare, "power": "none"}, {"what": "effect", "description": "ring"}
    came = {"case": "2026-0001", "giver": "coroner", "place": "table"}
    assert powers("received", "items", bare, plate, ring, **came) == ["unknown", "none", "none"]
    apart = {"thing": "2026-0001.1"}
    assert powers("separated", "into", {**bare, "place": "table"}, **apart) == ["unknown"]


def test_what_is_not_said_is_neither_found_nor_of_a_moment() -> None:
    intent = read_intent(MOVED)
    assert intent == Intent(intent.act, case="2026-0002", occurred_at=None, found=False, as_of=None)
    assert Intent(intent.act).found is False


def test_one_may_have_looked_when_nothing_was_recorded_yet() -> None:
    assert read_intent({**MOVED, "as_of": 0}).as_of == 0
    with pytest.raises(InputError, match="as_of: a whole number"):
        read_intent({**MOVED, "as_of": -1})


def test_an_act_that_names_no_thing_needs_its_case() -> None:
    stated = {"kind": "retention-stated", "kept": "none", "according_to": "the report"}
    with pytest.raises(InputError, match="case: retention-stated needs the case it belongs to"):
        read_intent(stated)


def test_the_schema_lets_through_what_an_intent_is_made_of() -> None:
    """Checked by jsonschema, which reads the draft that the schema names."""
    whole = schema()
    validator = jsonschema.Draft202012Validator(whole)
    full = {"case": "2026-0001", "occurred_at": "2026-03-02T08:00:00Z", "found": True, "as_of": 0}
    validator.validate({**MOVED, **full})
    for wrong in ({"as_of": -1}, {"found": "yes"}, {"case": 7}, {"occurred_at": 7}, {"asof": 1}):
        assert not validator.is_valid({**MOVED, **wrong}), wrong
    shape = whole["$defs"]["PlaceNamed"]["properties"]
    assert {"occurred_at", "found", "as_of"} <= shape.keys()
    assert "case" not in shape, "it goes into the register itself"


def test_text_with_half_a_character_is_told_as_bytes_that_hold_it_are() -> None:
    for line in ('{"remark": "\ud800"}', b'{"remark": "\xed\xa0\x80"}'):
        with pytest.raises(InputError, match="the line is not UTF-8 text"):
            read_fields(line)


def test_a_line_may_be_as_long_as_an_entry() -> None:
    line = json.dumps({"remark": ""})
    full = line.replace('""', f'"{"x" * (MAX_BYTES - len(line))}"')
    assert len(read_fields(full)["remark"]) == MAX_BYTES - len(line)


def test_the_schema_says_what_an_intent_needs_and_what_only_the_register_gives() -> None:
    whole = schema()
    assert whole["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert whole["title"] == "Intent"
    validator = jsonschema.Draft202012Validator(whole)
    validator.validate({"kind": "case-opened", "case": "2026-0001"})
    lacking = [{k: v for k, v in MOVED.items() if k != name} for name in MOVED]
    for fields in (*lacking, {}, {"kind": "no-such-kind"}):
        assert not validator.is_valid(fields), fields
    for shape in whole["$defs"].values():
        assert not {"despite", "in_cases", "known"} & shape.get("properties", {}).keys()


def test_what_the_register_says_of_itself_goes_into_no_case() -> None:
    named = {"kind": "place-named", "place": "annex", "what": "store", "description": "the annex"}
    assert read_intent(named).case is None


def test_each_field_of_the_envelope_says_what_it_is_and_of_which_form() -> None:
    fields = schema()["$defs"]["Moved"]["properties"]
    envelope = {name: fields[name] for name in ("case", "occurred_at", "found", "as_of")}
    assert all(one["description"].split() for one in envelope.values())
    assert [one["type"] for one in envelope.values()] == ["string", "string", "boolean", "integer"]
    assert fields["occurred_at"]["format"] == "date-time"
    assert fields["case"]["pattern"].startswith("^")
