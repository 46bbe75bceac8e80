"""Hazards: what a label has to warn of, from the care steps alone."""

from __future__ import annotations

import pytest

from continuity.care.hazards import Hazards, hazards, history
from tests.care.histories import bag, device, part, viscera
from tests.care.history import CASE, OTHER, World

BODY, COFFIN, HAND, BAG, TUB = (f"{CASE}.{n}" for n in range(1, 6))
TUB_ITEM = {"what": "container", "form": "tub", "description": "tub"}


@pytest.fixture
def w() -> World:
    world = World()
    world.arrive(part(), bag(), TUB_ITEM)
    return world


def state(w: World, thing: str = HAND) -> Hazards:
    return hazards(w.case(), thing, w.house.policy)


def step(w: World, name: str, thing: str = HAND, tenths: int | None = None) -> object:
    strength = {} if tenths is None else {"formaldehyde_tenths": tenths}
    return w.do("cared-for", thing=thing, step=name, **strength)


def bath(w: World, minutes: int, tenths: int | None = 40) -> object:
    begun = step(w, "immersed", tenths=tenths)
    w.pass_time(minutes=minutes - 1)
    step(w, "drained")
    return begun


def test_untreated_tissue_is_unfixed(w: World) -> None:
    assert state(w) == Hazards(unfixed=True)
    assert state(w).biohazard
    assert not state(w).formaldehyde


@pytest.mark.parametrize("thing", [BODY, COFFIN, BAG])
def test_the_body_the_coffin_and_an_empty_bag_warn_of_nothing(w: World, thing: str) -> None:
    assert state(w, thing) == Hazards()
    assert not state(w, thing).biohazard
    assert not state(w, thing).formaldehyde


def test_neither_does_a_device_nor_what_the_body_and_the_coffin_hold(w: World) -> None:
    world = World()
    world.arrive(device(), part(within="#1"))
    world.lay_in(f"{CASE}.3")
    for thing in (BODY, COFFIN, f"{CASE}.3"):
        assert state(world, thing) == Hazards()


def test_a_bag_warns_of_what_is_in_it(w: World) -> None:
    w.do("put-in", things=[HAND], into=BAG)
    assert state(w, BAG) == Hazards(unfixed=True)
    w.do("put-in", things=[BAG], into=TUB)
    assert state(w, TUB) == Hazards(unfixed=True)


def test_under_treatment_both_are_due(w: World) -> None:
    begun = step(w, "immersed", tenths=40)
    assert state(w) == Hazards(
        unfixed=True, formaldehyde_tenths=40, treating=True, since=begun.moment
    )
    assert state(w).biohazard
    assert state(w).formaldehyde


def test_after_the_policys_minimum_it_is_fixed(w: World) -> None:
    begun = bath(w, 240)
    assert state(w) == Hazards(unfixed=False, formaldehyde_tenths=40, since=begun.moment)
    assert not state(w).biohazard
    assert state(w).formaldehyde


def test_a_minute_less_and_it_is_not(w: World) -> None:
    bath(w, 239)
    assert state(w).unfixed
    assert not state(w).treating


def test_two_short_baths_are_no_long_one(w: World) -> None:
    bath(w, 200)
    bath(w, 200)
    assert state(w).unfixed


def test_fresh_solution_is_the_same_bath(w: World) -> None:
    step(w, "immersed", tenths=40)
    w.pass_time(minutes=100)
    bath(w, 139)
    assert not state(w).unfixed


def test_draining_what_was_never_immersed_says_nothing(w: World) -> None:
    w.do("cared-for", thing=HAND, step="drained", found=True)
    assert state(w) == Hazards(unfixed=True)


def test_the_strongest_solution_counts_and_an_unstated_one_hides_all(w: World) -> None:
    bath(w, 10, 40)
    bath(w, 10, 20)
    assert state(w).formaldehyde_tenths == 40
    last = step(w, "injected")
    assert state(w).formaldehyde_tenths is None
    assert state(w).since == last.moment
    assert not state(w).formaldehyde
    step(w, "immersed", tenths=40)
    assert state(w).formaldehyde


def test_a_stated_strength_of_none_is_believed(w: World) -> None:
    bath(w, 240, 0)
    assert state(w).formaldehyde_tenths == 0
    assert not state(w).formaldehyde


def test_a_powder_with_formaldehyde_counts_and_a_rinse_does_not(w: World) -> None:
    step(w, "rinsed")
    assert state(w).since is None
    powdered = step(w, "powdered", tenths=10)
    assert state(w) == Hazards(unfixed=True, formaldehyde_tenths=10, since=powdered.moment)
    assert not state(w).treating


def test_what_is_done_on_a_tub_is_done_on_what_is_in_it(w: World) -> None:
    w.do("put-in", things=[HAND], into=TUB)
    begun = step(w, "immersed", TUB, tenths=40)
    w.do("taken-out", things=[HAND], place="table")
    assert state(w).since == begun.moment
    assert state(w).treating
    assert state(w, TUB) == Hazards()


def test_a_piece_keeps_what_was_done_on_the_whole_before_it_came(w: World) -> None:
    begun = bath(w, 240)
    pieces = [{"what": "specimen", "description": "block", "place": "table"}]
    w.do("separated", thing=HAND, into=pieces)
    step(w, "injected", tenths=90)
    block = f"{CASE}.6"
    assert state(w, block) == Hazards(formaldehyde_tenths=40, since=begun.moment)
    assert [s.step for s in history(w.case(), w.case().things[block])] == ["immersed", "drained"]
    assert [s.step for s in history(w.case(), w.case().things[HAND])] == [
        "immersed",
        "drained",
        "injected",
    ]


def test_a_descent_that_goes_in_a_circle_ends(w: World) -> None:
    step(w, "rinsed")
    case = w.case()
    case.things[HAND].parents = (HAND,)
    assert [s.step for s in history(case, case.things[HAND])] == ["rinsed"]


def test_the_worst_of_several_is_the_packs_state() -> None:
    w = World()
    w.arrive(part(), viscera(), bag())
    bath(w, 240, 20)
    w.do("put-in", things=[HAND, BAG], into=TUB)
    assert state(w, TUB).unfixed
    assert state(w, TUB).formaldehyde_tenths == 20
    immersed = step(w, "immersed", BAG, tenths=40)
    assert state(w, TUB).treating
    assert state(w, TUB).since == immersed.moment
    assert state(w, TUB).formaldehyde_tenths == 40
    step(w, "injected", BAG)
    assert state(w, TUB).formaldehyde_tenths is None


def test_a_label_is_borne_by_the_thing_and_its_packs_up_to_the_body(w: World) -> None:
    def named() -> list[str]:
        case = w.case()
        return [t.id for t in case.bearers(case.things[HAND])]

    assert named() == [HAND]
    w.do("put-in", things=[HAND], into=BAG)
    w.do("put-in", things=[BAG], into=TUB)
    assert named() == [HAND, BAG, TUB]
    w.do("put-in", things=[TUB], into=BODY)
    assert named() == [HAND, BAG, TUB]
    w.do("taken-out", things=[TUB], into=COFFIN)
    assert named() == [HAND, BAG, TUB]


def test_a_tenth_of_a_percent_is_warned_of() -> None:
    assert Hazards(formaldehyde_tenths=1).formaldehyde
    assert not Hazards(formaldehyde_tenths=0).formaldehyde


def test_a_piece_whose_whole_is_in_another_case_is_told_of_by_itself(w: World) -> None:
    w.do("case-opened", case=OTHER, unidentified=True, disposition="undecided")
    w.do("received", case=OTHER, giver="coroner", place="store", items=[part()])
    pieces = [{"what": "part", "description": "finger", "place": "store"}]
    w.do("separated", case=OTHER, thing=f"{OTHER}.1", into=pieces)
    given = {"to_case": CASE, "authority": "a comparison"}
    w.do("associated", case=OTHER, things=[f"{OTHER}.2"], **given)
    assert state(w, f"{OTHER}.2").unfixed
