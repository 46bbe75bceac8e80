from __future__ import annotations

from tests.care.history import CASE, World

from . import bag, part, raises, spares

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
