"""Devices: what must not go into a cremator.

The caution stands with its source; local codes, the maker's advice and licensed practice decide.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from continuity.care.findings.accounts import Account
from continuity.care.findings.base import Found, Look, correct, finding, name
from continuity.care.things import Inside, PartOf, Power, ThingKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing

_STATEMENT = "NY PBH 4202(1): a statement that the body has no battery or power cell"
_EXPLOSION = (
    "Gale & Mulley, J R Soc Med 2002;95:353-355: explosions at about half of UK crematoria;"
    " NY PBH 4202(1)"
)
CAUTION = "local codes and licensed practice decide how and by whom"


def inside(look: Look, *powers: Power) -> list[Thing]:
    """What is driven so, a watch too, and is in the body, or in the coffin with it."""
    return [t for t in look.own if t.power in powers and _with_body(look, t)]


def _with_body(look: Look, thing: Thing) -> bool:
    """Whether it, or what it has become one with, goes with the body."""
    seen = {thing.id}
    while isinstance(thing.where, PartOf) and thing.where.thing in look.case.things:
        thing = look.case.things[thing.where.thing]
        if thing is look.body:
            return True
        if thing.id in seen:
            return False
        seen.add(thing.id)
    within = look.body is not None and look.body in look.case.containers_of(thing.id)
    return within or look.accounts.get(thing.id) is Account.IN_COFFIN


def _in_the_way(look: Look, power: Power, danger: str) -> Iterator[Found]:
    for device in inside(look, power):
        yield look.found(
            f"{name(device)} {danger}, and is still with the body",
            f"remove {device.id} before cremation (cared-for --step device-removed, or taken-out);"
            f" {CAUTION}",
            device,
        )


@finding("battery-inside", _EXPLOSION)
def battery_inside(look: Look) -> Iterator[Found]:
    """A device with a battery is still with the body; it may explode in a cremator."""
    yield from _in_the_way(look, Power.BATTERY, "has a battery, which may explode in a cremator")


@finding("radioactive-inside", "common practice, no source")
def radioactive_inside(look: Look) -> Iterator[Found]:
    """A radioactive device is still with the body; ashes and cremator may be contaminated."""
    yield from _in_the_way(look, Power.RADIOACTIVE, "is radioactive and may contaminate a cremator")


@finding("power-unknown", _STATEMENT)
def power_unknown(look: Look) -> Iterator[Found]:
    """A device is still with the body, and nobody knows what drives it."""
    yield from _in_the_way(look, Power.UNKNOWN, "may have a battery, for nobody knows")


@finding("implants-not-stated", _STATEMENT)
def implants_not_stated(look: Look) -> Iterator[Found]:
    """Nobody has said whether the body holds a device with a battery or a radioactive source."""
    body = look.body
    if body is None or any(_was_inside(look, body, t) for t in look.own):
        return
    said = [c for c in body.conditions if c.implants]
    found = next((c for c in said if c.implants == "found"), None)
    stated = found or (said[-1] if said else None)
    if stated and stated.implants == "none":
        return
    if found:
        sentence = f"a device was found in {name(body)}, and none that was in it is on the record"
        wrong = f"; if none was found, {correct(found.moment)}"
    else:
        wrong = ""
        sentence = f"nobody has said whether {name(body)} holds a device"
    yield look.found(
        sentence,
        f"ask the hospital, look, and record it (inspected --implants); each device found is"
        f" a thing of its own (received, within {body.id}){wrong}; {CAUTION}",
        body,
        shown_by=(stated.moment if stated else body.came,),
    )


def _was_inside(look: Look, body: Thing, thing: Thing) -> bool:
    """Whether it is a device that is, or was, in the body."""
    if thing.what is not ThingKind.DEVICE:
        return False
    inside = thing.where == Inside(body.id) or body.id in thing.parents
    return inside or any(_tells_of(event.act, body.id, thing.id) for event in look.case.events)


def _tells_of(act: Any, body: str, device: str) -> bool:
    if act.kind == "received":
        return any(i.thing == device and i.within == body for i in act.items)
    if act.kind == "cared-for":
        return bool(act.removed == device and act.thing == body)
    end = act.out_of if act.kind == "taken-out" else act.into if act.kind == "put-in" else None
    return end == body and device in act.things
