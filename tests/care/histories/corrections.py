from __future__ import annotations

from typing import TYPE_CHECKING

from tests.care.history import CASE, World, bearing

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
