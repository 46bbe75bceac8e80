"""Open matters: irregularities nobody resolved, what corrections took away, labels in arrears.

Hazards are cautions, not law: local codes and licensed practice decide what a label must say.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.acts.base import NewThing
from continuity.care.case import Moment
from continuity.care.findings.accounts import Account
from continuity.care.findings.base import Found, Look, finding, name
from continuity.care.hazards import BIOHAZARD, FORMALDEHYDE, Hazards, hazards
from continuity.care.things import TISSUE, ThingKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Event, Thing

_LABEL = "29 CFR 1910.1048(m), formaldehyde; 29 CFR 1910.1030(g)(1)(i), biohazard"


@finding("irregularity-open", "common practice, no source", goes_on=True)
def irregularity_open(look: Look) -> Iterator[Found]:
    """An irregularity is open: nobody has resolved it."""
    for matter in look.case.irregularities.values():
        if matter.resolved is None:
            things = [t for t in map(look.case.things.get, matter.things) if t]
            yield look.found(
                f"irregularity {matter.number} is open: {matter.text}",
                f"settle it; a director records how (irregularity-resolved {matter.number})",
                *things,
                shown_by=(matter.moment,),
            )


@finding("closing-sighting-corrected", "GS1 EPCIS 2.0: a corrected event stays in sight")
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


@finding("thing-struck", "GS1 EPCIS 2.0: a corrected event stays in sight", goes_on=True, past=True)
def thing_struck(look: Look) -> Iterator[Found]:
    """A correction leaves nothing of a thing that had been recorded, or calls it packaging.

    What was declared and never came may be struck: that is how its finding is mended.
    """
    for event in look.case.struck_events:
        for item in _brought(event):
            read = look.case.things.get(item.thing or "")
            stands = read and read.receipt != "mentioned" and read.what is not ThingKind.CONTAINER
            if not stands:
                yield look.found(
                    f"{item.thing} ({item.description}) was recorded by entry {event.number}, and"
                    " a correction took it out of the reckoning",
                    "say what became of it, and settle it (irregularity-raised about thing-struck,"
                    " irregularity-resolved)",
                    shown_by=(_corrected(look, event),),
                )


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
                "settle it (irregularity-raised about matter-struck, irregularity-resolved)",
                shown_by=(_corrected(look, event),),
            )


def _for_closing(event: Event) -> bool:
    act = event.act
    return getattr(act, "for_closing", False) or getattr(act, "stage", None) == "closing"


def _sighted_after(thing: Thing, number: int) -> bool:
    return any(s.scanned and s.moment.number > number for s in thing.sightings)


def labels_due(look: Look) -> Iterator[tuple[Thing, list[str], Hazards]]:
    """The tissue here whose label, or whose pack's, should bear panels; which, and why."""
    here = (Account.HERE, Account.IN_COFFIN, Account.FORMER_COFFIN)
    for thing in look.standing(*here):
        if thing.what in TISSUE:
            state = hazards(look.case, thing.id, look.policy)
            open_to_hands = look.accounts[thing.id] is not Account.IN_COFFIN and not (
                look.body and look.body in look.case.containers_of(thing.id)
            )
            panels = [FORMALDEHYDE] if state.formaldehyde else []
            panels += [BIOHAZARD] if state.biohazard and open_to_hands else []
            if panels:
                yield thing, panels, state


def _bearing(look: Look, thing: Thing, panel: str) -> list[int]:
    """The numbers of the entries that printed such a panel, on labels in force."""
    labels = (bearer.label for bearer in look.case.bearers(thing))
    return [
        label.moment.number
        for label in labels
        if label and any(p.startswith(panel) for p in label.panels)
    ]


@finding("hazard-label-missing", _LABEL)
def hazard_label_missing(look: Look) -> Iterator[Found]:
    """Neither a thing's label nor its pack's says that its contents are hazardous."""
    for thing, panels, _ in labels_due(look):
        lacks = [panel for panel in panels if not _bearing(look, thing, panel)]
        if lacks:
            yield look.found(
                f"no label on {name(thing)}, or on what it is packed in, says {' or '.join(lacks)}",
                f"print a label with that panel for {thing.id} or its pack (labelled)",
                thing,
            )


@finding("hazard-label-out-of-date", _LABEL)
def hazard_label_out_of_date(look: Look) -> Iterator[Found]:
    """The hazard label was printed before the last treatment."""
    for thing, panels, state in labels_due(look):
        printed = _bearing(look, thing, FORMALDEHYDE) if FORMALDEHYDE in panels else []
        since = state.since
        if printed and since and max(printed) < since.number:
            yield look.found(
                f"the hazard label of {name(thing)} is older than its last treatment",
                f"print a new label for {thing.id} or its pack (labelled)",
                thing,
                shown_by=(since,),
            )
