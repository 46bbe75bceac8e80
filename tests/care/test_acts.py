"""Each kind of entry: what it names, what it refuses to be, and the schema it publishes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from continuity.care import entries, policy
from continuity.care.entries import read_act
from continuity.errors import InputError
from tests.care.histories import bag, device, part
from tests.care.history import CASE, OTHER, World

SCHEMA = Path(__file__).with_name("schema.json")
ONE, TWO, THREE = (f"{CASE}.{n}" for n in range(1, 4))
KEY = "eve+00000000+A" + "A" * 20
DIGEST = "0" * 64


def names(
    things: tuple[str, ...] = (),
    places: tuple[str, ...] = (),
    holders: tuple[str, ...] = (),
    introduces: tuple[str, ...] = (),
    cases: tuple[str, ...] = (),
) -> dict[str, tuple[str, ...]]:
    return {
        "mentions": things,
        "places": places,
        "holders": holders,
        "introduces": introduces,
        "cases": cases,
    }


EXAMPLES: list[tuple[str, dict[str, Any], dict[str, tuple[str, ...]]]] = [
    (
        "register-started",
        {"firm": "a firm", "register_key": KEY, "key": KEY, "person": "eve", "role": "director"},
        names(),
    ),
    ("key-enrolled", {"key": KEY, "person": "eve", "role": "mortician"}, names()),
    ("key-replaced", {"key": KEY, "replaces": "eve+00000000"}, names()),
    ("key-revoked", {"key": "eve+00000000", "reason": "lost"}, names()),
    ("place-named", {"place": "annex", "what": "store", "description": "x"}, names()),
    ("holder-named", {"holder": "lab", "what": "hospital", "description": "x"}, names()),
    ("policy-adopted", {"policy": policy.default().model_dump(mode="json")}, names()),
    ("cases-indexed", {"root": DIGEST, "count": 1, "size": 2}, names()),
    (
        "register-restored",
        {"guard_size": 3, "guard_root": DIGEST, "size": 2, "reason": "a broken disk"},
        names(),
    ),
    (
        "place-counted",
        {"place": "annex", "seen": [ONE], "unexpected": [ONE], "missing": [TWO]},
        names((ONE, TWO), places=("annex",)),
    ),
    ("case-opened", {"number": CASE}, names()),
    ("disposition-changed", {"disposition": "burial", "authority": "an order"}, names()),
    ("retention-stated", {"kept": "none", "according_to": "the report"}, names()),
    (
        "received",
        {
            "giver": "coroner",
            "place": "store",
            "items": [bag(thing=TWO), device(thing=THREE, within=TWO), part(within=ONE)],
        },
        names((TWO, THREE, TWO, ONE), ("store",), ("coroner",), (TWO, THREE)),
    ),
    ("identified", {"thing": ONE, "identifiers": [{"what": "name"}]}, names((ONE,))),
    ("inspected", {"thing": ONE}, names((ONE,))),
    ("moved", {"things": [ONE, TWO], "place": "annex"}, names((ONE, TWO), ("annex",))),
    ("put-in", {"things": [ONE, TWO], "into": THREE}, names((ONE, TWO, THREE))),
    (
        "taken-out",
        {"things": [ONE], "out_of": TWO, "place": "annex"},
        names((ONE, TWO), ("annex",)),
    ),
    ("taken-out", {"things": [ONE], "out_of": TWO, "into": THREE}, names((ONE, TWO, THREE))),
    (
        "handed-over",
        {"things": [ONE], "taker": "lab", "authority": "an order"},
        names((ONE,), (), ("lab",)),
    ),
    ("hand-over-accepted", {"things": [ONE], "taker": "lab"}, names((ONE,), (), ("lab",))),
    (
        "returned",
        {"things": [ONE], "giver": "lab", "place": "annex"},
        names((ONE,), ("annex",), ("lab",)),
    ),
    ("sighted", {"things": [ONE], "place": "annex"}, names((ONE,), ("annex",))),
    ("sighted", {"things": [ONE]}, names((ONE,))),
    (
        "provided",
        {"place": "annex", "items": [bag(thing=TWO)]},
        names((TWO,), ("annex",), (), (TWO,)),
    ),
    ("opened", {"thing": ONE, "reason": "to look"}, names((ONE,))),
    ("sealed", {"thing": ONE}, names((ONE,))),
    ("packaging-discarded", {"thing": ONE, "empty": True}, names((ONE,))),
    ("labelled", {"thing": ONE, "code": "TEST 1"}, names((ONE,))),
    ("label-voided", {"thing": ONE, "code": "TEST 1", "reason": "torn"}, names((ONE,))),
    (
        "separated",
        {
            "thing": ONE,
            "into": [
                part(thing=TWO, place="annex"),
                part(thing=THREE, within=f"{CASE}.4"),
                part(within="#1"),
            ],
        },
        names((ONE, TWO, THREE, f"{CASE}.4"), ("annex",), (), (TWO, THREE)),
    ),
    ("joined", {"things": [ONE, TWO], "to": THREE}, names((ONE, TWO, THREE))),
    (
        "associated",
        {"things": [ONE], "to_case": OTHER, "authority": "a report"},
        names((ONE,), cases=(OTHER,)),
    ),
    ("cared-for", {"thing": ONE, "step": "washed"}, names((ONE,))),
    (
        "cared-for",
        {"thing": ONE, "step": "device-removed", "removed": TWO, "place": "annex"},
        names((ONE, TWO), ("annex",)),
    ),
    ("weighed", {"thing": ONE, "grams": 10}, names((ONE,))),
    (
        "retained",
        {"holder": "lab", "things": [ONE], "items": [part(thing=TWO)]},
        names((ONE, TWO), (), ("lab",), (TWO,)),
    ),
    ("instructed", {"things": [ONE], "wish": "worn", "relation": "son"}, names((ONE,))),
    ("released", {"things": [ONE], "relation": "son"}, names((ONE,))),
    ("coffin-closed", {"thing": ONE}, names((ONE,))),
    ("coffin-reopened", {"thing": ONE, "reason": "to look"}, names((ONE,))),
    (
        "coffin-shared",
        {"coffin": ONE, "with_cases": [CASE, OTHER], "authority": "an order"},
        names((ONE,), cases=(CASE, OTHER)),
    ),
    ("disposed", {"things": [ONE], "manner": "burial", "where": "there"}, names((ONE,))),
    (
        "ashes-received",
        {
            "giver": "crematory",
            "place": "store",
            "items": [{"what": "ashes", "description": "ashes", "thing": TWO}],
        },
        names((TWO,), ("store",), ("crematory",), (TWO,)),
    ),
    (
        "recalled",
        {"things": [ONE], "taker": "coroner", "authority": "an order"},
        names((ONE,), (), ("coroner",)),
    ),
    ("irregularity-raised", {"things": [ONE], "what": "a stain"}, names((ONE,))),
    ("irregularity-resolved", {"irregularity": 3, "resolution": "coffee"}, names()),
    ("corrected", {"strikes": DIGEST, "reason": "a slip"}, names()),
    ("closing-check-signed", {"coffin": TWO}, names((TWO,))),
    ("closing-check-signed", {}, names()),
    ("personal-details-erased", {"ground": "a law"}, names()),
]


@pytest.mark.parametrize(("kind", "fields", "named"), EXAMPLES, ids=lambda v: str(v)[:24])
def test_what_an_act_names(
    kind: str, fields: dict[str, Any], named: dict[str, tuple[str, ...]]
) -> None:
    act = read_act({"kind": kind, **fields})
    assert {name: getattr(act, name)() for name in named} == named


@pytest.mark.parametrize(("kind", "fields", "named"), EXAMPLES, ids=lambda v: str(v)[:24])
def test_an_act_is_read_back_from_its_details(
    kind: str, fields: dict[str, Any], named: dict[str, tuple[str, ...]]
) -> None:
    act = read_act({"kind": kind, **fields})
    assert read_act({"kind": kind, **act.details()}) == act
    assert "kind" not in act.details()
    assert "remark" not in act.details()


def test_every_kind_has_an_example() -> None:
    exemplified = {kind for kind, _, _ in EXAMPLES}
    assert exemplified == set(entries.KINDS), "give the new kind an example in EXAMPLES above"


def test_only_an_opening_opens_and_only_a_label_labels() -> None:
    acts = {kind: read_act({"kind": kind, **fields}) for kind, fields, _ in EXAMPLES}
    assert {kind: act.opens() for kind, act in acts.items() if act.opens()} == {"case-opened": CASE}
    assert {kind: act.labels() for kind, act in acts.items() if act.labels()} == {
        "labelled": ("TEST 1", ONE)
    }


def test_only_a_new_key_is_brought_in_and_only_a_correction_strikes() -> None:
    acts = {kind: read_act({"kind": kind, **fields}) for kind, fields, _ in EXAMPLES}
    assert {kind for kind, act in acts.items() if act.brings_key() is not None} == {
        "register-started",
        "key-enrolled",
        "key-replaced",
    }
    assert {kind for kind, act in acts.items() if act.strikes_leaf() is not None} == {"corrected"}


def test_an_adopted_policy_is_kept_as_it_was_written() -> None:
    written = policy.default().model_dump(mode="json")
    assert read_act({"kind": "policy-adopted", "policy": written}).policy == written


def test_what_may_change_who_is_in_care_and_what_stays_in_its_case() -> None:
    kinds = entries.KINDS
    assert {name for name, kind in kinds.items() if kind.changes_presence} == {
        "case-opened",
        "received",
        "returned",
        "provided",
        "packaging-discarded",
        "associated",
        "released",
        "disposed",
        "ashes-received",
        "corrected",
    }
    assert {name for name, kind in kinds.items() if not kind.mirrored} == {
        "closing-check-signed",
        "place-counted",
    }
    assert {name for name, kind in kinds.items() if kind.for_house} == {
        "register-started",
        "key-enrolled",
        "key-replaced",
        "key-revoked",
        "place-named",
        "holder-named",
        "policy-adopted",
        "cases-indexed",
        "register-restored",
    }


def test_the_published_schema_changes_only_knowingly() -> None:
    assert entries.schema() == json.loads(SCHEMA.read_text("utf-8")), (
        "if the change is meant, run python -m tests.care.published, read what changed with git"
        " diff, and say so in CHANGELOG.md"
    )


PIECE = {"what": "part", "description": "piece"}


@pytest.mark.parametrize(
    ("kind", "fields", "sentence"),
    [
        (
            "put-in",
            {"things": [ONE, TWO], "into": TWO},
            f"put-in: {TWO} cannot be put into itself",
        ),
        ("joined", {"things": [ONE], "to": ONE}, f"joined: {ONE} cannot be joined to itself"),
        (
            "taken-out",
            {"things": [ONE]},
            "taken-out: say where it was set down: either place or into",
        ),
        (
            "taken-out",
            {"things": [ONE], "place": "annex", "into": TWO},
            "taken-out: say where it was set down: either place or into",
        ),
        (
            "separated",
            {"thing": ONE, "into": [PIECE]},
            "separated: into.1: say where each piece is: either place or within",
        ),
        (
            "separated",
            {"thing": ONE, "into": [{**PIECE, "place": "annex", "within": TWO}]},
            "separated: into.1: say where each piece is: either place or within",
        ),
        (
            "received",
            {"giver": "x", "place": "x", "items": [part(receipt="missing", found_seal="S1")]},
            "received: 'left hand' is missing, and yet its seal was read",
        ),
        (
            "received",
            {"giver": "x", "place": "x", "items": [part(receipt="missing", found_label="L1")]},
            "received: 'left hand' is missing, and yet its seal was read",
        ),
        (
            "received",
            {"giver": "x", "place": "x", "items": [part(within="#2")]},
            "received: within #2: this act has 1 items",
        ),
        (
            "received",
            {"giver": "x", "place": "x", "items": [bag(), part(within="#2")]},
            "received: item #2 cannot lie within itself",
        ),
        (
            "cared-for",
            {"thing": ONE, "step": "device-removed"},
            "cared-for: device-removed names the removed device, and no other step does",
        ),
        (
            "cared-for",
            {"thing": ONE, "step": "washed", "removed": TWO, "place": "annex"},
            "cared-for: device-removed names the removed device, and no other step does",
        ),
        (
            "cared-for",
            {"thing": ONE, "step": "device-removed", "removed": TWO},
            "cared-for: say in place where the removed device was set down",
        ),
        (
            "retention-stated",
            {"kept": "none", "according_to": " "},
            "retention-stated: according_to: say which report, letter or person states it",
        ),
        (
            "holder-named",
            {"holder": "here", "what": "other", "description": "x"},
            "holder-named: holder: 'here' is the firm itself; name the holder otherwise",
        ),
        (
            "corrected",
            {
                "strikes": DIGEST,
                "reason": "x",
                "instead": {"kind": "corrected", "strikes": DIGEST, "reason": "x"},
            },
            "corrected: instead: an act of the case stands instead, not another correction",
        ),
        (
            "corrected",
            {
                "strikes": DIGEST,
                "reason": "x",
                "instead": {"kind": "cases-indexed", "root": DIGEST, "count": 1, "size": 2},
            },
            "corrected: instead: an act of the case stands instead, not another correction",
        ),
        (
            "corrected",
            {
                "strikes": DIGEST,
                "reason": "x",
                "instead": {"kind": "inspected", "thing": ONE, "personal": {"name": "X"}},
            },
            "corrected: instead: personal details go into the correction's own personal",
        ),
    ],
)
def test_what_an_act_cannot_be_is_told_in_a_sentence(
    kind: str, fields: dict[str, Any], sentence: str
) -> None:
    with pytest.raises(InputError) as caught:
        read_act({"kind": kind, **fields})
    assert str(caught.value) == sentence


def test_numbers_and_references_of_new_things_are_filled_in() -> None:
    w = World()
    w.arrive()
    came = w.do(
        "received",
        giver="coroner",
        place="store",
        items=[bag(), device(within="#1"), bag(thing=f"{CASE}.9"), device(within="#3")],
    )
    assert [(i.thing, i.within) for i in came.act.items] == [
        (f"{CASE}.3", None),
        (f"{CASE}.4", f"{CASE}.3"),
        (f"{CASE}.9", None),
        (f"{CASE}.5", f"{CASE}.9"),
    ]
    parted = w.do(
        "separated",
        thing=f"{CASE}.4",
        into=[bag(place="table"), device(within="#1")],
        found=False,
        force=True,
    )
    assert [(p.thing, p.within) for p in parted.act.into] == [
        (f"{CASE}.10", None),
        (f"{CASE}.11", f"{CASE}.10"),
    ]


def test_what_is_listed_first_may_lie_in_what_is_listed_last() -> None:
    w = World()
    w.arrive(part(within="#4"), bag())
    assert [t.id for t in w.case().contents(f"{CASE}.4")] == [THREE]


def test_a_reference_past_the_last_new_thing_is_wrong() -> None:
    w = World()
    w.arrive(device())
    with pytest.raises(InputError, match="#2 names new thing 2 of 1"):
        w.do("separated", thing=THREE, into=[part(within="#2")])


def test_what_a_thing_was_taken_out_of_is_filled_in() -> None:
    w = World()
    w.arrive(bag(), device(within="#3"))
    out = w.do("taken-out", things=[f"{CASE}.4"], place="table")
    assert out.act.out_of == THREE
