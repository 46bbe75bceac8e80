from __future__ import annotations

from tests.care.history import CASE, World

from . import bag, device, effect, raises, spares

BODY, COFFIN, THIRD = (f"{CASE}.{n}" for n in range(1, 4))


def cremation(w: World, *items: dict[str, object], disposition: str = "cremation") -> None:
    w.arrive(*items, disposition=disposition)


def release(w: World) -> None:
    how = {"authority": "a wish", "identity_checked": True, "signed": True}
    w.do("released", things=[THIRD], relation="crematory", **how)


@raises("battery-inside")
def a_pacemaker_before_cremation(w: World) -> None:
    cremation(w, device(description="pacemaker", power="battery", within="#1"))
    w.ready()


@raises("battery-inside", "implants-not-stated")
def a_pacemaker_laid_into_the_coffin(w: World) -> None:
    cremation(w, device(description="pacemaker", power="battery"))
    w.ready(THIRD)


@raises("battery-inside", "not-in-a-coffin")
def a_pacemaker_in_a_body_with_no_coffin(w: World) -> None:
    cremation(w, device(description="pacemaker", power="battery", within="#1"))
    w.identify("closing")


@spares("battery-inside")
def the_pacemaker_was_removed(w: World) -> None:
    cremation(w, device(description="pacemaker", power="battery", within="#1"))
    w.do("cared-for", thing=BODY, step="device-removed", removed=THIRD, place="table")
    release(w)
    w.ready()


@spares("battery-inside")
def a_pacemaker_before_burial(w: World) -> None:
    cremation(w, device(power="battery", within="#1"), disposition="burial")
    w.ready()


@raises("radioactive-inside")
def seeds_before_cremation(w: World) -> None:
    cremation(w, device(description="seeds", power="radioactive", within="#1"))
    w.ready()


@spares("radioactive-inside")
def a_plate_before_cremation(w: World) -> None:
    cremation(w, device(within="#1"))
    w.ready()


@raises("power-unknown")
def something_under_the_skin(w: World) -> None:
    cremation(w, device(description="a box under the skin", power="unknown", within="#1"))
    w.ready()


@spares("power-unknown", "left-elsewhere", "implants-not-stated")
def something_on_the_table(w: World) -> None:
    cremation(w, device(description="a box", power="unknown"))
    w.ready()


@raises("implants-not-stated")
def nobody_asked_for_implants(w: World) -> None:
    cremation(w)
    w.ready()


@raises("implants-not-stated")
def nobody_knows_of_implants(w: World) -> None:
    cremation(w)
    w.do("inspected", thing=BODY, implants="none")
    w.do("inspected", thing=BODY, implants="unknown")
    w.ready()


@raises("implants-not-stated")
def one_was_found_and_not_recorded(w: World) -> None:
    cremation(w)
    w.do("inspected", thing=BODY, implants="found")
    w.ready()


@spares("implants-not-stated")
def somebody_looked_and_there_are_none(w: World) -> None:
    cremation(w)
    w.do("inspected", thing=BODY, implants="none")
    w.do("inspected", thing=BODY, leak=False)
    w.ready()


@spares("implants-not-stated")
def nobody_asks_before_a_burial(w: World) -> None:
    cremation(w, disposition="burial")
    w.ready()


@raises("implants-not-stated")
def one_was_found_and_later_none(w: World) -> None:
    one_was_found_and_not_recorded(w)
    w.do("inspected", thing=BODY, implants="none")


@raises("implants-not-stated")
def one_was_found_and_the_one_on_record_came_beside_the_body(w: World) -> None:
    cremation(w, device())
    w.do("inspected", thing=BODY, implants="found")
    w.ready(THIRD)


@spares("implants-not-stated")
def the_one_that_was_found_was_removed(w: World) -> None:
    cremation(w, device(within="#1", power="battery"))
    w.do("inspected", thing=BODY, implants="found")
    w.do("cared-for", thing=BODY, step="device-removed", removed=THIRD, place="table")
    w.do("cared-for", thing=BODY, step="sutured")
    how = {"relation": "clinic", "authority": "form 4", "identity_checked": True, "signed": True}
    w.do("released", things=[THIRD], **how)
    w.ready()


@spares("implants-not-stated")
def the_one_that_was_found_came_apart_from_the_body(w: World) -> None:
    cremation(w)
    w.do("inspected", thing=BODY, implants="found")
    w.do("separated", thing=BODY, into=[device(place="table")])
    w.label(THIRD)
    w.ready(THIRD)


@spares("implants-not-stated")
def the_one_that_was_found_was_taken_out(w: World) -> None:
    cremation(w, device())
    w.do("inspected", thing=BODY, implants="found")
    w.do("put-in", things=[THIRD], into=BODY)
    w.do("taken-out", things=[THIRD], place="table")
    w.do("cared-for", thing=BODY, step="sutured")
    w.ready(THIRD)


@raises("battery-inside")
def a_watch_with_a_battery_is_worn(w: World) -> None:
    cremation(w, effect(description="watch", power="battery", intention="worn"))
    w.do("inspected", thing=BODY, implants="none")
    w.ready(THIRD)


@spares("battery-inside")
def a_watch_that_is_wound_up_is_worn(w: World) -> None:
    cremation(w, effect(description="watch", intention="worn"))
    w.do("inspected", thing=BODY, implants="none")
    w.ready(THIRD)


@raises("battery-inside", "implants-not-stated")
def a_battery_that_became_one_with_a_plate_in_the_coffin(w: World) -> None:
    cremation(w, device(power="battery"), device())
    w.do("joined", things=[THIRD], to=f"{CASE}.4")
    w.ready(f"{CASE}.4")


@raises("battery-inside", "wrongly-joined", "implants-not-stated")
def a_battery_recorded_as_one_with_the_body(w: World) -> None:
    cremation(w, device(power="battery"))
    w.do("joined", things=[THIRD], to=BODY, force=True)
    w.ready()


@spares("battery-inside", "left-elsewhere", "implants-not-stated")
def a_battery_that_became_one_with_a_plate_on_the_table(w: World) -> None:
    cremation(w, device(power="battery"), device())
    w.do("joined", things=[THIRD], to=f"{CASE}.4")
    w.ready()


@spares("battery-inside", "inside-itself", "inside-itself", "inside-itself", "implants-not-stated")
def a_battery_on_a_circle_of_plates_is_nowhere(w: World) -> None:
    cremation(w, device(power="battery"), device(), device())
    fourth, fifth = f"{CASE}.4", f"{CASE}.5"
    w.do("joined", things=[THIRD], to=fourth)
    w.do("joined", things=[fourth], to=fifth)
    w.do("joined", things=[fifth], to=fourth, force=True)
    w.ready()


def one_is_looked_for(w: World, **how: object) -> None:
    """One was found in the body; a plate is on record, and a ring."""
    cremation(w, device(**how), effect(intention="worn"))
    w.do("inspected", thing=BODY, implants="found")


def see_it_on_the_table(w: World) -> None:
    seen = w.do("sighted", things=[THIRD], place="table", found=True)
    w.do("irregularity-resolved", irregularity=seen.number, resolution="it fell out")


@spares("implants-not-stated")
def the_one_that_was_found_came_in_the_body(w: World) -> None:
    one_is_looked_for(w, within="#1")
    see_it_on_the_table(w)
    w.ready(THIRD, f"{CASE}.4")


@spares("implants-not-stated")
def the_one_that_was_found_had_been_put_in(w: World) -> None:
    one_is_looked_for(w)
    w.do("put-in", things=[THIRD], into=BODY)
    w.do("cared-for", thing=BODY, step="sutured")
    see_it_on_the_table(w)
    w.ready(THIRD, f"{CASE}.4")


@spares("implants-not-stated")
def the_one_that_was_found_came_out_and_had_been_recorded_beside(w: World) -> None:
    one_is_looked_for(w)
    out = {"out_of": BODY, "place": "table"}
    number = w.do("taken-out", things=[THIRD], found=True, **out).number
    w.do("irregularity-resolved", irregularity=number, resolution="it had been in the body")
    w.do("cared-for", thing=BODY, step="sutured")
    w.ready(THIRD, f"{CASE}.4")


@spares("implants-not-stated")
def the_one_that_was_found_was_removed_and_had_been_recorded_beside(w: World) -> None:
    one_is_looked_for(w)
    how = {"step": "device-removed", "removed": THIRD, "place": "table"}
    number = w.do("cared-for", thing=BODY, found=True, **how).number
    w.do("irregularity-resolved", irregularity=number, resolution="it had been in the body")
    w.ready(THIRD, f"{CASE}.4")


@raises("implants-not-stated")
def what_came_out_of_a_bag_was_not_in_the_body(w: World) -> None:
    cremation(w, bag(), device(within="#3"))
    w.do("inspected", thing=BODY, implants="found")
    w.do("taken-out", things=[f"{CASE}.4"], place="table")
    w.ready(f"{CASE}.4")
