from __future__ import annotations

from tests.care.history import CASE, World

from . import device, effect, raises, spares

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
