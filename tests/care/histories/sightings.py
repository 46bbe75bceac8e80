from __future__ import annotations

from tests.care.history import CASE, World

from . import bag, device, effect, part, raises, spares

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))


def put_in(w: World, thing: str, into: str, *, scanned: bool) -> None:
    w.do("put-in", things=[thing], into=into, scanned=scanned)


@raises("never-sighted")
def a_ring_that_nobody_saw(w: World) -> None:
    w.arrive(effect(intention="goes-along"))
    w.lay_in()
    put_in(w, THIRD, COFFIN, scanned=False)
    w.sight_for_closing()


@spares("never-sighted")
def the_ring_was_scanned(w: World) -> None:
    a_ring_that_nobody_saw(w)
    w.do("sighted", things=[THIRD], for_closing=True)


@spares("never-sighted")
def an_implant_in_the_body_bears_no_label(w: World) -> None:
    w.arrive(device(within="#1"))
    w.ready()


@raises("never-sighted")
def a_plate_beside_the_body_bears_one(w: World) -> None:
    w.arrive(device())
    w.lay_in()
    put_in(w, THIRD, COFFIN, scanned=False)
    w.sight_for_closing()


@spares("never-sighted")
def an_empty_bag_in_the_coffin_needs_no_scan(w: World) -> None:
    w.arrive(bag(empty=True))
    w.lay_in()
    put_in(w, THIRD, COFFIN, scanned=False)
    w.sight_for_closing()


@raises("never-sighted")
def the_coffin_itself_was_never_scanned(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("closing")


@raises("not-sighted")
def the_ring_was_scanned_before_it_was_put_in(w: World) -> None:
    w.arrive(effect(intention="goes-along"))
    w.do("sighted", things=[THIRD])
    w.lay_in()
    put_in(w, THIRD, COFFIN, scanned=False)
    w.sight_for_closing()


@raises("not-sighted")
def the_ring_was_seen_and_not_scanned(w: World) -> None:
    w.arrive(effect(intention="goes-along"))
    w.lay_in()
    put_in(w, THIRD, COFFIN, scanned=False)
    w.do("sighted", things=[THIRD], scanned=False, for_closing=True)
    w.sight_for_closing()


@raises("not-sighted")
def the_ring_was_scanned_a_minute_too_early(w: World) -> None:
    w.arrive(effect(intention="goes-along"))
    w.lay_in(THIRD)
    w.pass_time(minutes=238)
    w.sight_for_closing()


@spares("not-sighted")
def the_ring_was_scanned_just_in_time(w: World) -> None:
    w.arrive(effect(intention="goes-along"))
    w.lay_in(THIRD)
    w.pass_time(minutes=237)
    w.sight_for_closing()


def in_a_bag(w: World, *, scanned: bool = True) -> None:
    """A ring is put into a bag, long before the closing."""
    w.arrive(effect(intention="goes-along"), bag())
    put_in(w, THIRD, FOURTH, scanned=scanned)


def the_day_after(w: World) -> None:
    w.pass_time(days=1)
    w.lay_in(FOURTH)
    w.sight_for_closing()


@spares("not-sighted")
def the_sealed_bag_stands_for_what_is_in_it(w: World) -> None:
    in_a_bag(w)
    w.do("sealed", thing=FOURTH, seal="S1")
    the_day_after(w)


@raises("not-sighted")
def an_open_bag_stands_for_nothing(w: World) -> None:
    in_a_bag(w)
    the_day_after(w)


@raises("not-sighted")
def a_bag_opened_since_stands_for_nothing(w: World) -> None:
    in_a_bag(w)
    w.do("sealed", thing=FOURTH, seal="S1")
    w.do("opened", thing=FOURTH, reason="to look")
    w.do("sealed", thing=FOURTH, seal="S2")
    the_day_after(w)


@raises("never-sighted")
def what_was_never_scanned_is_not_carried(w: World) -> None:
    in_a_bag(w, scanned=False)
    w.do("sealed", thing=FOURTH, seal="S1")
    the_day_after(w)


@raises("not-sighted")
def what_was_scanned_before_it_went_in_is_not_carried(w: World) -> None:
    w.arrive(effect(intention="goes-along"), bag())
    w.do("sighted", things=[THIRD])
    put_in(w, THIRD, FOURTH, scanned=False)
    w.do("sealed", thing=FOURTH, seal="S1")
    the_day_after(w)


@raises("not-sighted", "not-sighted")
def a_sealed_bag_not_scanned_itself_stands_for_nothing(w: World) -> None:
    in_a_bag(w)
    w.do("sighted", things=[FOURTH])
    w.do("sealed", thing=FOURTH, seal="S1")
    w.pass_time(days=1)
    w.lay_in()
    put_in(w, FOURTH, COFFIN, scanned=False)
    w.sight_for_closing()


@spares("not-sighted")
def from_the_pack_to_the_tag_of_the_sutured_body(w: World) -> None:
    w.arrive(part(), bag())
    w.label(THIRD, "biohazard")
    put_in(w, THIRD, FOURTH, scanned=True)
    w.do("sealed", thing=FOURTH, seal="S1")
    w.do("opened", thing=BODY, reason="to return it")
    put_in(w, FOURTH, BODY, scanned=True)
    w.do("cared-for", thing=BODY, step="sutured")
    w.pass_time(days=1)
    w.ready()


@raises("not-sighted", "not-sighted", "body-not-sutured")
def the_open_body_stands_for_nothing(w: World) -> None:
    w.arrive(part(), bag())
    w.label(THIRD, "biohazard")
    put_in(w, THIRD, FOURTH, scanned=True)
    w.do("sealed", thing=FOURTH, seal="S1")
    w.do("opened", thing=BODY, reason="to return it")
    put_in(w, FOURTH, BODY, scanned=True)
    w.pass_time(days=1)
    w.ready()


@raises("not-sighted")
def the_body_was_scanned_before_it_was_sutured_alone(w: World) -> None:
    w.arrive(part())
    w.label(THIRD, "biohazard")
    w.lay_in()
    w.do("opened", thing=BODY, reason="to return it")
    put_in(w, THIRD, BODY, scanned=True)
    w.pass_time(minutes=239)
    w.sight_for_closing()
    w.do("cared-for", thing=BODY, step="sutured")


@spares("not-sighted")
def a_closed_coffin_may_be_carried_about(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.do("moved", things=[COFFIN], place="annex")


@spares("not-sighted")
def once_closed_the_hour_of_the_check_counts(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.pass_time(days=3)


@spares("not-sighted")
def once_buried_the_case_is_looked_at_as_it_lay(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.buried()
    w.pass_time(days=3)


@raises("not-sighted")
def the_ring_was_recorded_as_scanned_and_bears_no_label(w: World) -> None:
    w.arrive(effect(intention="goes-along", found_label=None))
    w.lay_in(THIRD)
    w.sight_for_closing()
    w.do("sighted", things=[THIRD], for_closing=True)


@spares("not-sighted")
def the_ring_was_scanned_once_its_label_was_printed(w: World) -> None:
    w.arrive(effect(intention="goes-along", found_label=None))
    w.label(THIRD)
    w.lay_in(THIRD)
    w.sight_for_closing()


@raises("not-sighted")
def the_only_label_of_the_ring_was_void(w: World) -> None:
    w.arrive(effect(intention="goes-along", found_label=None))
    label = w.label(THIRD)
    w.do("label-voided", thing=THIRD, code=label.act.code, reason="torn")
    w.lay_in(THIRD)
    w.sight_for_closing()


@spares("not-sighted")
def the_label_of_its_pouch_is_scanned_for_the_ring(w: World) -> None:
    w.arrive(effect(intention="goes-along", found_label=None), bag(form="pouch"))
    put_in(w, THIRD, FOURTH, scanned=True)
    w.do("sealed", thing=FOURTH, seal="S1")
    w.lay_in(FOURTH)
    w.sight_for_closing()


@raises("not-sighted", "not-sighted")
def the_label_of_a_coffin_is_scanned_for_nothing_that_lies_loose_in_it(w: World) -> None:
    w.arrive(effect(intention="goes-along", found_label=None), effect(intention="worn"))
    w.lay_in(THIRD)
    put_in(w, FOURTH, COFFIN, scanned=False)
    w.do("sighted", things=[FOURTH], scanned=False)
    w.sight_for_closing()


@raises("never-sighted", "never-looked-into")
def on_the_senders_word_in_an_open_coffin(w: World) -> None:
    w.arrive(part(within="#2", inferred=True))
    w.ready()


@spares("never-sighted", "never-looked-into")
def on_the_senders_word_in_the_body_as_it_came(w: World) -> None:
    w.arrive(part(within="#1", inferred=True))
    w.ready()


@spares("never-sighted", "never-looked-into")
def on_the_senders_word_in_a_sealed_bag(w: World) -> None:
    w.arrive(bag(found_seal="S1"), effect(within="#3", inferred=True, intention="worn"))
    w.ready(THIRD)


@raises("never-sighted", "never-looked-into")
def on_the_senders_word_in_an_open_bag(w: World) -> None:
    w.arrive(bag(), effect(within="#3", inferred=True, intention="worn"))
    w.ready(THIRD)


@raises("not-sighted")
def a_hand_was_sewn_on_after_the_tag_was_read(w: World) -> None:
    w.arrive(part())
    w.ready()
    w.do("joined", things=[f"{CASE}.3"], to=f"{CASE}.1")


@spares("not-sighted")
def the_tag_was_read_after_the_hand_was_sewn_on(w: World) -> None:
    a_hand_was_sewn_on_after_the_tag_was_read(w)
    w.identify("closing")


@raises("not-sighted")
def the_ring_was_recorded_as_scanned_and_then_seen_by_eye(w: World) -> None:
    the_ring_was_recorded_as_scanned_and_bears_no_label(w)
    w.do("sighted", things=[THIRD], scanned=False, for_closing=True)


@raises("not-sighted")
def the_ring_was_scanned_before_and_seen_by_eye_since(w: World) -> None:
    the_ring_was_scanned_before_it_was_put_in(w)
    w.do("sighted", things=[THIRD], scanned=False, for_closing=True)


@raises("never-sighted", "closed-without-check", "irregularity-open")
def the_coffin_was_closed_over_a_ring_that_nobody_saw(w: World) -> None:
    a_ring_that_nobody_saw(w)
    w.do("coffin-closed", thing=COFFIN, found=True)


@raises("never-sighted", "not-sealed")
def nobody_saw_the_hand_in_its_labelled_bag(w: World) -> None:
    w.arrive(part(found_label=None), bag(found_label=None))
    w.label(FOURTH, "biohazard")
    put_in(w, THIRD, FOURTH, scanned=False)
    w.lay_in(FOURTH)
    w.sight_for_closing()


@raises("not-sighted", "closed-without-check", "irregularity-open")
def the_coffin_was_closed_too_long_after_the_ring_was_scanned(w: World) -> None:
    w.arrive(effect(intention="goes-along"))
    w.lay_in(THIRD)
    w.pass_time(minutes=240)
    w.sight_for_closing()
    w.do("coffin-closed", thing=COFFIN, found=True)
