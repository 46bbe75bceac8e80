from __future__ import annotations

from typing import TYPE_CHECKING

from tests.care.history import CASE, OTHER, World, bearing

from . import bag, device, effect, part, raises, spares

if TYPE_CHECKING:
    from continuity.care.records import Event

BODY, COFFIN, THIRD = (f"{CASE}.{n}" for n in range(1, 4))


@raises("closing-sighting-corrected", "not-sighted")
def the_scan_of_the_coffin_was_struck(w: World) -> None:
    w.arrive()
    w.do("sighted", things=[COFFIN])
    w.lay_in()
    w.pass_time(minutes=240)
    w.identify("closing")
    wrong = w.do("sighted", things=[COFFIN], for_closing=True)
    w.correct(wrong)


@raises("closing-sighting-corrected")
def the_identification_was_struck_and_an_earlier_one_stands(w: World) -> None:
    w.arrive()
    w.ready()
    wrong = w.identify("closing")
    w.correct(wrong)


@spares("closing-sighting-corrected")
def scanned_again_after_the_correction(w: World) -> None:
    the_scan_of_the_coffin_was_struck(w)
    w.do("sighted", things=[COFFIN], for_closing=True)


@spares("closing-sighting-corrected")
def a_scan_of_another_day_was_struck(w: World) -> None:
    w.arrive()
    wrong = w.do("sighted", things=[COFFIN])
    w.ready()
    w.correct(wrong)


def a_ring_that_came(w: World) -> Event:
    """Recorded as a thing of its own, and nowhere in the coffin."""
    w.arrive()
    ring = effect(intention="worn")
    return w.do("received", giver="coroner", place="store", items=[ring])


def read_as(w: World, wrong: Event, **item: object) -> None:
    came = {"kind": "received", "giver": "coroner", "giver_signed": True, "place": "store"}
    came["items"] = [bearing(item)]
    w.correct(wrong, instead=came)


@raises("thing-struck")
def its_receipt_was_struck(w: World) -> None:
    wrong = a_ring_that_came(w)
    w.ready()
    w.correct(wrong)


@raises("thing-struck", "contents-not-recorded")
def a_hand_is_read_as_an_empty_bag(w: World) -> None:
    w.arrive()
    wrong = w.do("received", giver="coroner", place="store", items=[part()])
    w.ready()
    read_as(w, wrong, thing=THIRD, **bag())


@raises("thing-struck")
def the_separating_of_a_piece_was_struck(w: World) -> None:
    w.arrive(device())
    piece = {"what": "device", "description": "screw", "place": "table"}
    wrong = w.do("separated", thing=THIRD, into=[piece])
    w.ready(THIRD)
    w.correct(wrong)


@raises("thing-struck")
def settled_before_it_was_struck(w: World) -> None:
    wrong = a_ring_that_came(w)
    settle(w, "thing-struck")
    w.ready()
    w.correct(wrong)


def settle(w: World, code: str) -> None:
    raised = w.do("irregularity-raised", what="recorded twice", about=[code])
    w.do("irregularity-resolved", irregularity=raised.number, resolution="looked for: none")


@spares("thing-struck")
def a_director_settled_that_it_was_recorded_twice(w: World) -> None:
    its_receipt_was_struck(w)
    settle(w, "thing-struck")


@spares("thing-struck")
def another_description_of_the_same_ring(w: World) -> None:
    wrong = a_ring_that_came(w)
    read_as(w, wrong, thing=THIRD, what="effect", description="ring, two stones", intention="worn")
    w.ready(THIRD)


@raises("cause-struck")
def a_bag_and_what_never_came_may_be_struck(w: World) -> None:
    w.arrive()
    never = part(receipt="missing")
    wrong = w.do("received", giver="coroner", place="store", items=[bag(), never])
    w.ready()
    w.correct(wrong)


@raises("matter-struck")
def a_stain_was_struck_and_not_explained(w: World) -> None:
    w.arrive()
    raised = w.do("irregularity-raised", things=[BODY], what="a stain on the shroud")
    w.ready()
    w.correct(raised)


@spares("matter-struck")
def a_director_settled_what_was_struck(w: World) -> None:
    a_stain_was_struck_and_not_explained(w)
    settle(w, "matter-struck")


@spares("matter-struck", "irregularity-open")
def the_stain_is_told_better(w: World) -> None:
    w.arrive()
    raised = w.do("irregularity-raised", things=[BODY], what="a stain on the shroud")
    w.ready()
    w.correct(raised, instead={"kind": "irregularity-raised", "what": "a stain on the sleeve"})


def a_leak(w: World, leak: bool = True) -> Event:
    w.arrive()
    seen = w.do("inspected", thing=BODY, leak=leak)
    w.ready()
    return seen


@raises("cause-struck")
def a_leak_was_struck(w: World) -> None:
    w.correct(a_leak(w))


@raises("cause-struck")
def a_leak_is_read_as_none(w: World) -> None:
    w.correct(a_leak(w), instead={"kind": "inspected", "thing": BODY, "leak": False})


@spares("cause-struck")
def that_nothing_leaked_was_struck(w: World) -> None:
    w.correct(a_leak(w, leak=False))


@spares("cause-struck", "leak-not-tended")
def the_leak_was_told_in_another_entry(w: World) -> None:
    first = a_leak(w)
    w.do("inspected", thing=BODY, leak=True)
    w.correct(first)


@spares("cause-struck", "leak-not-tended", "odour-not-tended")
def more_was_seen_than_was_told(w: World) -> None:
    seen = {"kind": "inspected", "thing": BODY, "leak": True, "odour": True}
    w.correct(a_leak(w), instead=seen)


@raises("cause-struck")
def a_correction_that_told_of_a_leak_was_corrected(w: World) -> None:
    seen = a_leak(w, leak=False)
    w.correct(seen, instead={"kind": "inspected", "thing": BODY, "leak": True})
    w.do("corrected", strikes=seen.leaf, reason="looked again", by=("ben", "ada"))


@raises("cause-struck")
def a_correction_that_told_of_a_leak_was_struck(w: World) -> None:
    seen = a_leak(w, leak=False)
    second = w.correct(seen, instead={"kind": "inspected", "thing": BODY, "leak": True})
    w.do("corrected", strikes=second.leaf, reason="the first was right")


@spares("cause-struck", "leak-not-tended")
def the_correction_that_took_it_back_was_struck(w: World) -> None:
    w.correct(w.correct(a_leak(w)))


@spares("cause-struck")
def a_director_settled_why_it_was_struck(w: World) -> None:
    a_leak_was_struck(w)
    settle(w, "cause-struck")


@raises("cause-struck")
def that_something_was_kept_is_read_as_nothing(w: World) -> None:
    w.arrive()
    stated = w.do("retention-stated", kept="some", according_to="the report")
    w.ready()
    none = {"kind": "retention-stated", "kept": "none", "according_to": "the report"}
    w.correct(stated, instead=none)


@spares("closing-sighting-corrected")
def the_scan_was_struck_of_what_had_been_given_away(w: World) -> None:
    w.arrive(effect(intention="release"))
    wrong = w.do("sighted", things=[THIRD], for_closing=True)
    how = {"authority": "a wish", "identity_checked": True, "signed": True}
    w.do("released", things=[THIRD], relation="daughter", **how)
    w.ready()
    w.correct(wrong)


@raises("thing-struck", "known-by-number-only")
def a_ring_that_is_named_still_and_came_no_more(w: World) -> None:
    wrong = a_ring_that_came(w)
    w.do("sighted", things=[THIRD])
    w.ready()
    w.correct(wrong)


@raises("thing-struck")
def a_hand_that_was_given_away_is_read_as_a_ring(w: World) -> None:
    w.arrive()
    wrong = w.do("received", giver="coroner", place="store", items=[part()])
    how = {"authority": "a wish", "identity_checked": True, "signed": True}
    w.do("released", things=[THIRD], relation="daughter", **how)
    w.ready()
    read_as(w, wrong, thing=THIRD, **effect())


@spares("thing-struck", "left-elsewhere", "hazard-label-missing")
def a_ring_is_read_as_a_hand(w: World) -> None:
    w.arrive()
    wrong = w.do("received", giver="coroner", place="store", items=[effect()])
    w.ready()
    read_as(w, wrong, thing=THIRD, **part())


def what_came_in_anothers_coffin_was_struck(w: World) -> None:
    w.arrive()
    w.arrive(case=OTHER)
    items = [bearing(effect(intention="worn", within=COFFIN))]
    how = {"giver": "coroner", "place": "store", "giver_signed": True, "items": items}
    wrong = w.do("received", case=OTHER, found=True, **how)
    w.ready()
    w.correct(wrong)


@raises("thing-struck", case=OTHER)
def a_ring_of_the_other_case_was_struck(w: World) -> None:
    what_came_in_anothers_coffin_was_struck(w)
    w.ready(case=OTHER)


@spares("thing-struck")
def a_thing_is_missed_in_its_own_case_alone(w: World) -> None:
    what_came_in_anothers_coffin_was_struck(w)


def a_pacemaker(w: World, **how: object) -> Event:
    """It came in a body that is to be cremated, and nothing else is amiss."""
    w.arrive(disposition="cremation")
    pacemaker = device(description="pacemaker", within=BODY, **how)
    came = w.do("received", giver="coroner", place="store", items=[pacemaker])
    w.ready()
    return came


@raises("cause-struck")
def a_battery_is_read_as_none(w: World) -> None:
    read_as(w, a_pacemaker(w, power="battery"), thing=THIRD, **device(within=BODY))


@raises("cause-struck", "power-unknown")
def a_radioactive_source_is_read_as_unknown(w: World) -> None:
    came = a_pacemaker(w, power="radioactive")
    read_as(w, came, thing=THIRD, **device(within=BODY, power="unknown"))


@spares("cause-struck", "battery-inside")
def what_nobody_knew_is_read_as_a_battery(w: World) -> None:
    came = a_pacemaker(w, power="unknown")
    read_as(w, came, thing=THIRD, **device(within=BODY, power="battery"))


@raises("thing-struck", "implants-not-stated")
def a_pacemaker_that_was_struck_is_missed_once(w: World) -> None:
    w.correct(a_pacemaker(w, power="battery"))


def a_ring_in_the_coffin(w: World, wish: str) -> Event:
    w.arrive()
    came = effect(intention=wish)
    wrong = w.do("received", giver="coroner", place="store", items=[came])
    w.ready(THIRD)
    return wrong


@raises("cause-struck")
def a_ring_to_be_released_is_read_as_worn(w: World) -> None:
    wrong = a_ring_in_the_coffin(w, "release")
    read_as(w, wrong, thing=THIRD, **effect(intention="worn"))


@spares("cause-struck")
def a_ring_of_which_nobody_knew_is_read_as_worn(w: World) -> None:
    wrong = a_ring_in_the_coffin(w, "unknown")
    read_as(w, wrong, thing=THIRD, **effect(intention="worn"))


@spares("cause-struck", "thing-struck")
def a_ring_with_a_wish_that_was_struck_is_missed_once(w: World) -> None:
    its_receipt_was_struck(w)


def a_hand_in_a_bath(w: World) -> Event:
    w.arrive(part(), bag())
    step = {"thing": THIRD, "formaldehyde_tenths": 40}
    bath = w.do("cared-for", step="immersed", **step)
    w.pass_time(minutes=240)
    w.do("cared-for", thing=THIRD, step="drained")
    w.label(THIRD, "biohazard")
    w.do("put-in", things=[THIRD], into=f"{CASE}.4", scanned=True)
    w.do("sealed", thing=f"{CASE}.4")
    w.ready(f"{CASE}.4")
    return bath


@raises("cause-struck", "recorded-late")
def the_bath_is_read_as_water(w: World) -> None:
    bath = a_hand_in_a_bath(w)
    water = {"kind": "cared-for", "thing": THIRD, "step": "immersed", "formaldehyde_tenths": 0}
    w.correct(bath, instead=water)


@spares("cause-struck", "hazard-label-missing", "recorded-late")
def the_bath_is_read_as_a_weaker_one(w: World) -> None:
    bath = a_hand_in_a_bath(w)
    told = {"thing": THIRD, "step": "immersed", "formaldehyde_tenths": 20, "lot": "7"}
    w.correct(bath, instead={"kind": "cared-for", **told})


def a_count(w: World, **found: list[str]) -> Event:
    w.arrive(device())
    w.ready(THIRD)
    return w.do("place-counted", place="cold-room", **found)


@raises("cause-struck")
def a_count_that_missed_a_plate_was_struck(w: World) -> None:
    w.correct(a_count(w, seen=[BODY, COFFIN], missing=[THIRD]))


@raises("cause-struck")
def a_count_that_found_a_plate_elsewhere_was_struck(w: World) -> None:
    w.arrive(device())
    w.ready(THIRD)
    w.correct(w.do("place-counted", place="store", unexpected=[THIRD]))


@spares("cause-struck")
def a_count_that_found_all_was_struck(w: World) -> None:
    w.correct(a_count(w, seen=[BODY, COFFIN, THIRD]))


@raises("cause-struck")
def that_the_tag_did_not_agree_was_struck(w: World) -> None:
    w.arrive()
    w.lay_in()
    wrong = w.identify("other", agree=False)
    w.sight_for_closing()
    w.correct(wrong)


@raises("cause-struck")
def a_hand_over_that_nobody_signed_is_read_as_signed(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    gave = {"things": [COFFIN], "taker": "crematory", "authority": "an order"}
    wrong = w.do("handed-over", **gave)
    w.correct(wrong, instead={"kind": "handed-over", **gave, "accepted": True})


@raises("cause-struck")
def a_reopening_was_struck(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.correct(w.do("coffin-reopened", thing=COFFIN, reason="a forgotten letter"))


@raises("cause-struck", "left-elsewhere")
def a_check_over_a_finding_is_read_as_over_none(w: World) -> None:
    w.arrive(device())
    w.ready()
    over = {"over": ["left-elsewhere"], "reason": "the family knows"}
    wrong = w.do("closing-check-signed", coffin=COFFIN, **over)
    w.correct(wrong, instead={"kind": "closing-check-signed", "coffin": COFFIN})
