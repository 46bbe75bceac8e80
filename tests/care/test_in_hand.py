"""Whatever is done to one thing: it must be here, of this case, and not shut in."""

from __future__ import annotations

import pytest

from tests.care.histories import bag, part
from tests.care.history import CASE, OTHER, World

BODY, BAG, PART = (f"{CASE}.{n}" for n in (1, 3, 4))
ACTS = {
    "opened": {"reason": "to look"},
    "sealed": {"seal": "88"},
    "packaging-discarded": {"empty": True},
}


@pytest.fixture
def w() -> World:
    """A bag with a part in it."""
    world = World()
    world.arrive(bag(), part(within="#3"))
    return world


def refused(w: World, kind: str, case: str = CASE) -> set[str]:
    return set(w.refusals(kind, case=case, thing=BAG, **ACTS[kind]))


@pytest.mark.parametrize("kind", ACTS)
def test_not_while_somebody_else_holds_it(w: World, kind: str) -> None:
    before = refused(w, kind)
    w.do("handed-over", things=[BAG], taker="lab", authority="order 7", accepted=True)
    assert refused(w, kind) == before | {"not-here"}


@pytest.mark.parametrize("kind", ACTS)
def test_not_under_another_cases_number(w: World, kind: str) -> None:
    before = refused(w, kind)
    w.arrive(case=OTHER)
    assert refused(w, kind, case=OTHER) == before | {"wrong-case"}


@pytest.mark.parametrize("kind", ACTS)
def test_not_through_a_lid_that_is_closed(w: World, kind: str) -> None:
    before = refused(w, kind)
    w.do("put-in", things=[BAG], into=BODY)
    w.do("cared-for", thing=BODY, step="sutured")
    assert refused(w, kind) == before | {"shut-in"}


def test_nothing_goes_into_what_is_itself_shut_in(w: World) -> None:
    w.do("received", giver="coroner", place="table", items=[part()])
    into = {"things": [f"{CASE}.5"], "into": BAG}
    assert w.refusals("put-in", **into) == []
    w.do("put-in", things=[BAG], into=BODY)
    assert w.refusals("put-in", **into) == []
    w.do("cared-for", thing=BODY, step="sutured")
    assert w.refusals("put-in", **into) == ["shut-in"]
