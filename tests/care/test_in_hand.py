"""Whatever is done to one thing: it must be here, of this case, and not shut in."""

from __future__ import annotations

import pytest

from tests.care.histories import bag, part
from tests.care.history import CASE, OTHER, World

BODY, BAG, PART = (f"{CASE}.{n}" for n in (1, 3, 4))
ACTS = {
    "opened": {"thing": BAG, "reason": "to look"},
    "sealed": {"thing": BAG, "seal": "88"},
    "packaging-discarded": {"thing": BAG, "empty": True},
    "separated": {"thing": BAG, "into": [bag(place="table")]},
}
LOOKS = {
    "identified": {"thing": BAG, "identifiers": [{"what": "name"}]},
    "inspected": {"thing": BAG, "leak": False},
}
OF_THE_CASE = {
    "label-voided": {"thing": BAG, "code": "TEST 1", "reason": "torn"},
    "hand-over-accepted": {"things": [BAG], "taker": "lab"},
    "returned": {"things": [BAG], "giver": "lab", "place": "table"},
}


@pytest.fixture
def w() -> World:
    """A bag with a part in it."""
    world = World()
    world.arrive(bag(), part(within="#3"))
    return world


def refused(w: World, kind: str, case: str = CASE) -> set[str]:
    fields = {**ACTS, **LOOKS, **OF_THE_CASE}[kind]
    return set(w.refusals(kind, case=case, **fields))


@pytest.mark.parametrize("kind", [*ACTS, *LOOKS])
def test_not_while_somebody_else_holds_it(w: World, kind: str) -> None:
    before = refused(w, kind)
    w.do("handed-over", things=[BAG], taker="lab", authority="order 7", accepted=True)
    assert refused(w, kind) == before | {"not-here"}


@pytest.mark.parametrize("kind", [*ACTS, *LOOKS, *OF_THE_CASE])
def test_not_under_another_cases_number(w: World, kind: str) -> None:
    before = refused(w, kind)
    w.arrive(case=OTHER)
    assert refused(w, kind, case=OTHER) == before | {"wrong-case"}


@pytest.mark.parametrize("kind", [*ACTS, *LOOKS])
def test_not_through_a_lid_that_is_closed_though_it_may_be_looked_at(w: World, kind: str) -> None:
    before = refused(w, kind)
    w.do("put-in", things=[BAG], into=BODY)
    w.do("cared-for", thing=BODY, step="sutured")
    assert refused(w, kind) == before | ({"shut-in"} if kind in ACTS else set())


def test_nothing_goes_into_what_is_itself_shut_in(w: World) -> None:
    w.do("received", giver="coroner", place="table", items=[part()])
    into = {"things": [f"{CASE}.5"], "into": BAG}
    assert w.refusals("put-in", **into) == []
    w.do("put-in", things=[BAG], into=BODY)
    assert w.refusals("put-in", **into) == []
    w.do("cared-for", thing=BODY, step="sutured")
    assert w.refusals("put-in", **into) == ["shut-in"]


@pytest.mark.parametrize("kind", ["received", "ashes-received", "retained", "provided"])
def test_what_comes_new_has_a_number_that_nothing_had(w: World, kind: str) -> None:
    fields = {
        "received": {"giver": "coroner", "place": "store"},
        "ashes-received": {"giver": "crematory", "place": "store"},
        "retained": {"holder": "lab"},
        "provided": {"place": "store"},
    }[kind]
    assert "number-spent" in w.refusals(kind, items=[bag(thing=BAG)], **fields)
    assert "number-spent" not in w.refusals(kind, items=[bag(thing=f"{CASE}.9")], **fields)


@pytest.mark.parametrize("beside", [{"photograph": "0" * 64}, {"remark": "by daylight"}])
def test_a_photograph_or_a_remark_alone_says_nothing_of_what_was_seen(
    w: World, beside: dict[str, str]
) -> None:
    assert w.refusals("inspected", thing=BAG, **beside) == ["nothing-seen"]
    assert w.refusals("inspected", thing=BAG, leak=False, **beside) == []
