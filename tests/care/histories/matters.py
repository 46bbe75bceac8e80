from __future__ import annotations

from typing import TYPE_CHECKING

from tests.care.history import CASE, World, bearing

from . import bag, device, effect, part, raises, spares

if TYPE_CHECKING:
    from continuity.care.case import Event

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))


@raises("irregularity-open")
def a_stain_nobody_explained(w: World) -> None:
    w.arrive()
    w.do("irregularity-raised", things=[BODY], what="a stain on the shroud")
    w.ready()


@spares("irregularity-open")
def a_stain_explained(w: World) -> None:
    w.arrive()
    raised = w.do("irregularity-raised", things=[BODY], what="a stain on the shroud")
    w.do("irregularity-resolved", irregularity=raised.number, resolution="coffee")
    w.ready()


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
    came = {"kind": "received", "giver": "coroner", "place": "store", "items": [bearing(item)]}
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


@spares("thing-struck")
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


@raises("hazard-label-missing", "left-elsewhere")
def a_hand_without_a_label(w: World) -> None:
    w.arrive(part())
    w.ready()


@raises("hazard-label-missing", "left-elsewhere")
def a_hand_with_a_label_without_a_panel(w: World) -> None:
    w.arrive(part())
    w.label(THIRD)
    w.ready()


@raises("hazard-label-missing", "left-elsewhere")
def a_hand_whose_label_was_voided(w: World) -> None:
    w.arrive(part())
    printed = w.label(THIRD, "biohazard")
    w.do("label-voided", thing=THIRD, code=printed.act.code, reason="torn")
    w.ready()


@spares("hazard-label-missing", "left-elsewhere")
def a_hand_in_a_labelled_bag(w: World) -> None:
    w.arrive(part(), bag())
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.label(FOURTH, "biohazard")
    w.do("sealed", thing=FOURTH)
    w.ready()


@spares("hazard-label-missing", "not-sealed")
def in_the_coffin_an_unfixed_hand_needs_no_panel(w: World) -> None:
    w.arrive(part(), bag())
    w.do("put-in", things=[THIRD], into=FOURTH, scanned=True)
    w.ready(FOURTH)


@spares("hazard-label-missing", "not-in-a-coffin")
def in_the_body_an_unfixed_hand_needs_no_panel(w: World) -> None:
    w.arrive(part(within="#1"))
    w.identify("closing")


def treat(w: World) -> None:
    w.do("cared-for", thing=THIRD, step="immersed", formaldehyde_tenths=40)
    w.pass_time(minutes=240)
    w.do("cared-for", thing=THIRD, step="drained")


@raises("hazard-label-missing")
def a_treated_hand_in_the_coffin_needs_its_panel(w: World) -> None:
    w.arrive(part())
    w.label(THIRD, "biohazard")
    treat(w)
    w.ready(THIRD)


@raises("hazard-label-missing", "left-elsewhere", "still-under-treatment")
def under_treatment_both_panels_are_due(w: World) -> None:
    w.arrive(part())
    w.label(THIRD)
    w.do("cared-for", thing=THIRD, step="immersed", formaldehyde_tenths=40)
    w.ready()


@raises("hazard-label-missing", "left-elsewhere", "still-under-treatment")
def a_solution_of_unknown_strength_counts(w: World) -> None:
    w.arrive(part())
    w.label(THIRD, "biohazard")
    w.do("cared-for", thing=THIRD, step="immersed")
    w.ready()


@spares("hazard-label-missing")
def a_bath_without_formaldehyde_needs_no_panel(w: World) -> None:
    w.arrive(part())
    w.do("cared-for", thing=THIRD, step="immersed", formaldehyde_tenths=0)
    w.pass_time(minutes=240)
    w.do("cared-for", thing=THIRD, step="drained")
    w.ready(THIRD)


@raises("hazard-label-out-of-date")
def treated_again_after_the_label_was_printed(w: World) -> None:
    w.arrive(part())
    w.label(THIRD, "formaldehyde-1")
    treat(w)
    w.ready(THIRD)


@spares("hazard-label-out-of-date")
def labelled_anew_after_the_treatment(w: World) -> None:
    w.arrive(part())
    treat(w)
    w.label(THIRD, "formaldehyde-1")
    w.ready(THIRD)


@spares("hazard-label-out-of-date")
def the_packs_newer_label_counts(w: World) -> None:
    w.arrive(part(), bag())
    w.label(THIRD, "formaldehyde-1")
    treat(w)
    w.do("put-in", things=[THIRD], into=FOURTH, scanned=True)
    w.label(FOURTH, "formaldehyde-1")
    w.do("sealed", thing=FOURTH)
    w.ready(FOURTH)
