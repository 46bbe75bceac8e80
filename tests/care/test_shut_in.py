"""What is shut in leaves by no act before what it is in was opened."""

from __future__ import annotations

import pytest

from continuity.care import entries
from tests.care.histories import bag, part, viscera
from tests.care.history import CASE, OTHER, World

BODY, COFFIN, BAG, VISCERA, LOOSE = (f"{CASE}.{n}" for n in range(1, 6))
LAWFUL = {"authority": "an order", "where": "a clinic"}

TAKES = {
    "moved": {"things": [VISCERA], "place": "table"},
    "put-in": {"things": [VISCERA], "into": COFFIN},
    "taken-out": {"things": [VISCERA], "place": "table"},
    "handed-over": {"things": [VISCERA], "taker": "lab", "authority": "an order"},
    "recalled": {"things": [VISCERA], "taker": "coroner", "authority": "an order"},
    "returned": {"things": [VISCERA], "giver": "lab", "place": "table"},
    "retained": {"things": [VISCERA], "holder": "lab"},
    "sighted": {"things": [VISCERA], "place": "table"},
    "released": {"things": [VISCERA], "relation": "a son", "authority": "a wish"},
    "disposed": {"things": [VISCERA], "manner": "donation", **LAWFUL},
    "joined": {"things": [VISCERA], "to": LOOSE},
    "separated": {
        "thing": VISCERA,
        "into": [{**viscera(), "place": "table"}],
        "entirely": True,
    },
    "packaging-discarded": {"thing": BAG, "empty": True},
}
"""Acts that would have the viscera elsewhere, or what holds them gone."""

INTO = {
    "put-in": {"things": [LOOSE], "into": BODY},
    "joined": {"things": [LOOSE], "to": BODY},
}
"""Acts by which a thing from outside would be in a closed body."""

LEAVES_BE = {
    "hand-over-accepted": {"things": [VISCERA], "taker": "lab"},
    "opened": {"thing": BAG, "reason": "to look"},
    "sealed": {"thing": BAG},
    "labelled": {"thing": VISCERA, "code": "TEST 1"},
    "label-voided": {"thing": VISCERA, "code": "TEST 1", "reason": "torn"},
    "associated": {"things": [VISCERA], "to_case": OTHER, "authority": "a report"},
    "cared-for": {"thing": VISCERA, "step": "rinsed"},
    "weighed": {"thing": VISCERA, "grams": 900},
    "inspected": {"thing": VISCERA, "leak": True},
    "identified": {"thing": VISCERA, "identifiers": [{"what": "name"}]},
    "instructed": {"things": [VISCERA], "wish": "donation", "relation": "a son"},
    "coffin-closed": {"thing": COFFIN},
    "coffin-reopened": {"thing": COFFIN, "reason": "to look"},
    "irregularity-raised": {"things": [VISCERA], "what": "a smell"},
}
"""Acts on the viscera, or on what holds them, by which nothing is elsewhere."""


def shut_in() -> World:
    """Viscera in a sealed bag in a sutured body in a closed coffin; a part beside it."""
    w = World()
    w.arrive(bag(within="#1"), viscera(within="#3"), part())
    w.do("opened", thing=BAG, reason="to look")
    w.do("sealed", thing=BAG)
    w.do("cared-for", thing=BODY, step="sutured")
    w.ready()
    w.do("closing-check-signed", coffin=COFFIN, force=True)
    w.do("coffin-closed", thing=COFFIN, force=True)
    return w


def resting(w: World) -> list[object]:
    case = w.case()
    return [(thing.id, thing.where) for thing in case.things.values()]


@pytest.mark.parametrize("kind", TAKES)
def test_no_act_takes_what_is_shut_in(kind: str) -> None:
    refused = shut_in().objections(kind, **TAKES[kind])
    assert {o.code for o in refused} & {"shut-in", "not-with-the-holder", "was-here"}


@pytest.mark.parametrize("kind", INTO)
def test_no_act_puts_into_what_is_shut(kind: str) -> None:
    w = World()
    w.arrive(bag(within="#1"), viscera(within="#3"), part())
    w.do("cared-for", thing=BODY, step="sutured")
    w.lay_in()
    assert w.refusals(kind, **INTO[kind]) == ["shut"]


@pytest.mark.parametrize("kind", LEAVES_BE)
def test_an_act_that_takes_nothing_leaves_everything_where_it_is(kind: str) -> None:
    w = shut_in()
    before = resting(w)
    w.do(kind, force=True, **LEAVES_BE[kind])
    assert resting(w) == before


def test_every_act_on_things_is_tried() -> None:
    on_things = {
        kind
        for kind, act in entries.KINDS.items()
        if {"thing", "things"} & set(act.model_fields) and not act.for_house
    }
    assert on_things == set(TAKES) | set(LEAVES_BE)


def test_a_body_is_disposed_of_in_its_closed_coffin() -> None:
    way = {"manner": "burial", "where": "a cemetery", "authority": "an order"}
    assert shut_in().refusals("disposed", things=[COFFIN], **way) == []
    assert shut_in().refusals("disposed", things=[BODY, COFFIN], **way) == []


def test_what_a_holder_has_it_may_dispose_of_out_of_its_bag() -> None:
    w = World()
    w.arrive(bag(), viscera(within="#3"))
    w.do("sealed", thing=BAG)
    w.do("handed-over", things=[BAG], taker="lab", authority="an order", accepted=True)
    assert w.refusals("disposed", things=[VISCERA], manner="donation", **LAWFUL) == []


def test_what_was_said_of_a_thing_kept_stands_until_it_is_said_anew() -> None:
    w = World()
    w.arrive(part())
    w.do("handed-over", things=[f"{CASE}.3"], taker="lab", authority="an order")
    kept = {"things": [f"{CASE}.3"], "holder": "lab"}
    w.do("retained", reason="a test", authority="an order", **kept)
    w.do("retained", family_told=True, **kept)
    w.do("retained", until="2026-05-01", **kept)
    retention = w.case().things[f"{CASE}.3"].retention
    assert (retention.reason, retention.until, retention.authority, retention.family_told) == (
        "a test",
        "2026-05-01",
        "an order",
        True,
    )
    assert not w.case().things[f"{CASE}.3"].where.accepted


@pytest.mark.parametrize(
    ("organ", "refused"),
    [("left foot", []), ("heart", ["shut"]), (None, ["shut"])],
)
def test_a_limb_is_sewn_on_a_closed_body_and_nothing_else_is(
    organ: str | None, refused: list[str]
) -> None:
    w = World()
    w.arrive(part(organ=organ))
    w.do("cared-for", thing=BODY, step="sutured")
    assert w.refusals("joined", things=[BAG], to=BODY) == refused
