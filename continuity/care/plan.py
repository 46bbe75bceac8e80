"""Plan: from condition and disposition to the care steps that are due, the next one first.

The reasoning is common practice, no source. Embalming (sending abroad, a vault or crypt above
ground, a long delay) means opening and treating. No embalming, dry, no odour, a sound suture mean
leaving closed. A leak or a smell means open, rinse, empty, dry, powder, a clean bag, seal, suture.
Nothing here replaces local codes, safety data sheets and licensed practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TYPE_CHECKING

from continuity.care.hazards import descent, history, immersions
from continuity.care.things import AtPlace, Disposition, Form, Power, ThingKind

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from continuity.care.case import Case, Thing
    from continuity.care.policy import Policy
    from continuity.care.records import Moment, Step

COMMON = "common practice, no source"

_WETS = ("rinsed", "emptied", "injected", "immersed", "drained")
"""Steps that leave tissue wet: what was dried or powdered before the last of them is so no more."""


class State(StrEnum):
    """How far a care step has come."""

    DONE = "done"
    UNDER_WAY = "under way"
    DUE = "due"
    LATE = "late"


@dataclass(frozen=True, slots=True)
class Task:
    """A care step of the plan.

    Attributes:
        what: stable, in plain words: `open-body`, `rinse`, `drain`, ...
        thing: what it is done on.
        words: what to do, as one would say it.
        why: the condition or the disposition that asks for it.
        source: where the demand comes from.
        kind: the kind of entry that records it.
        state: done, under way, due or late.
        due: when it may be done, for the end of a treatment; None for at once.
        done: when it was done.
    """

    what: str
    thing: str
    words: str
    why: str
    source: str
    kind: str
    state: State
    due: datetime | None = None
    done: Moment | None = None


@dataclass(frozen=True, slots=True)
class Reason:
    """Why viscera are to be taken in hand, and since when."""

    why: str
    since: Moment
    treat: bool


def plan(case: Case, policy: Policy, now: datetime) -> tuple[Task, ...]:
    """The care steps that the case's condition and disposition ask for.

    Args:
        case: the folded case.
        policy: the policy in force; it sets the treatment's least time.
        now: the hour, against which due and late are measured.

    Returns:
        What is open in its working order, the next step first; then what was done.
    """
    body = case.decedent
    if body is None or body.gone:
        return ()
    clock = _Clock(case, policy, now)
    tasks = [
        *_look_at(case, clock, body),
        *_devices(case, clock, body),
        *(task for viscera in _in_care(case) for task in _viscera(case, clock, body, viscera)),
        *_close(case, clock, body),
    ]
    return tuple(sorted(tasks, key=lambda task: task.state is State.DONE))


@dataclass(frozen=True, slots=True)
class _Clock:
    case: Case
    policy: Policy
    now: datetime

    def task(
        self,
        what: str,
        thing: Thing,
        words: str,
        why: str,
        done: Moment | None,
        *,
        kind: str = "cared-for",
        source: str = COMMON,
        due: datetime | None = None,
    ) -> Task:
        """The step with its state at this hour."""
        state = State.DONE if done else self._open(due)
        return Task(what, thing.id, words, why, source, kind, state, due, done)

    def _open(self, due: datetime | None) -> State:
        if due is not None and self.now < due:
            return State.UNDER_WAY
        overdue = due is not None and self.now - due > self.policy.span("overdue")
        planned = self.case.planned
        day = planned is not None and planned.day is not None and self._today() >= planned.day
        return State.LATE if overdue or day else State.DUE

    def _today(self) -> str:
        return f"{self.now:%Y-%m-%d}"


def reason_to_treat(case: Case, policy: Policy) -> str | None:
    """Why the viscera are to be treated, whatever their condition; None where nothing asks."""
    planned = case.planned
    if planned is None:
        return None
    if planned.disposition is Disposition.SENDING_ABROAD:
        return "the decedent is to be sent abroad"
    if planned.above_ground or planned.disposition is Disposition.ENTOMBMENT:
        return "the decedent is to rest in a vault or crypt above ground"
    days = policy.span("long-delay").days
    if planned.long_delay or _wait(case) > days:
        return "the disposition is a long way off"
    return None


def _wait(case: Case) -> int:
    """Days from the decedent's coming to the planned day."""
    planned, body = case.planned, case.decedent
    if planned is None or planned.day is None or body is None:
        return 0
    return (date.fromisoformat(planned.day) - body.came.at.date()).days


def trouble(case: Case, thing: Thing) -> tuple[str, Moment] | None:
    """A leak, an odour or wetness seen on a thing, or on what it lay in; what, and when.

    It stands until the same thing, or the pack that the tissue is in by now, is seen without it.
    """
    around = case.containers_of(thing.id)
    good_if = {thing.id, *(t.id for t in around[:1])}
    seen = [*((thing.id, c) for c in thing.conditions), *thing.around]
    seen.sort(key=lambda pair: pair[1].moment)
    for field, bad, words in (
        ("leak", True, "leaked"),
        ("odour", True, "smelled"),
        ("dry", False, "was not dry"),
    ):
        standing: dict[str, Moment] = {}
        for on, condition in seen:
            value = getattr(condition, field)
            if value is bad:
                standing.setdefault(on, condition.moment)
            elif value is not None:
                standing = {} if on in good_if else {k: m for k, m in standing.items() if k != on}
        for on, moment in standing.items():
            return f"{on} {words}", moment
    return None


def reason(case: Case, policy: Policy, viscera: Thing) -> Reason | None:
    """Why these viscera are to be taken in hand; None where they are to be left closed.

    A trouble that was seen stays the reason, and the steps are counted from then on, until a
    later inspection finds it gone.
    """
    asked = reason_to_treat(case, policy)
    seen = trouble(case, viscera)
    if seen:
        why = f"{seen[0]}, and {asked}" if asked else seen[0]
        return Reason(why, seen[1], treat=asked is not None)
    came = min(one.came for one, _ in descent(case, viscera))
    return Reason(asked, came, treat=True) if asked else None


def _in_care(case: Case) -> list[Thing]:
    """The viscera that are here, whole or in pieces."""
    return [
        t
        for t in case.own
        if t.what is ThingKind.VISCERA and isinstance(case.resting(t.id), AtPlace)
    ]


def _look_at(case: Case, clock: _Clock, body: Thing) -> Iterator[Task]:
    why = "what is due depends on leak, odour, dryness and suture"
    seen = next((c.moment for c in body.conditions if c.noted), None)
    if isinstance(case.resting(body.id), AtPlace):
        yield clock.task("look-at-body", body, "look at the body", why, seen, kind="inspected")


def _devices(case: Case, clock: _Clock, body: Thing) -> Iterator[Task]:
    planned = case.planned
    if planned is None or planned.disposition is not Disposition.CREMATION:
        return
    source = "NY PBH 4202(1); Gale & Mulley, J R Soc Med 2002;95:353-355"
    for device in case.own:
        if device.what is ThingKind.DEVICE and device.power is not Power.NONE:
            out = None if body in case.containers_of(device.id) else device.moved
            why = "cremation: it may explode, or contaminate the cremator"
            yield clock.task("remove-device", device, "remove the device", why, out, source=source)


def _viscera(case: Case, clock: _Clock, body: Thing, viscera: Thing) -> Iterator[Task]:
    found = reason(case, clock.policy, viscera)
    steps = history(case, viscera)
    if found is None:
        yield from _end_of_treatment(clock, viscera, steps, "it is under treatment")
        return
    yield from _reach(case, clock, body, viscera, found)

    def step(what: str, words: str, *names: str, after: Moment | None = None) -> Task:
        since = (s for s in steps if s.step in names and s.moment >= found.since)
        done = next((s.moment for s in since if after is None or s.moment > after), None)
        return clock.task(what, viscera, words, found.why, done)

    if not found.treat or trouble(case, viscera):
        yield step("rinse", "rinse", "rinsed")
    yield step("empty", "empty the hollow organs", "emptied")
    if found.treat:
        yield step("treat", "treat in a covered container, or inject", "immersed", "injected")
    yield from _end_of_treatment(clock, viscera, steps, found.why)
    wet = max((s.moment for s in steps if s.step in _WETS), default=None)
    dried = step("dry", "dry", "dried", after=wet)
    yield dried
    yield step("powder", "powder", "powdered", after=dried.done or wet)
    pack = _pack(case, viscera)
    packed = viscera.moved if pack and _moved_since(viscera, found.since) else None
    again = next(
        (s.moment for s in steps if s.step == "repacked" and s.moment >= found.since), packed
    )
    yield clock.task("repack", viscera, "put into a clean bag or net", found.why, again)


def _reach(case: Case, clock: _Clock, body: Thing, viscera: Thing, found: Reason) -> Iterator[Task]:
    """Open the body and the pack, unless the viscera have been taken out since."""
    around = case.containers_of(viscera.id)
    pack = _pack(case, viscera)
    moved = viscera.moved if _moved_since(viscera, found.since) else None
    if body in around:
        opened = _opened(body, found.since) or moved
        yield clock.task("open-body", body, "open the body", found.why, opened, kind="opened")
    if pack:
        opened = _opened(pack, found.since) or moved
        yield clock.task("open-pack", pack, "open the pack", found.why, opened, kind="opened")


def _end_of_treatment(clock: _Clock, viscera: Thing, steps: list[Step], why: str) -> Iterator[Task]:
    last = list(immersions(steps))[-1:]
    for start, end in last:
        due = start.moment.at + clock.policy.span("treatment")
        done = end.moment if end else None
        yield clock.task("drain", viscera, "drain", why, done, due=due)


def _close(case: Case, clock: _Clock, body: Thing) -> Iterator[Task]:
    """What was opened is closed again, the innermost first; the body is embalmed if it must be."""
    why = "what was opened is closed again"
    for viscera in _in_care(case):
        pack = _pack(case, viscera)
        came_sealed = pack is not None and pack.shut and pack.closures[-1].moment == pack.came
        if pack and not pack.inferred and not came_sealed:
            shut = pack.closures[-1].moment if pack.shut else None
            yield clock.task(
                "seal", pack, "seal the pack, or tie the net", why, shut, kind="sealed"
            )
        around = case.containers_of(viscera.id)
        if body not in around:
            back = viscera.moved if any(t.form is Form.COFFIN for t in around) else None
            words = "return to the cavity, or pack beside the body"
            yield clock.task("return", viscera, words, "all goes together", back, kind="put-in")
    asked = reason_to_treat(case, clock.policy)
    if asked:
        embalmed = body.step("embalmed")
        done = embalmed.moment if embalmed else None
        yield clock.task("embalm", body, "embalm the body", asked, done)
    reached = case.reached_into(body.id)
    seen = next((c for c in reversed(body.conditions) if c.suture), None)
    gaping = seen is not None and seen.suture != "sound"
    if body.closures or reached or gaping:
        shut = body.closures[-1].moment if body.shut else None
        if shut and ((reached and reached > shut) or (seen and gaping and seen.moment > shut)):
            shut = None
        yield clock.task("suture", body, "suture the body", why, shut)


def _pack(case: Case, viscera: Thing) -> Thing | None:
    """The container they are directly in, if it is one to be opened and sealed."""
    around = case.containers_of(viscera.id)
    pack = around[0] if around else None
    if pack is None or pack.what is not ThingKind.CONTAINER:
        return None
    return None if pack.form in (Form.COFFIN, Form.TUB) else pack


def _opened(thing: Thing, since: Moment) -> Moment | None:
    return next((c.moment for c in thing.closures if not c.shut and c.moment >= since), None)


def _moved_since(thing: Thing, since: Moment) -> bool:
    return thing.moved is not None and thing.moved > since
