"""The tables the checks read: each entry of each decides one history."""

from __future__ import annotations

import pytest

from continuity.care.acts.retention import Wish
from continuity.care.acts.treatment import Step
from continuity.care.findings import care_due, retained, weights
from continuity.care.things import Disposition
from tests.care.histories import bag, device, effect, part
from tests.care.history import CASE, OTHER, World

BODY, COFFIN, THIRD, FOURTH, FIFTH = (f"{CASE}.{n}" for n in range(1, 6))

# How a part may leave without going against what the family said: common practice, no source.
BURIED_OR_BURNT = {"burial", "cremation", "entombment", "sending-abroad"}
ALLOWED = {
    "return-before-the-funeral": BURIED_OR_BURNT | {"released"},
    "return-later": BURIED_OR_BURNT | {"released"},
    "lawful-disposal": {"lawful-disposal", "cremation", "burial"},
    "donation": {"donation"},
    "release": {"released"},
    "goes-along": BURIED_OR_BURNT,
    "worn": BURIED_OR_BURNT,
}


@pytest.mark.parametrize("wish", [w.value for w in Wish])
@pytest.mark.parametrize("way", ["released", *(d.value for d in Disposition)])
def test_a_part_leaves_as_was_wished_or_against_it(wish: str, way: str) -> None:
    w = World()
    w.arrive(part())
    w.do("instructed", things=[THIRD], wish=wish, relation="son")
    if way == "released":
        w.do("released", things=[THIRD], relation="son", authority="a wish")
    else:
        how = {"where": "there", "authority": "an order", "method": "a method"}
        w.do("disposed", things=[THIRD], manner=way, force=way == "undecided", **how)
    assert ("against-wish" in w.codes()) == (way not in ALLOWED[wish])


def test_every_wish_is_in_the_table() -> None:
    assert set(retained._KEEPS_WISH) == {wish.value for wish in Wish}


LIGHTER = {"drained", "emptied", "aspirated", "dried", "rinsed", "device-removed", "repacked"}
HEAVIER = {"injected", "immersed", "embalmed", "rinsed", "washed", "dressed", "powdered"}


@pytest.mark.parametrize("step", [s.value for s in Step])
@pytest.mark.parametrize(
    ("grams", "code", "explains"), [(500, "weight-fell", LIGHTER), (2000, "weight-rose", HEAVIER)]
)
def test_a_step_explains_a_change_of_weight_or_does_not(
    step: str, grams: int, code: str, explains: set[str]
) -> None:
    w = World()
    w.arrive(device())
    w.do("weighed", thing=BODY, grams=1000)
    removed = {"removed": THIRD, "place": "table"} if step == "device-removed" else {}
    w.do("cared-for", thing=BODY, step=step, force=True, **removed)
    w.do("weighed", thing=BODY, grams=grams)
    assert (code in w.codes()) == (step not in explains)


MOVES = [
    ("put-in", {"things": [FIFTH], "into": THIRD}),
    ("taken-out", {"things": [FOURTH], "out_of": THIRD, "place": "table"}),
    ("joined", {"things": [FIFTH], "to": THIRD}),
    ("separated", {"thing": FOURTH, "into": [device(place="table")]}),
    ("moved", {"things": [FOURTH], "place": "table"}),
    ("handed-over", {"things": [FOURTH], "taker": "lab", "authority": "an order"}),
    ("released", {"things": [FOURTH], "relation": "son", "authority": "a wish"}),
]


def changed(kind: str, fields: dict[str, object], grams: int) -> list[str]:
    w = World()
    w.arrive(bag(), effect(within="#3"), device())
    w.do("weighed", thing=THIRD, grams=1000)
    w.do(kind, force=True, **fields)
    if kind in ("moved", "handed-over", "released"):
        w.do("put-in", things=[FOURTH], into=THIRD, force=True)
    w.do("weighed", thing=THIRD, grams=grams)
    return w.codes()


@pytest.mark.parametrize(("kind", "fields"), MOVES)
def test_what_goes_out_explains_that_a_bag_is_lighter(kind: str, fields: dict[str, object]) -> None:
    explains = kind in weights.TAKES_OUT
    assert explains == (kind != "put-in")
    assert ("weight-fell" in changed(kind, fields, 500)) == (not explains)


@pytest.mark.parametrize(("kind", "fields"), MOVES[:4])
def test_what_goes_in_explains_that_a_bag_is_heavier(kind: str, fields: dict[str, object]) -> None:
    assert kind in weights.PUTS_IN
    assert "weight-rose" not in changed(kind, fields, 2000)


def test_the_tables_of_weights_hold_nothing_else() -> None:
    assert set(weights.LIGHTENS) == LIGHTER
    assert set(weights.WEIGHTS_DOWN) == HEAVIER
    assert {kind for kind, _ in MOVES} - {"put-in"} == weights.TAKES_OUT
    assert {"put-in", "taken-out", "joined", "separated"} == weights.PUTS_IN


CHANGING = [
    ("received", {"giver": "coroner", "place": "store", "items": [device()]}),
    ("moved", {"things": [THIRD], "place": "table"}),
    ("put-in", {"things": [THIRD], "into": FOURTH}),
    ("taken-out", {"things": [THIRD], "place": "table"}),
    ("separated", {"thing": THIRD, "into": [device(place="table")]}),
    ("joined", {"things": [THIRD], "to": FIFTH}),
    ("opened", {"thing": FOURTH, "reason": "to look"}),
    ("coffin-reopened", {"thing": COFFIN, "reason": "to look"}),
    ("returned", {"things": [THIRD], "giver": "lab", "place": "table"}),
    ("handed-over", {"things": [THIRD], "taker": "lab", "authority": "an order"}),
    ("recalled", {"things": [THIRD], "taker": "coroner", "authority": "an order"}),
    ("associated", {"things": [THIRD], "to_case": OTHER, "authority": "a report"}),
    ("released", {"things": [THIRD], "relation": "a son", "authority": "a wish"}),
    ("retained", {"things": [THIRD], "holder": "lab"}),
    (
        "disposed",
        {"things": [THIRD], "manner": "donation", "where": "a bank", "authority": "an order"},
    ),
    ("provided", {"place": "table", "items": [bag()]}),
]


@pytest.mark.parametrize(("kind", "fields"), CHANGING)
def test_after_such_an_act_a_signed_check_no_longer_holds(
    kind: str, fields: dict[str, object]
) -> None:
    w = World()
    w.arrive(device(), bag(), device())
    w.arrive(case=OTHER)
    w.ready()
    w.do("closing-check-signed", coffin=COFFIN, force=True)
    w.do(kind, force=True, **fields)
    assert "no-closing-check" in w.refusals("coffin-closed", thing=COFFIN)
    w.do("coffin-closed", thing=COFFIN, force=True)
    assert "closed-without-check" in w.codes()


def test_what_came_after_the_closing_does_not_undo_the_check() -> None:
    w = World()
    w.arrive(device())
    w.ready(THIRD)
    w.close()
    w.do("received", giver="coroner", place="store", items=[device()])
    assert "closed-without-check" not in w.codes()


def test_what_moved_before_the_closing_and_again_after_it_undoes_the_check() -> None:
    w = World()
    w.arrive(device())
    w.ready()
    w.do("closing-check-signed", coffin=COFFIN, force=True)
    w.do("moved", things=[THIRD], place="table")
    w.do("coffin-closed", thing=COFFIN, force=True)
    w.do("moved", things=[THIRD], place="store")
    assert "closed-without-check" in w.codes()


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("inspected", {"thing": BODY, "leak": False}),
        ("sighted", {"things": [COFFIN]}),
        ("weighed", {"thing": BODY, "grams": 70_000}),
    ],
)
def test_after_a_mere_look_it_does(kind: str, fields: dict[str, object]) -> None:
    w = World()
    w.arrive()
    w.ready()
    w.do("closing-check-signed", coffin=COFFIN)
    w.do(kind, **fields)
    w.do("coffin-closed", thing=COFFIN)
    assert "closed-without-check" not in w.codes()


def test_the_tables_hold_nothing_else() -> None:
    assert {
        "open-body",
        "open-pack",
        "rinse",
        "empty",
        "treat",
        "dry",
        "powder",
        "repack",
        "embalm",
    } == care_due.OWN


def test_three_who_share_a_coffin_are_told_of_each_other() -> None:
    w = World()
    third = "2026-0003"
    for case in (CASE, OTHER, third):
        w.arrive(case=case)
    share = {"coffin": COFFIN, "with_cases": [CASE, OTHER, third], "authority": "an order"}
    w.do("coffin-shared", **share)
    w.ready()
    (found,) = w.check().findings
    assert found.sentence == f"{COFFIN} (oak coffin) is shared with case {OTHER} and {third}"
    assert found.mend == (
        f"do the closing check of case {OTHER} and {third} too before {COFFIN} is closed"
    )
    assert found.cases == (OTHER, third)


def test_a_sighting_copied_from_another_case_is_struck_here_too() -> None:
    w = World()
    w.arrive()
    w.arrive(case=OTHER)
    w.do("coffin-shared", coffin=COFFIN, with_cases=[CASE, OTHER], authority="an order")
    w.do("put-in", case=OTHER, things=[f"{OTHER}.1"], into=COFFIN, scanned=True)
    w.identify("closing", case=OTHER)
    wrong = w.do("sighted", things=[COFFIN], for_closing=True)
    w.correct(wrong)
    found = [f for f in w.check(OTHER).findings if f.code == "closing-sighting-corrected"]
    assert [f.things for f in found] == [(COFFIN,)]
