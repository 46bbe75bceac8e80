"""Open matters: irregularities nobody resolved, labels in arrears.

Hazards are cautions, not law: local codes and licensed practice decide what a label must say.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.findings.accounts import Account
from continuity.care.findings.base import Found, Look, finding, name
from continuity.care.hazards import BIOHAZARD, FORMALDEHYDE, Hazards, hazards
from continuity.care.things import TISSUE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing

_LABEL = "29 CFR 1910.1048(m), formaldehyde; 29 CFR 1910.1030(g)(1)(i), biohazard"


@finding("irregularity-open", "common practice, no source", goes_on=True)
def irregularity_open(look: Look) -> Iterator[Found]:
    """An irregularity is open: nobody has resolved it."""
    for matter in look.case.irregularities.values():
        if matter.resolved is None:
            things = [t for t in map(look.case.things.get, matter.things) if t]
            yield look.found(
                f"irregularity {matter.number} is open: {matter.text}",
                "settle it; a director records how (irregularity-resolved --irregularity"
                f" {matter.number} --resolution ...)",
                *things,
                shown_by=(matter.moment,),
            )


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
                f"print a label for {thing.id} or its pack; what is due stands on it (labelled:"
                f" continuity label {thing.id})",
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
                f"print a new label for {thing.id} or its pack (labelled: continuity label"
                f" {thing.id})",
                thing,
                shown_by=(since,),
            )
