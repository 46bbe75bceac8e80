"""A coffin is shared by the cases that an authority names, and by no others that know of it."""

from __future__ import annotations

import pytest

from tests.care.history import CASE, OTHER, World

COFFIN = f"{CASE}.2"
THIRD = "2026-0003"


@pytest.fixture
def w() -> World:
    """Three cases; the first knows two authorities for its coffin, and only one names the third."""
    world = World()
    for case in (CASE, OTHER, THIRD):
        world.arrive(case=case)
    return world


def test_a_case_that_only_knows_of_a_sharing_may_not_use_the_coffin(w: World) -> None:
    first = w.do("coffin-shared", coffin=COFFIN, with_cases=[CASE, THIRD], authority="an order")
    w.do("coffin-shared", coffin=COFFIN, with_cases=[CASE, OTHER], authority="another order")
    body = f"{THIRD}.1"
    assert w.refusals("put-in", case=THIRD, things=[body], into=COFFIN) == []
    w.correct(first)
    assert [s.cases for s in w.case(THIRD).shares] == [(CASE, OTHER)]
    assert w.refusals("put-in", case=THIRD, things=[body], into=COFFIN) == ["wrong-case"]


def test_the_authority_that_names_the_case_is_told_whichever_came_first(w: World) -> None:
    w.do("coffin-shared", coffin=COFFIN, with_cases=[CASE, THIRD], authority="an order")
    first = w.do("coffin-shared", coffin=COFFIN, with_cases=[CASE, OTHER], authority="another")
    w.do("coffin-shared", coffin=COFFIN, with_cases=[CASE, THIRD], authority="once more")
    w.do("put-in", case=THIRD, things=[f"{THIRD}.1"], into=COFFIN)
    w.correct(w.chains[CASE][first.number - 1])
    shown = [f for f in w.check(THIRD).findings if f.code == "shares-a-coffin"]
    assert [s.cases for s in w.case(THIRD).shares] == [(CASE, OTHER), (CASE, THIRD)]
    assert [(f.things, f.cases) for f in shown] == [((COFFIN,), (CASE,))]


def test_a_sharing_is_no_finding_before_anybody_lies_in_the_coffin(w: World) -> None:
    w.do("coffin-shared", coffin=COFFIN, with_cases=[CASE, THIRD], authority="an order")
    assert "shares-a-coffin" not in w.codes()
    assert "shares-a-coffin" not in w.codes(THIRD)
    w.lay_in()
    assert "shares-a-coffin" in w.codes()
    assert "shares-a-coffin" not in w.codes(THIRD)
