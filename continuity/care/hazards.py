"""Hazards: whether what is in a thing is unfixed, under treatment, or holds formaldehyde.

Plain states for a label's panels, derived from the care steps. They are cautions: local codes,
the safety data sheet and licensed practice decide. Unfixed tissue counts as potentially
infectious (29 CFR 1910.1030(b) [from memory]); above 0.1 percent of formaldehyde a label is due
(29 CFR 1910.1048(m)(1)(iv)).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from continuity.care.things import TISSUE, Form, ThingKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case, Thing
    from continuity.care.policy import Policy
    from continuity.care.records import Moment, Step

BIOHAZARD = "biohazard"
FORMALDEHYDE = "formaldehyde"
_CHEMICAL = ("immersed", "injected")


@dataclass(frozen=True, slots=True)
class Hazards:
    """What a label has to warn of.

    Attributes:
        unfixed: some of the tissue was not treated for the policy's minimum.
        formaldehyde_tenths: the strongest solution used, in tenths of a percent; 0 where none
            was used, None where nobody stated it.
        treating: a treatment is under way.
        since: when the last chemical step was done.
    """

    unfixed: bool = False
    formaldehyde_tenths: int | None = 0
    treating: bool = False
    since: Moment | None = None

    @property
    def biohazard(self) -> bool:
        """Whether the biohazard panel is due."""
        return self.unfixed or self.treating

    @property
    def formaldehyde(self) -> bool:
        """Whether a formaldehyde panel is due."""
        if self.formaldehyde_tenths is None:
            return self.treating
        return self.formaldehyde_tenths > 0


def descent(case: Case, thing: Thing) -> Iterator[tuple[Thing, Thing | None]]:
    """A thing and the tissue it came from, each older one with the piece that came of it."""
    seen: set[str] = set()
    line: list[tuple[Thing, Thing | None]] = [(thing, None)]
    while line:
        one, piece = line.pop()
        if one.id in seen:
            continue
        seen.add(one.id)
        yield one, piece
        older = (case.things.get(parent) for parent in one.parents)
        line += [(parent, one) for parent in older if parent and parent.what in TISSUE]


def history(case: Case, thing: Thing) -> list[Step]:
    """The steps done on a thing, and on what it came from before it came, in their order."""
    steps = [
        step
        for one, piece in descent(case, thing)
        for step in one.steps
        if piece is None or step.moment < piece.came
    ]
    return sorted(steps, key=lambda step: step.moment)


def immersions(steps: list[Step]) -> Iterator[tuple[Step, Step | None]]:
    """Each immersion with the draining that ended it; None while it lasts."""
    start = None
    for step in steps:
        if step.step == "immersed":
            start = start or step
        elif step.step == "drained" and start:
            yield start, step
            start = None
    if start:
        yield start, None


def is_fixed(steps: list[Step], policy: Policy) -> bool:
    """Whether an immersion lasted for the policy's minimum."""
    least = policy.span("treatment")
    return any(end and end.moment.at - start.moment.at >= least for start, end in immersions(steps))


def hazards(case: Case, thing_id: str, policy: Policy) -> Hazards:
    """What a label on a thing has to warn of: of the thing, and of all that is in it.

    The body is no container in this sense, nor is the coffin: what they hold bears its own.
    """
    thing = case.things[thing_id]
    within = [thing]
    if thing.what is ThingKind.CONTAINER and thing.form is not Form.COFFIN:
        within += case.all_contents(thing_id)
    states = [_of(history(case, t), policy) for t in within if t.what in TISSUE]
    strengths = [s.formaldehyde_tenths for s in states]
    since = [s.since for s in states if s.since]
    return Hazards(
        unfixed=any(s.unfixed for s in states),
        formaldehyde_tenths=None
        if None in strengths
        else max((s or 0 for s in strengths), default=0),
        treating=any(s.treating for s in states),
        since=max(since, default=None),
    )


def _of(steps: list[Step], policy: Policy) -> Hazards:
    chemical = [s for s in steps if s.step in _CHEMICAL or s.formaldehyde_tenths is not None]
    strengths = [s.formaldehyde_tenths for s in chemical]
    stated = [s for s in strengths if s is not None]
    return Hazards(
        unfixed=not is_fixed(steps, policy),
        formaldehyde_tenths=None if len(stated) < len(strengths) else max(stated, default=0),
        treating=any(end is None for _, end in immersions(steps)),
        since=max((s.moment for s in chemical), default=None),
    )
