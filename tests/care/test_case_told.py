"""What a case tells of itself: its number, whether it is in care, how things came, what changed."""

from __future__ import annotations

import pytest

from continuity.care.changes import changed_since
from continuity.care.fold import fold
from tests.care.histories import bag, device, effect, part, viscera
from tests.care.history import CASE, OTHER, World

BODY, COFFIN, THIRD, FOURTH, FIFTH, SIXTH = (f"{CASE}.{n}" for n in range(1, 7))
NINTH = f"{CASE}.9"


@pytest.fixture
def w() -> World:
    world = World()
    world.arrive(device(), bag())
    return world


def test_a_case_has_the_number_and_the_reference_that_its_opening_says() -> None:
    w = World()
    w.do("case-opened", coroner_reference="C 12/2026")
    opened = fold("id", "2026-7777", w.chains[CASE])
    assert (opened.number, opened.coroner_reference) == (CASE, "C 12/2026")


def test_a_decedent_in_a_case_that_nobody_opened_is_not_said_to_be_unidentified() -> None:
    w = World()
    w.do("received", giver="coroner", place="table", items=[{**part(), "what": "decedent"}])
    assert "person-unknown" not in w.codes()
    w.do("case-opened", unidentified=True)
    assert "person-unknown" in w.codes()


def test_a_case_is_in_care_until_the_disposition_and_while_a_thing_of_it_is_here(w: World) -> None:
    assert World().case().in_care
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.lay_in()
    assert w.case().in_care
    w.do("handed-over", things=[COFFIN], taker="crematory", authority="an order", force=True)
    assert w.case().in_care
    w.buried(force=True)
    assert w.case().in_care, "the bag stayed, and the plate in it"
    w.do("handed-over", things=[FOURTH], taker="lab", authority="an order")
    assert not w.case().in_care
    w.do("returned", things=[FOURTH], giver="lab", place="store")
    assert w.case().in_care
    w.do("released", things=[FOURTH], relation="a clinic", authority="an order")
    assert not w.case().in_care


def test_anothers_bag_that_was_left_here_keeps_no_case_in_care(w: World) -> None:
    w.arrive(bag(), case=OTHER)
    w.do("put-in", things=[THIRD], into=f"{OTHER}.3", found=True)
    w.do("put-in", things=[FOURTH], into=COFFIN)
    w.lay_in()
    w.buried(force=True)
    w.do("released", things=[THIRD], relation="a clinic", authority="an order")
    assert not w.case().in_care


def test_how_each_thing_came_into_the_record_is_told() -> None:
    w = World()
    w.arrive(viscera(), effect(receipt="missing"))
    w.do("provided", place="store", items=[bag()])
    w.do("separated", thing=THIRD, into=[part(place="table")])
    w.do("retained", holder="lab", items=[{**part(), "what": "specimen"}])
    w.arrive(device(), case=OTHER)
    w.do("put-in", things=[f"{OTHER}.3"], into=FIFTH, found=True)
    w.do("case-opened", case="2026-0009", unidentified=True)
    w.do("received", case="2026-0009", giver="coroner", place="store", items=[part()])
    foot = "2026-0009.1"
    w.do("associated", case="2026-0009", things=[foot], to_case=CASE, authority="a report")
    assert {t.id: t.receipt for t in w.case().things.values()} == {
        BODY: "as-declared",
        COFFIN: "as-declared",
        THIRD: "as-declared",
        FOURTH: "missing",
        FIFTH: "provided",
        SIXTH: "produced",
        f"{CASE}.7": "retained",
        f"{OTHER}.3": "learned",
        foot: "associated",
    }
    assert w.case("2026-0009").things[foot].receipt == "as-declared"


def test_how_each_thing_was_shut_and_opened_is_told() -> None:
    w = World()
    w.arrive(bag(found_seal="S1"))
    w.do("opened", thing=THIRD, reason="to look")
    w.do("sealed", thing=THIRD, seal="S2")
    w.do("cared-for", thing=BODY, step="sutured")
    w.do("coffin-closed", thing=COFFIN, found=True)
    w.do("coffin-reopened", thing=COFFIN, reason="to look")

    def how(thing: str) -> list[str]:
        return [closure.how for closure in w.case().things[thing].closures]

    assert how(THIRD) == ["sealed", "opened", "sealed"]
    assert how(BODY) == ["sutured"]
    assert how(COFFIN) == ["closed", "reopened"]


def test_the_cavity_was_reached_into_when_something_went_in_or_came_out() -> None:
    w = World()
    w.arrive(viscera(within="#1"), effect())
    assert w.case().reached_into(BODY) is None
    w.do("put-in", things=[FOURTH], into=BODY)
    assert w.case().reached_into(BODY) is None, "a ring goes onto the body"
    out = w.do("taken-out", things=[THIRD], place="table")
    w.do("moved", things=[THIRD], place="store")
    assert w.case().reached_into(BODY) == out.moment


# What changed since a check.


def test_what_happened_at_the_check_or_at_the_closing_is_not_between_them(w: World) -> None:
    first = w.do("moved", things=[THIRD], place="table").moment
    last = w.do("moved", things=[FOURTH], place="table").moment
    assert changed_since(w.case(), COFFIN, first) == (last,)
    assert changed_since(w.case(), COFFIN, first, last) == ()


def test_a_number_that_an_entry_only_names_changes_nothing(w: World) -> None:
    last = w.do("moved", things=[FOURTH], place="table").moment
    w.do("sighted", things=[NINTH], force=True)
    assert changed_since(w.case(), COFFIN, last) == ()


def test_details_of_an_entry_can_be_erased_only_where_there_are_entries() -> None:
    erase = {"kind": "personal-details-erased", "entries": [0], "ground": "a law"}
    assert World().refusals(**erase) == ["no-such-entry"]
    w = World()
    w.do("case-opened")
    assert w.refusals(**erase) == []
