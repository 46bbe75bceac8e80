"""Corrections: what a correction took away stays in sight, and who took it away, and why.

Nothing is erased: a struck entry stays legible. What it told of no longer counts in the reckoning,
so a correction could make a case clear; each that might have done so is told.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from continuity.care.findings.base import Found, Look, finding, settle
from continuity.care.known import NewThing
from continuity.care.records import Moment
from continuity.care.things import REMAINS, Disposition, Form, Intention, Power, ThingKind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from continuity.care.case import Case, Thing
    from continuity.care.records import Event

    Told = Iterator[tuple[str, object]]
    """What an act may tell, in words, and whether it does."""

_IN_SIGHT = "GS1 EPCIS 2.0: a corrected event stays in sight"


@finding("closing-sighting-corrected", _IN_SIGHT)
def closing_sighting_corrected(look: Look) -> Iterator[Found]:
    """An entry by which a thing was sighted for the closing was corrected, and not done again."""
    for event in look.case.struck_events:
        correction = look.case.struck.get(event.origin)
        if correction is None or not _for_closing(event):
            continue
        things = [t for t in map(look.case.things.get, event.act.mentions()) if t and not t.gone]
        anew = [t for t in things if not _sighted_after(t, correction)]
        if anew:
            yield look.found(
                f"entry {event.number}, a sighting for the closing, was corrected by entry"
                f" {correction}",
                f"scan {', '.join(t.id for t in anew)} again for the closing (sighted, identified)",
                *anew,
                shown_by=(event.moment,),
            )


@finding("thing-struck", _IN_SIGHT, goes_on=True, past=True)
def thing_struck(look: Look) -> Iterator[Found]:
    """A correction leaves nothing of a thing that had been recorded, or makes less of it.

    Packaging is less than anything, and whatever is no remains is less than remains. What was
    declared and never came may be struck: that is how its finding is mended.
    """
    for event in look.case.struck_events:
        for item in _brought(event):
            read = _on_record(look.case, item)
            if read is None or _is_less(read.what, item.what):
                yield look.found(
                    f"{item.thing} ({item.description}) was recorded by entry {event.number}, and"
                    " a correction took it out of the reckoning",
                    f"say what became of it, and {settle('thing-struck')}",
                    shown_by=(_corrected(look, event),),
                )


def _on_record(case: Case, item: NewThing) -> Thing | None:
    """The thing that still stands under this number, known by more than its number."""
    read = case.things.get(item.thing or "")
    return read if read and read.receipt != "mentioned" else None


def _is_less(reads: ThingKind, was: ThingKind) -> bool:
    """Whether less is asked of a thing read as this kind than of one of that kind."""
    return reads not in REMAINS and (was in REMAINS or reads is ThingKind.CONTAINER)


def _brought(event: Event) -> Iterator[NewThing]:
    """What an entry of this case brought in, save containers and what never came."""
    if event.mirrors is not None:
        return
    for field in ("items", "into"):
        new = (i for i in getattr(event.act, field, None) or () if isinstance(i, NewThing))
        came = (i for i in new if getattr(i, "receipt", None) != "missing")
        yield from (i for i in came if i.what is not ThingKind.CONTAINER)


def _corrected(look: Look, event: Event) -> Moment:
    """When the entry was struck."""
    number = look.case.struck[event.origin]
    return Moment(event.occurred_at, number)


@finding("matter-struck", "common practice, no source", goes_on=True, past=True)
def matter_struck(look: Look) -> Iterator[Found]:
    """An irregularity was struck by a correction, instead of being resolved."""
    for event in look.case.struck_events:
        raised = event.act.kind == "irregularity-raised"
        if raised and event.number not in look.case.irregularities:
            yield look.found(
                f"irregularity {event.number} was struck, and nobody resolved it: {event.act.what}",
                settle("matter-struck"),
                shown_by=(_corrected(look, event),),
            )


def _for_closing(event: Event) -> bool:
    act = event.act
    return getattr(act, "for_closing", False) or getattr(act, "stage", None) == "closing"


def _sighted_after(thing: Thing, number: int) -> bool:
    return any(s.scanned and s.moment.number > number for s in thing.sightings)


@finding("cause-struck", _IN_SIGHT, goes_on=True, past=True)
def cause_struck(look: Look) -> Iterator[Found]:
    """A correction took away what asked for care, for an answer, or for somebody's word."""
    standing = {words for event in look.case.events for words in _told_by(look.case, event)}
    for telling, correction in _taken_back(look.case):
        gone = [words for words in _told_by(look.case, telling) if words not in standing]
        if gone:
            things = [t for t in map(look.case.things.get, telling.act.mentions()) if t]
            yield look.found(
                f"entry {telling.number} told of {', '.join(gone)}; {correction.by} took that back"
                f" by entry {correction.number}, saying: {correction.act.reason}",
                f"ask {correction.by}, and look; if it was so, record it again"
                f" ({telling.act.kind}); if not, {settle('cause-struck')}",
                *things,
                shown_by=(correction.moment,),
            )


def _taken_back(case: Case) -> Iterator[tuple[Event, Event]]:
    """Each telling that no longer holds, an earlier correction's too, and what took it back."""
    numbered = {event.number: event for event in case.events}
    for event in case.struck_events:
        correction = numbered.get(case.struck[event.origin])
        if correction is not None:
            yield from ((one, correction) for one in _said(event))
    for event in case.events:
        effective = case.struck.get(event.act.strikes_leaf())
        if effective != event.number and effective in numbered:
            yield from ((one, numbered[effective]) for one in _said(event))


def _said(event: Event) -> Iterator[Event]:
    """What an entry said: a correction, what was to be read instead."""
    if event.act.strikes_leaf() is None:
        yield event
    elif (act := event.act.replacement()) is not None:
        yield replace(event, act=act)


def _told_by(case: Case, event: Event) -> Iterator[str]:
    """What an entry tells, and what it says of things that it brought in and that still stand."""
    yield from told(event.act)
    for item in _brought(event):
        if _on_record(case, item):
            if item.power in (Power.BATTERY, Power.RADIOACTIVE):
                yield f"{item.power.value} as the power of {item.thing}"
            if item.intention not in (None, Intention.UNKNOWN):
                yield f"the wish {item.intention.value} for {item.thing}"


def told(act: Any) -> Iterator[str]:
    """What an act tells that asks for something to be done, found out, or answered for."""
    tell = _TELLS.get(act.kind)
    if tell:
        yield from (words for words, so in tell(act) if so)


def _case_opened(act: Any) -> Told:
    yield "an unidentified decedent", act.unidentified
    yield from _planned(act)


def _planned(act: Any) -> Told:
    yield (
        f"{act.disposition.value} as the disposition",
        act.disposition is not Disposition.UNDECIDED,
    )
    yield "a vault or crypt above ground", act.above_ground
    yield "a long wait", act.long_delay


def _received(act: Any) -> Told:
    for item in act.items:
        one = f"{item.thing} ({item.description})"
        yield f"{one} declared and not found", item.receipt == "missing"
        yield f"{one} found and not declared", item.receipt == "extra"
        packaging = item.what is ThingKind.CONTAINER and item.form is not Form.COFFIN
        yield f"the coming of {one}", packaging and item.receipt != "missing"
        seals, labels = (
            (item.declared_seal, item.found_seal),
            (item.declared_label, item.found_label),
        )
        yield f"seal {seals[1]} on {one}, declared as {seals[0]}", _differ(*seals)
        yield f"label {labels[1]} on {one}, declared as {labels[0]}", _differ(*labels)
    yield f"{act.giver}, who did not sign", act.giver_signed is False


def _differ(declared: str | None, found: str | None) -> bool:
    return declared is not None and found is not None and declared != found


def _inspected(act: Any) -> Told:
    yield f"a leak of {act.thing}", act.leak
    yield f"an odour of {act.thing}", act.odour
    yield f"{act.thing}, not dry", act.dry is False
    yield f"{act.thing}, not empty", act.empty is False
    yield f"the suture of {act.thing}, {act.suture}", act.suture in ("gaping", "absent")
    yield f"the seal of {act.thing}, {act.seal}", act.seal in ("broken", "absent")
    yield f"the seal number {act.seal_number} on {act.thing}", act.seal_number
    yield f"implants {act.implants} in {act.thing}", act.implants in ("found", "unknown")


def _identified(act: Any) -> Told:
    yield f"identifiers of {act.thing} that did not agree", act.agree is False


def _retention_stated(act: Any) -> Told:
    yield "something kept by the examiner", act.kept == "some"
    yield "no knowledge of what the examiner kept", act.kept == "unknown"


def _retained(act: Any) -> Told:
    things = ", ".join(act.mentions())
    yield f"{things} kept by {act.holder}", True
    yield f"{things} kept until {act.until}", act.until
    yield f"a family not told that {things} is kept", act.family_told is False


def _instructed(act: Any) -> Told:
    yield f"the wish {act.wish.value} for {', '.join(act.things)}", True


def _handed_over(act: Any) -> Told:
    things = ", ".join(act.things)
    yield f"{things} with {act.taker}, who had not signed", not act.accepted


def _recalled(act: Any) -> Told:
    yield f"{', '.join(act.things)} called back by {act.taker}", True


def _returned(act: Any) -> Told:
    yield f"{act.giver}, who did not sign for {', '.join(act.things)}", act.giver_signed is False


def _opened(act: Any) -> Told:
    yield f"{act.thing} being opened", True


def _cared_for(act: Any) -> Told:
    chemical = act.step.value in ("immersed", "injected", "embalmed")
    yield f"{act.thing} being {act.step.value}", chemical
    yield f"formaldehyde on {act.thing}", act.formaldehyde_tenths


def _weighed(act: Any) -> Told:
    yield f"{act.grams} g as the weight of {act.thing}", True


def _counted(act: Any) -> Told:
    yield f"{', '.join(act.missing)} not found at {act.place}", act.missing
    yield f"{', '.join(act.unexpected)} found at {act.place}", act.unexpected


def _checked(act: Any) -> Told:
    yield f"closing over {', '.join(act.over)}", act.over


def _ashes(act: Any) -> Told:
    yield f"another's identity disc with {', '.join(act.mentions())}", act.disc_agrees is False


_TELLS: dict[str, Callable[[Any], Told]] = {
    "case-opened": _case_opened,
    "disposition-changed": _planned,
    "received": _received,
    "identified": _identified,
    "inspected": _inspected,
    "retention-stated": _retention_stated,
    "retained": _retained,
    "instructed": _instructed,
    "handed-over": _handed_over,
    "returned": _returned,
    "recalled": _recalled,
    "opened": _opened,
    "coffin-reopened": _opened,
    "cared-for": _cared_for,
    "weighed": _weighed,
    "place-counted": _counted,
    "closing-check-signed": _checked,
    "ashes-received": _ashes,
}
"""What brings things in, and what was raised as irregular, have findings of their own."""
