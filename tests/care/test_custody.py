"""Custody: each holder's time with each thing, and where two ends do not meet."""

from __future__ import annotations

from datetime import timedelta

import pytest

from continuity.care import custody
from continuity.care.custody import Break, Broken, Custody, Holding
from tests.care.histories import bag, device
from tests.care.history import CASE, OTHER, World

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))


@pytest.fixture
def w() -> World:
    world = World()
    world.arrive(device(), bag())
    return world


def lend(w: World, thing: str = THIRD, taker: str = "lab", **how: object) -> object:
    how.setdefault("accepted", True)
    return w.do("handed-over", things=[thing], taker=taker, authority="an order", **how)


def told(w: World, thing: str = THIRD) -> list[tuple[str, int, int | None]]:
    return [
        (h.holder, h.entry, h.until.number if h.until else None)
        for h in custody.custody(w.case()).of(thing)
    ]


def broken(w: World) -> list[tuple[Break, str, str, str, int]]:
    return [
        (b.what, b.thing, b.before, b.after, b.moment.number)
        for b in custody.custody(w.case()).broken
    ]


def test_an_empty_case_has_no_custody() -> None:
    assert custody.custody(World().case()) == Custody((), ())


def test_who_held_a_thing_from_when_to_when(w: World) -> None:
    given = lend(w)
    back = w.do("returned", things=[THIRD], giver="lab", place="table")
    received = w.chains[CASE][1]
    assert custody.custody(w.case()).of(THIRD) == (
        Holding(THIRD, "here", received.moment, given.moment, 1),
        Holding(THIRD, "lab", given.moment, back.moment, given.number),
        Holding(THIRD, "here", back.moment, None, back.number),
    )
    assert broken(w) == []


def test_holdings_stand_in_the_order_in_which_they_began(w: World) -> None:
    lend(w)
    holdings = custody.custody(w.case()).holdings
    assert [(h.thing, h.holder) for h in holdings] == [
        (BODY, "here"),
        (COFFIN, "here"),
        (THIRD, "here"),
        (FOURTH, "here"),
        (THIRD, "lab"),
    ]


def test_a_holding_covers_its_beginning_and_not_its_end(w: World) -> None:
    given = lend(w)
    back = w.do("returned", things=[THIRD], giver="lab", place="table")
    _, away, again = custody.custody(w.case()).of(THIRD)
    assert away.covers(given.moment)
    assert not away.covers(back.moment)
    assert again.covers(back.moment)
    assert not again.covers(given.moment)


def test_what_is_in_a_container_goes_and_comes_with_it(w: World) -> None:
    w.do("put-in", things=[THIRD], into=FOURTH)
    lend(w, FOURTH)
    w.do("returned", things=[FOURTH], giver="lab", place="table")
    assert told(w) == [("here", 1, 6), ("lab", 6, 7), ("here", 7, None)]
    assert broken(w) == []


def test_custody_ends_when_a_thing_leaves_for_good(w: World) -> None:
    w.do("released", things=[THIRD], relation="daughter", authority="a wish")
    assert told(w) == [("here", 1, 5)]
    assert broken(w) == []


def test_what_was_declared_and_never_came_was_never_held() -> None:
    w = World()
    w.arrive(device(receipt="missing"))
    assert told(w) == []
    w.do("returned", things=[THIRD], giver="coroner", place="table")
    assert told(w) == [("here", 5, None)]
    assert broken(w) == []


def test_what_comes_from_another_than_had_it_is_a_gap(w: World) -> None:
    lend(w)
    w.do("returned", things=[THIRD], giver="clinic", place="table", found=True)
    assert broken(w) == [(Break.GAP, THIRD, "lab", "here", 6)]


def test_what_is_here_again_without_a_return_is_a_gap(w: World) -> None:
    lend(w)
    w.do("moved", things=[THIRD], place="store", found=True)
    assert broken(w) == [(Break.GAP, THIRD, "lab", "here", 6)]
    assert told(w)[-1] == ("here", 6, None)


def test_what_one_hands_over_who_did_not_have_it_is_an_overlap(w: World) -> None:
    lend(w, taker="clinic")
    lend(w, found=True)
    assert broken(w) == [(Break.OVERLAP, THIRD, "clinic", "lab", 6)]


def test_what_comes_back_and_had_never_left_is_an_overlap(w: World) -> None:
    w.do("returned", things=[THIRD], giver="lab", place="table", found=True)
    assert broken(w) == [(Break.OVERLAP, THIRD, "here", "here", 5)]
    assert told(w) == [("here", 1, None)]


def test_the_examiner_keeps_what_was_handed_over_and_there_is_no_gap(w: World) -> None:
    w.do("handed-over", things=[THIRD], taker="lab", authority="an order", accepted=True)
    w.do("retained", holder="lab", things=[THIRD])
    assert broken(w) == []
    assert told(w) == [("here", 1, 5), ("lab", 5, None)]


def test_what_the_examiner_has_and_nobody_handed_over_is_a_gap(w: World) -> None:
    w.do("retained", holder="lab", things=[THIRD], found=True)
    assert broken(w) == [(Break.GAP, THIRD, "here", "lab", 5)]
    assert told(w) == [("here", 1, 5), ("lab", 5, None)]


def test_another_cases_things_are_not_this_cases_custody(w: World) -> None:
    w.arrive(case=OTHER)
    w.do("put-in", things=[f"{OTHER}.1"], into=COFFIN, found=True)
    assert {h.thing for h in custody.custody(w.case()).holdings} == {BODY, COFFIN, THIRD, FOURTH}


def test_a_thing_associated_to_this_case_is_held_from_then_on(w: World) -> None:
    w.do("case-opened", case=OTHER, disposition="burial", unidentified=True)
    w.do("received", case=OTHER, giver="coroner", place="store", items=[device()])
    w.do("associated", case=OTHER, things=[f"{OTHER}.1"], to_case=CASE, authority="a report")
    assert told(w, f"{OTHER}.1") == [("here", 5, None)]


def test_broken_says_all_of_it(w: World) -> None:
    lend(w)
    moved = w.do("moved", things=[THIRD], place="store", found=True)
    assert custody.custody(w.case()).broken == (
        Broken(Break.GAP, THIRD, "lab", "here", moved.moment),
    )


def test_what_is_broken_is_called_by_the_words_that_a_program_reads() -> None:
    assert [what.value for what in Break] == ["gap", "overlap"]


def test_a_hand_over_of_nothing_is_not_one_sided() -> None:
    w = World()
    w.arrive()
    items = [device(receipt="missing")]
    w.do("received", giver="coroner", place="store", items=items, giver_signed=False)
    assert custody.one_sided(w.case()) == []
    w.do("received", giver="coroner", place="store", items=[device()], giver_signed=False)
    assert [t.entry for t in custody.one_sided(w.case())] == [6]


def test_signed_late_is_longer_than_the_policy_allows(w: World) -> None:
    lend(w, accepted=False)
    w.pass_time(minutes=59)
    w.do("hand-over-accepted", things=[THIRD], taker="lab")
    assert custody.signed_late(w.case(), w.house.policy) == []
    lend(w, FOURTH, accepted=False)
    w.pass_time(minutes=59, seconds=1)
    w.do("hand-over-accepted", things=[FOURTH], taker="lab")
    assert [t.things for t in custody.signed_late(w.case(), w.house.policy)] == [(FOURTH,)]


def test_recorded_late_is_longer_ago_than_the_policy_allows(w: World) -> None:
    now = w.clock
    just = now + timedelta(minutes=120)
    w.do("inspected", thing=BODY, leak=False, at=now, recorded=just)
    assert custody.recorded_late(w.case(), w.house.policy) == []
    w.do("inspected", thing=BODY, leak=False, at=now, recorded=just + timedelta(milliseconds=1))
    assert [e.number for e in custody.recorded_late(w.case(), w.house.policy)] == [6]


def test_dated_ahead_is_further_than_two_clocks_may_differ(w: World) -> None:
    now = w.clock
    just = now + timedelta(seconds=120)
    w.do("inspected", thing=BODY, leak=False, at=just, recorded=now)
    assert custody.dated_ahead(w.case(), w.house.policy) == []
    w.do("inspected", thing=BODY, leak=False, at=just + timedelta(milliseconds=1), recorded=now)
    assert [e.number for e in custody.dated_ahead(w.case(), w.house.policy)] == [6]


def test_the_clock_went_back_against_the_latest_entry_before(w: World) -> None:
    now = w.clock
    w.do("inspected", thing=BODY, leak=False, recorded=now + timedelta(seconds=300))
    w.do("inspected", thing=BODY, leak=False, recorded=now + timedelta(seconds=180))
    assert custody.clock_went_back(w.case(), w.house.policy) == []
    w.do("inspected", thing=BODY, leak=False, recorded=now + timedelta(seconds=179))
    w.do("inspected", thing=BODY, leak=False, recorded=now + timedelta(seconds=170))
    assert [e.number for e in custody.clock_went_back(w.case(), w.house.policy)] == [7, 8]


def test_what_is_read_instead_of_a_struck_entry_is_no_clock_gone_back(w: World) -> None:
    wrong = w.do("inspected", thing=BODY, leak=True)
    w.do("inspected", thing=BODY, odour=False)
    w.pass_time(minutes=30)
    w.correct(wrong, instead={"kind": "inspected", "thing": BODY, "leak": False})
    assert custody.clock_went_back(w.case(), w.house.policy) == []


def test_out_of_order_is_told_unless_it_is_late_anyhow(w: World) -> None:
    now = w.clock
    w.do("inspected", thing=BODY, leak=False, at=now)
    w.do("inspected", thing=BODY, leak=False, at=now - timedelta(minutes=1), recorded=now)
    w.do("inspected", thing=BODY, leak=False, at=now, recorded=now)
    late = now - timedelta(minutes=121)
    w.do("inspected", thing=BODY, leak=False, at=late, recorded=now)
    assert [e.number for e in custody.out_of_order(w.case(), w.house.policy)] == [6]
    assert [e.number for e in custody.recorded_late(w.case(), w.house.policy)] == [8]
