"""Deeds as intents: the fields of the act that a sequence of scans asks to have recorded."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from continuity.care.things import Form, Inside, ThingKind
from continuity_cli.station.tokens import (
    ComeBack,
    Deed,
    Do,
    Found,
    HandOver,
    Identify,
    Inspect,
    Move,
    PutIn,
    SignCheck,
    SignedFor,
    Tick,
    Undo,
)
from continuity_labels.actions import Action

if TYPE_CHECKING:
    from collections.abc import Sequence

    from continuity.care.case import Case
    from continuity_cli.station.tokens import Thing

Fields = dict[str, Any]

KINDS = frozenset(
    {
        "cared-for",
        "closing-check-signed",
        "coffin-closed",
        "coffin-reopened",
        "hand-over-accepted",
        "handed-over",
        "identified",
        "inspected",
        "moved",
        "opened",
        "packaging-discarded",
        "put-in",
        "returned",
        "sealed",
        "sighted",
        "taken-out",
        "weighed",
    }
)
"""The kinds of entry that the deeds below become: after a restart UNDO strikes no other."""

_STEPS = {
    Action.EMPTY: "emptied",
    Action.RINSE: "rinsed",
    Action.IMMERSE: "immersed",
    Action.DRAIN: "drained",
    Action.DRY: "dried",
    Action.POWDER: "powdered",
    Action.SUTURE: "sutured",
}

_NOT_STATED = "not stated at the station"
"""What stands for an authority or a reason that the record wants and nobody gave: the plan's, or
the one on which the decedent came here, would be words put into somebody's mouth."""


def case_number(deed: Deed) -> str:
    """The case a deed goes into.

    Raises:
        ValueError: an undoing names none; it goes where the last entry stands.
    """
    match deed:
        case Tick() | SignCheck():
            return deed.case
        case Do() | Inspect() | Identify():
            return deed.thing.case
        case Found():
            return case_number(deed.deed)
        case Undo():
            raise ValueError("an undoing names no case")
        case _:
            return deed.things[0].case


def fields(deed: Deed, case: Case, on_the_tag: Sequence[str] = ()) -> Fields:
    """The fields of the intent.

    Args:
        deed: what is to be recorded; no undoing.
        case: the case it goes into.
        on_the_tag: the kinds of identifiers that stand on the decedent's tag.
    """
    if isinstance(deed, Found):
        return {**fields(deed.deed, case, on_the_tag), "found": True}
    if isinstance(deed, Identify):
        return {"case": case.number, **_identified(deed, case, on_the_tag)}
    # Who signs for a thing does not look at it: it has left.
    moving = () if isinstance(deed, SignedFor) else getattr(deed, "things", ())
    looked = [thing.as_of for thing in moving]
    as_of = {"as_of": min(looked)} if looked else {}
    return {"case": case.number, **as_of, **_act(deed, case)}


def _act(deed: Deed, case: Case) -> Fields:
    match deed:
        case Move():
            act = _moved(deed, case)
        case PutIn():
            act = _put_in(deed)
        case ComeBack() | HandOver() | SignedFor():
            act = _outside(deed)
        case Inspect():
            act = _inspected(deed, case)
        case Tick():
            act = _sighted(deed.thing, for_closing=True)
        case SignCheck():
            coffin = case.coffin
            act = {"kind": "closing-check-signed", "coffin": coffin.id if coffin else None}
        case Do():
            act = _done(deed)
        case Identify() | Found() | Undo():
            raise ValueError("these are made from more than the deed")
    return act


def _outside(deed: ComeBack | HandOver | SignedFor) -> Fields:
    things = _ids(deed.things)
    match deed:
        case ComeBack():
            back = {"giver": deed.giver, "place": deed.place, "scanned": _scanned(deed.things)}
            return {"kind": "returned", "things": things, **back}
        case HandOver():
            on = {"taker": deed.taker, "authority": deed.authority or _NOT_STATED}
            return {"kind": "handed-over", "things": things, **on}
        case SignedFor():
            return {"kind": "hand-over-accepted", "things": things, "taker": deed.taker}


def _identified(deed: Identify, case: Case, on_the_tag: Sequence[str]) -> Fields:
    if deed.closing:
        stage = "closing"
    else:
        stage = "other" if any(i.stage == "receipt" for i in case.identifications) else "receipt"
    return {
        "kind": "identified",
        "thing": deed.thing.id,
        "stage": stage,
        "identifiers": [{"what": what, "read_from": "body-tag"} for what in on_the_tag],
        "agree": deed.agree,
    }


def _inspected(deed: Inspect, case: Case) -> Fields:
    """What was not noted was looked for and not found."""
    act: Fields = {
        "kind": "inspected",
        "thing": deed.thing.id,
        "leak": Action.LEAK in deed.noted,
        "odour": Action.ODOUR in deed.noted,
    }
    broken = Action.BROKEN in deed.noted
    if Action.EMPTY in deed.noted:
        act["empty"] = True
    if deed.seal is not None:
        act["seal_number"] = deed.seal
    if deed.thing.what is ThingKind.DECEDENT:
        closures = case.things[deed.thing.id].closures
        sutured = bool(closures) and closures[-1].how == "sutured"
        act["suture"] = "gaping" if broken else "sound" if sutured else None
    elif broken or deed.seal is not None:
        act["seal"] = "broken" if broken else "intact"
    return act


def undoing(case: str, leaf: str) -> Fields:
    """The correction that strikes an entry and puts nothing in its place."""
    return {
        "kind": "corrected",
        "case": case,
        "strikes": leaf,
        "reason": "taken back at the station with UNDO",
    }


def _moved(deed: Move, case: Case) -> Fields:
    common = {"things": _ids(deed.things), "place": deed.place, "scanned": _scanned(deed.things)}
    if deed.out or _inside(deed.things, case):
        return {"kind": "taken-out", **common}
    return {"kind": "moved", **common}


def _inside(things: tuple[Thing, ...], case: Case) -> bool:
    """Whether all of them lie in one thing, from which they are taken out."""
    where = {known.where if (known := case.things.get(t.id)) else None for t in things}
    return len(where) == 1 and isinstance(next(iter(where)), Inside)


def _put_in(deed: PutIn) -> Fields:
    kind = "taken-out" if deed.out else "put-in"
    scanned = _scanned((*deed.things, deed.into))
    return {"kind": kind, "things": _ids(deed.things), "into": deed.into.id, "scanned": scanned}


def _sighted(thing: Thing, *, for_closing: bool = False) -> Fields:
    return {
        "kind": "sighted",
        "things": [thing.id],
        "scanned": thing.scanned,
        "for_closing": for_closing,
    }


def _done(deed: Do) -> Fields:
    thing = deed.thing
    match deed.action:
        case Action.SIGHTED:
            act = _sighted(thing)
        case Action.OPEN:
            act = _opened(deed)
        case Action.SEAL:
            kind = "coffin-closed" if thing.form is Form.COFFIN else "sealed"
            act = {"kind": kind, "thing": thing.id, "seal": deed.typed}
        case Action.WEIGH:
            act = {"kind": "weighed", "thing": thing.id, "grams": int(deed.typed or 0)}
        case Action.EMPTY if thing.what is ThingKind.CONTAINER:
            act = {"kind": "packaging-discarded", "thing": thing.id, "empty": True}
        case _:
            act = {"kind": "cared-for", "thing": thing.id, "step": _STEPS[deed.action]}
            if deed.action is Action.IMMERSE:
                act["formaldehyde_tenths"] = _tenths(deed.typed)
    return act


def _opened(deed: Do) -> Fields:
    opened = {"thing": deed.thing.id, "reason": _NOT_STATED}
    if deed.thing.form is Form.COFFIN:
        return {"kind": "coffin-reopened", **opened}
    return {"kind": "opened", **opened, "seal_found": deed.typed}


def _tenths(percent: str | None) -> int | None:
    if percent is None:
        return None
    whole, _, tenth = percent.replace(",", ".").partition(".")
    return int(whole) * 10 + int(tenth or 0)


def _ids(things: tuple[Thing, ...]) -> list[str]:
    return [thing.id for thing in things]


def _scanned(things: tuple[Thing, ...]) -> bool:
    return all(thing.scanned for thing in things)
