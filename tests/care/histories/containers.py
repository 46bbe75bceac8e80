from __future__ import annotations

from tests.care.history import CASE, World

from . import bag, device, effect, part, raises, spares, viscera

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))
NET = {"what": "container", "form": "net", "description": "net"}
TUB = {"what": "container", "form": "tub", "description": "tub"}


def pack(w: World, into: dict[str, object], *, seal: bool = True) -> None:
    """A hand is put into a pack that goes into the coffin."""
    w.arrive(part(), into)
    w.label(THIRD, "biohazard")
    w.do("put-in", things=[THIRD], into=FOURTH, scanned=True)
    if seal:
        w.do("sealed", thing=FOURTH)
    w.ready(FOURTH)


@raises("not-sealed")
def a_bag_nobody_sealed(w: World) -> None:
    pack(w, bag(), seal=False)


@raises("not-sealed", "not-powdered")
def a_net_nobody_tied(w: World) -> None:
    pack(w, NET, seal=False)


@spares("not-sealed")
def a_sealed_bag(w: World) -> None:
    pack(w, bag())


@spares("not-sealed")
def a_bag_without_tissue(w: World) -> None:
    w.arrive(bag(), device(within="#3"))
    w.do("sighted", things=[FOURTH])
    w.lay_in(THIRD)
    w.do("sighted", things=[FOURTH])
    w.sight_for_closing()


@spares("not-sealed", "not-packed")
def a_tub_is_no_pack(w: World) -> None:
    pack(w, TUB, seal=False)


@raises("not-sealed-again")
def a_bag_opened_again(w: World) -> None:
    pack(w, bag())
    w.do("opened", thing=FOURTH, reason="to look")


@spares("not-sealed-again")
def a_bag_opened_and_sealed_again(w: World) -> None:
    a_bag_opened_again(w)
    w.do("sealed", thing=FOURTH)


@raises("not-powdered")
def a_net_without_powder(w: World) -> None:
    pack(w, NET)


@raises("not-powdered")
def powdered_and_wet_again(w: World) -> None:
    pack(w, NET)
    w.do("cared-for", thing=FOURTH, step="powdered", force=True)
    w.do("cared-for", thing=FOURTH, step="rinsed", force=True)


@spares("not-powdered")
def a_powdered_net(w: World) -> None:
    pack(w, NET)
    w.do("cared-for", thing=FOURTH, step="rinsed", force=True)
    w.do("cared-for", thing=FOURTH, step="powdered", force=True)


@spares("not-powdered")
def the_hand_itself_was_powdered(w: World) -> None:
    w.arrive(part(), NET)
    w.label(THIRD, "biohazard")
    w.do("cared-for", thing=THIRD, step="powdered")
    w.do("put-in", things=[THIRD], into=FOURTH, scanned=True)
    w.do("sealed", thing=FOURTH)
    w.ready(FOURTH)


@spares("not-powdered")
def a_bag_needs_no_powder(w: World) -> None:
    pack(w, bag())


@raises("seal-broken", "contents-not-recorded")
def the_seal_was_seen_broken(w: World) -> None:
    w.arrive(bag(found_seal="S1"))
    w.do("inspected", thing=THIRD, seal="broken")
    w.ready()


@raises("seal-broken", "contents-not-recorded")
def the_seal_was_gone(w: World) -> None:
    w.arrive(bag(found_seal="S1"))
    w.do("inspected", thing=THIRD, seal="absent")
    w.ready()


@raises("seal-broken")
def it_came_with_a_broken_seal(w: World) -> None:
    w.arrive(bag(empty=True))
    w.do("inspected", thing=THIRD, seal="broken")
    w.ready()


@spares("seal-broken", "contents-not-recorded")
def opened_and_looked_into_since(w: World) -> None:
    the_seal_was_seen_broken(w)
    w.do("opened", thing=THIRD, reason="the seal was broken")


@spares("seal-broken")
def it_came_without_a_seal(w: World) -> None:
    w.arrive(bag(empty=True))
    w.do("inspected", thing=THIRD, seal="absent")
    w.ready()


@spares("seal-broken", "contents-not-recorded", "seen-otherwise")
def the_latest_look_counts(w: World) -> None:
    w.arrive(bag(found_seal="S1"))
    w.do("inspected", thing=THIRD, seal="broken")
    w.do("inspected", thing=THIRD, seal="intact")
    w.do("inspected", thing=THIRD, leak=False)
    w.ready()


@spares("seal-broken")
def the_bag_was_discarded(w: World) -> None:
    w.arrive(bag())
    w.do("inspected", thing=THIRD, seal="broken")
    w.do("packaging-discarded", thing=THIRD, empty=True)
    w.ready()


@raises("body-not-sutured")
def the_body_was_opened(w: World) -> None:
    w.arrive()
    w.do("opened", thing=BODY, reason="to look")
    w.ready()


@raises("body-not-sutured")
def the_suture_gapes(w: World) -> None:
    w.arrive()
    w.do("inspected", thing=BODY, suture="gaping")
    w.ready()


@raises("body-not-sutured")
def the_suture_gapes_again(w: World) -> None:
    w.arrive()
    w.do("cared-for", thing=BODY, step="sutured")
    w.do("inspected", thing=BODY, suture="gaping")
    w.ready()


@raises("body-not-sutured")
def something_was_put_into_the_cavity_and_it_was_left_open(w: World) -> None:
    w.arrive(device())
    w.do("put-in", things=[THIRD], into=BODY, scanned=True)
    w.ready()


@spares("body-not-sutured")
def something_was_put_on(w: World) -> None:
    w.arrive(effect(intention="worn"))
    w.do("put-in", things=[THIRD], into=BODY, scanned=True)
    w.ready()


@spares("body-not-sutured")
def the_body_was_sutured(w: World) -> None:
    w.arrive()
    w.do("opened", thing=BODY, reason="to look")
    w.do("inspected", thing=BODY, suture="absent")
    w.do("cared-for", thing=BODY, step="sutured")
    w.ready()


@raises("leak-not-tended")
def the_body_leaks(w: World) -> None:
    w.arrive()
    w.do("inspected", thing=BODY, leak=True)
    w.ready()


@raises("leak-not-tended")
def the_bag_leaks(w: World) -> None:
    pack(w, bag())
    w.do("inspected", thing=FOURTH, leak=True)


@spares("leak-not-tended", "seen-otherwise")
def seen_again_without_a_leak(w: World) -> None:
    the_body_leaks(w)
    w.do("inspected", thing=BODY, leak=False)


@spares("leak-not-tended")
def the_body_was_washed_since(w: World) -> None:
    w.arrive()
    w.do("inspected", thing=BODY, leak=True)
    w.do("cared-for", thing=BODY, step="washed")
    w.ready()


@raises("leak-not-tended")
def the_body_was_washed_before(w: World) -> None:
    w.arrive()
    w.do("cared-for", thing=BODY, step="washed")
    w.do("inspected", thing=BODY, leak=True)
    w.ready()


@spares("leak-not-tended")
def what_is_in_the_bag_was_dried(w: World) -> None:
    the_bag_leaks(w)
    w.do("cared-for", thing=THIRD, step="dried", force=True)


@spares("leak-not-tended", "not-seen-empty")
def the_leaking_bag_was_emptied(w: World) -> None:
    w.arrive(part(), bag(), bag())
    w.label(THIRD, "biohazard")
    w.do("put-in", things=[THIRD], into=FOURTH, scanned=True)
    w.do("inspected", thing=FOURTH, leak=True)
    w.do("taken-out", things=[THIRD], into=f"{CASE}.5", scanned=True)
    w.do("sealed", thing=f"{CASE}.5")
    w.ready(f"{CASE}.5")


@raises("not-seen-empty")
def nobody_looked_into_the_old_bag(w: World) -> None:
    the_leaking_bag_was_emptied(w)


@spares("not-seen-empty")
def the_old_bag_was_seen_empty(w: World) -> None:
    the_leaking_bag_was_emptied(w)
    w.do("inspected", thing=FOURTH, empty=True)


@spares("not-seen-empty")
def the_old_bag_was_discarded_empty(w: World) -> None:
    the_leaking_bag_was_emptied(w)
    w.do("packaging-discarded", thing=FOURTH, empty=True)


@raises("odour-not-tended")
def the_body_smells(w: World) -> None:
    w.arrive()
    w.do("inspected", thing=BODY, odour=True)
    w.ready()


@spares("odour-not-tended", "leak-not-tended")
def it_leaks_and_does_not_smell(w: World) -> None:
    w.arrive()
    w.do("inspected", thing=BODY, odour=False, leak=True)
    w.ready()


@raises("closed-without-check", "irregularity-open")
def closed_and_nobody_checked(w: World) -> None:
    w.arrive()
    w.ready()
    w.do("coffin-closed", thing=COFFIN, found=True)


@raises("closed-without-check", "irregularity-open")
def reopened_and_closed_with_no_new_check(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.do("coffin-reopened", thing=COFFIN, reason="a forgotten letter")
    w.do("coffin-closed", thing=COFFIN, found=True)


@raises("closed-without-check", "irregularity-open", "left-elsewhere")
def something_was_taken_out_between_check_and_closing(w: World) -> None:
    w.arrive(device())
    w.ready(THIRD)
    w.do("closing-check-signed", coffin=COFFIN)
    w.do("taken-out", things=[THIRD], place="table")
    w.do("coffin-closed", thing=COFFIN, found=True)


@raises("closed-without-check")
def the_check_was_of_another_coffin(w: World) -> None:
    w.arrive(bag(form="coffin"))
    w.ready()
    w.do("closing-check-signed", coffin=THIRD)
    w.do("coffin-closed", thing=COFFIN, force=True)


@spares("closed-without-check")
def checked_and_closed(w: World) -> None:
    w.arrive(device())
    w.ready(THIRD)
    w.do("closing-check-signed")
    w.do("coffin-closed", thing=COFFIN)


@spares("closed-without-check")
def checked_anew_and_closed_again(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.do("coffin-reopened", thing=COFFIN, reason="a forgotten letter")
    w.close()


@raises("left-in-open-coffin")
def handed_over_in_an_open_coffin(w: World) -> None:
    w.arrive()
    w.ready()
    w.do("handed-over", things=[COFFIN], taker="crematory", authority="an order", accepted=True)


@raises("left-in-open-coffin", "irregularity-open")
def buried_in_an_open_coffin(w: World) -> None:
    w.arrive()
    w.ready()
    w.buried(found=True)


@spares("left-in-open-coffin")
def handed_over_in_a_closed_coffin(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.do("handed-over", things=[COFFIN], taker="crematory", authority="an order", accepted=True)


@raises("changed-after-closing", "irregularity-open")
def something_went_into_the_closed_coffin(w: World) -> None:
    w.arrive(device())
    w.ready()
    w.close(over=["left-elsewhere"], reason="it comes later")
    w.do("put-in", things=[THIRD], into=COFFIN, scanned=True, found=True)


@spares("changed-after-closing")
def something_went_in_before(w: World) -> None:
    w.arrive(device())
    w.ready(THIRD)
    w.close()


@raises("changed-after-closing", "closed-without-check")
def a_ring_went_into_a_bag_in_the_closed_coffin(w: World) -> None:
    w.arrive(bag(form="pouch"), effect(within="#3", intention="worn"), effect(intention="worn"))
    w.do("taken-out", things=[f"{CASE}.5"], into=THIRD, force=True)
    w.do("taken-out", things=[f"{CASE}.5"], place="table")
    w.ready(THIRD)
    w.do("sighted", things=[f"{CASE}.4"])
    w.do("coffin-closed", thing=COFFIN, force=True)
    w.do("put-in", things=[f"{CASE}.5"], into=THIRD, scanned=True, force=True)


@raises("leak-not-tended")
def it_leaked_and_was_dressed(w: World) -> None:
    w.arrive()
    w.do("inspected", thing=BODY, leak=True)
    w.do("cared-for", thing=BODY, step="dressed")
    w.ready()


@spares("leak-not-tended")
def it_leaked_and_was_washed(w: World) -> None:
    w.arrive()
    w.do("inspected", thing=BODY, leak=True)
    w.do("cared-for", thing=BODY, step="washed")
    w.ready()


@raises("not-packed")
def viscera_loose_in_the_coffin(w: World) -> None:
    w.arrive(viscera())
    w.ready(THIRD)


@spares("not-packed")
def viscera_in_the_cavity(w: World) -> None:
    w.arrive(viscera())
    w.do("put-in", things=[THIRD], into=BODY, scanned=True)
    w.do("cared-for", thing=BODY, step="sutured")
    w.ready()


@spares("not-packed")
def a_hand_beside_the_body(w: World) -> None:
    w.arrive(part())
    w.ready(THIRD)


@raises("not-sealed-again", "irregularity-open")
def a_hand_went_into_a_sealed_bag(w: World) -> None:
    w.arrive(part(), bag())
    w.label(FOURTH, "biohazard")
    w.do("sealed", thing=FOURTH, seal="S1")
    w.do("put-in", things=[THIRD], into=FOURTH, scanned=True, found=True)
    w.ready(FOURTH)


@spares("not-sealed-again", "irregularity-open")
def a_hand_went_into_a_sealed_bag_that_was_sealed_anew(w: World) -> None:
    w.arrive(part(), bag())
    w.label(FOURTH, "biohazard")
    w.do("sealed", thing=FOURTH, seal="S1")
    w.do("put-in", things=[THIRD], into=FOURTH, scanned=True, found=True)
    w.do("sealed", thing=FOURTH, seal="S2", force=True)
    w.ready(FOURTH)


def closed_after(w: World, **span: int) -> None:
    w.arrive()
    w.ready()
    w.do("closing-check-signed", coffin=COFFIN)
    w.pass_time(**span)
    w.do("coffin-closed", thing=COFFIN)


@raises("closed-without-check")
def closed_a_minute_too_long_after_its_check(w: World) -> None:
    closed_after(w, minutes=240)


@spares("closed-without-check")
def closed_just_in_time_after_its_check(w: World) -> None:
    closed_after(w, minutes=239)


@raises("body-not-sutured")
def viscera_were_joined_to_an_open_body(w: World) -> None:
    w.arrive(viscera(within="#1"))
    w.do("taken-out", things=[THIRD], place="table")
    w.do("cared-for", thing=BODY, step="sutured")
    w.do("joined", things=[THIRD], to=BODY, force=True)
    w.ready()


@spares("body-not-sutured")
def viscera_were_joined_to_an_open_body_and_it_was_sutured(w: World) -> None:
    viscera_were_joined_to_an_open_body(w)
    w.do("cared-for", thing=BODY, step="sutured")


@raises("leak-not-tended")
def it_leaked_and_a_device_was_removed(w: World) -> None:
    w.arrive(device(within="#1"))
    w.do("inspected", thing=BODY, leak=True)
    w.do("cared-for", thing=BODY, step="device-removed", removed=THIRD, place="table")
    w.ready(THIRD)


def powdered_and_then(w: World, *steps: str) -> None:
    """A hand was powdered, and more was done to it before it went into a net."""
    w.arrive(part(), NET)
    for name in ("powdered", *steps):
        w.do("cared-for", thing=THIRD, step=name, formaldehyde_tenths=40)
        w.pass_time(minutes=240)
    w.label(THIRD, "biohazard", "formaldehyde-1")
    w.do("put-in", things=[THIRD], into=FOURTH, scanned=True)
    w.do("sealed", thing=FOURTH)
    w.ready(FOURTH)


@raises("not-powdered")
def powdered_and_then_immersed(w: World) -> None:
    powdered_and_then(w, "immersed", "drained")


@raises("not-powdered")
def powdered_and_then_injected(w: World) -> None:
    powdered_and_then(w, "injected")


@spares("not-powdered")
def powdered_and_then_dried(w: World) -> None:
    powdered_and_then(w, "dried")


@spares("not-powdered")
def the_net_was_powdered_before_the_hand_went_in(w: World) -> None:
    w.arrive(part(), NET)
    w.label(THIRD, "biohazard")
    w.do("cared-for", thing=THIRD, step="rinsed")
    w.do("cared-for", thing=FOURTH, step="powdered")
    w.do("put-in", things=[THIRD], into=FOURTH, scanned=True)
    w.do("sealed", thing=FOURTH)
    w.ready(FOURTH)


@raises("not-sealed-again", "irregularity-open", "never-sighted")
def a_ring_came_out_of_a_sealed_bag_with_a_hand_in_it(w: World) -> None:
    w.arrive(part(within="#4"), bag(found_seal="S1"), effect(within="#4", intention="worn"))
    w.label(FOURTH, "biohazard")
    w.do("inspected", thing=FOURTH, leak=False)
    w.do("taken-out", things=[f"{CASE}.5"], place="table", found=True)
    w.ready(FOURTH, f"{CASE}.5")
