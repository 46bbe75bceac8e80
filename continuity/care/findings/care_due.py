"""Care due: what the plan asks for and the record does not show.

Steps that have a finding of their own (sealing, suturing, a device before cremation, the first
look, powder in a net) are left to it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.findings.accounts import Account
from continuity.care.findings.base import Found, Look, finding, name
from continuity.care.hazards import history, immersions, is_fixed
from continuity.care.plan import COMMON, State, Task, plan
from continuity.care.things import TISSUE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing

OWN = frozenset(
    {"open-body", "open-pack", "rinse", "empty", "treat", "dry", "powder", "repack", "embalm"}
)
"""The steps this finding speaks of."""


@finding("care-due", COMMON)
def care_due(look: Look) -> Iterator[Found]:
    """The condition or the disposition asks for care steps that were not done."""
    reasons: dict[str, list[Task]] = {}
    for task in plan(look.case, look.policy, look.now):
        if task.what in OWN and task.state is not State.DONE:
            reasons.setdefault(task.why, []).append(task)
    for why, tasks in reasons.items():
        late = any(task.state is State.LATE for task in tasks)
        steps = ", ".join(f"{task.words} ({task.thing})" for task in tasks)
        things = dict.fromkeys(task.thing for task in tasks)
        yield look.found(
            f"care is {'late' if late else 'due'}, as {why}: {steps}",
            "do it and record each step (opened, cared-for, put-in), or change the disposition"
            f" (disposition-changed --case {look.case.number} --disposition ... --authority ...)",
            *(look.case.things[thing] for thing in things),
        )


def _remains_here(look: Look) -> list[Thing]:
    here = (Account.HERE, Account.IN_COFFIN, Account.FORMER_COFFIN)
    return [t for t in look.standing(*here) if t.what in TISSUE]


@finding("still-under-treatment", COMMON)
def still_under_treatment(look: Look) -> Iterator[Found]:
    """A thing was immersed, and has not been drained."""
    for thing in _remains_here(look):
        for start, end in immersions(thing.steps):
            if end is None:
                yield look.found(
                    f"{name(thing)} is under treatment and was not drained",
                    f"drain {thing.id} when its time is over (cared-for --step drained)",
                    thing,
                    shown_by=(start.moment,),
                )


@finding("treatment-too-short", COMMON)
def treatment_too_short(look: Look) -> Iterator[Found]:
    """A treatment was ended before the policy's least time, and none was long enough."""
    least = look.policy.threshold("treatment")
    for thing in _remains_here(look):
        steps = history(look.case, thing)
        done = [(start, end) for start, end in immersions(steps) if end]
        if done and not is_fixed(steps, look.policy):
            start, end = done[-1]
            minutes = int((end.moment.at - start.moment.at).total_seconds() // 60)
            yield look.found(
                f"{name(thing)} was treated for {minutes} of at least {least} minutes",
                f"treat {thing.id} again (cared-for --step immersed, then drained)",
                thing,
                shown_by=(start.moment, end.moment),
            )
