"""Counting a place: missing, unexpected, and uncounted because shut in."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from continuity.care.counting import Count, together
from continuity.care.records import Counted, Sight
from continuity.errors import InputError
from tests.care.histories import bag, device
from tests.care.history import World
from tests.door.conftest import firm

if TYPE_CHECKING:
    from tests.door.conftest import Firm

__all__ = ["firm"]

BODY, BAG, VISCERA, COFFIN = (f"2026-0001.{n}" for n in (1, 2, 3, 4))
THIRD = VISCERA


@pytest.fixture
def w() -> World:
    return World()


def count(firm: Firm, place: str, seen: list[str]) -> Count:
    """The count of the whole place."""
    return together(place, firm.register.count(place, seen).values())


def test_what_lies_open_and_was_not_scanned_is_missing(firm: Firm) -> None:
    firm.open()
    assert firm.register.count("table-1", [COFFIN, BODY]) == {
        "2026-0001": Count(
            "table-1", (BODY, COFFIN), missing=(BAG, VISCERA), unexpected=(), uncounted=()
        )
    }


def test_what_is_shut_in_something_scanned_is_uncounted(firm: Firm) -> None:
    firm.open()
    firm.record("sealed", thing=BAG, seal="77")
    found = count(firm, "table-1", [BODY, BAG, COFFIN])
    assert (found.missing, found.uncounted, found.agrees) == ((), (VISCERA,), True)


def test_what_is_shut_in_something_missing_is_missing_too(firm: Firm) -> None:
    firm.open()
    firm.record("sealed", thing=BAG, seal="77")
    found = count(firm, "table-1", [BODY, COFFIN])
    assert (found.missing, found.uncounted, found.agrees) == ((BAG, VISCERA), (), False)


def test_what_is_recorded_elsewhere_is_unexpected(firm: Firm) -> None:
    firm.open()
    firm.record("moved", things=[COFFIN], place="cold-room")
    found = count(firm, "table-1", [BODY, BAG, VISCERA, COFFIN])
    assert (found.missing, found.unexpected) == ((), (COFFIN,))
    assert not found.agrees
    assert count(firm, "cold-room", [COFFIN]).agrees


def test_every_case_is_counted(firm: Firm) -> None:
    firm.open("2026-0001")
    firm.open("2026-0002")
    found = count(firm, "table-1", [BODY, BAG, VISCERA, COFFIN])
    assert found.missing == tuple(f"2026-0002.{n}" for n in (1, 2, 3, 4))


def test_each_case_is_told_of_its_own_things_alone(firm: Firm) -> None:
    firm.open("2026-0001")
    firm.open("2026-0002")
    firm.record("moved", "2026-0002", things=["2026-0002.4"], place="cold-room")
    body_and_viscera = tuple(f"2026-0002.{n}" for n in (1, 2, 3))
    here, there = firm.register.count("table-1", [COFFIN, BODY, BAG]).items()
    assert here == ("2026-0001", Count("table-1", (BODY, BAG, COFFIN), (VISCERA,), (), ()))
    assert there == ("2026-0002", Count("table-1", (), body_and_viscera, (), ()))
    assert firm.register.count("safe", []) == {}


def test_anothers_thing_that_lies_in_this_cases_bag_is_counted_with_its_own_case(
    firm: Firm,
) -> None:
    firm.open("2026-0001")
    firm.open("2026-0002")
    theirs = "2026-0002.2"
    firm.record("put-in", "2026-0001", things=[theirs], into=BAG, found=True)
    found = firm.register.count("table-1", [])
    assert theirs in found["2026-0002"].missing
    assert theirs not in found["2026-0001"].missing


def test_an_associated_thing_is_counted_with_the_case_it_belongs_to_now(firm: Firm) -> None:
    firm.open("2026-0001")
    firm.open("2026-0002")
    given = {"to_case": "2026-0002", "authority": "the pathologist", "by": (firm.director,)}
    firm.record("associated", "2026-0001", things=[VISCERA], **given)
    found = firm.register.count("table-1", [VISCERA])
    assert VISCERA in found["2026-0002"].seen
    assert VISCERA not in (*found["2026-0001"].seen, *found["2026-0001"].missing)


def test_the_latest_word_on_each_thing_is_kept(w: World) -> None:
    w.arrive(device())
    w.do("place-counted", place="store", seen=["2026-0001.1"])
    last = w.do("place-counted", place="cold-room", seen=["2026-0001.1"])
    again = w.do("place-counted", place="cold-room", missing=[BODY], at=last.occurred_at)
    second = w.do("place-counted", place="store", seen=[THIRD], unexpected=[THIRD])
    third = w.do("place-counted", place="cold-room", uncounted=[BODY])
    case = w.case()
    assert case.counts == {"store": second.moment, "cold-room": third.moment}
    assert case.counted == {
        BODY: Counted(again.moment, "cold-room", Sight.MISSING),
        THIRD: Counted(second.moment, "store", Sight.UNEXPECTED),
    }


def test_a_count_whose_things_came_by_a_struck_entry_still_folds(w: World) -> None:
    w.arrive()
    came = w.do("provided", place="store", items=[bag()])
    w.do("place-counted", place="store", missing=[THIRD])
    assert "missing-at-count" in w.codes()
    w.correct(came, force=True)
    assert "missing-at-count" not in w.codes()


def test_a_count_tells_of_no_other_case(w: World) -> None:
    w.arrive()
    w.do("case-opened", case="2026-0002", disposition="burial")
    assert w.refusals("place-counted", place="store", missing=["2026-0002.1"]) == ["wrong-case"]


def test_a_thing_that_is_nowhere_recorded_cannot_be_counted(firm: Firm) -> None:
    firm.open()
    with pytest.raises(InputError, match=r"thing 2026-0001\.9: no such thing"):
        count(firm, "table-1", ["2026-0001.9"])
