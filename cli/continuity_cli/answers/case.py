"""continuity-case/1: what `case` answers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NotRequired

from typing_extensions import TypedDict

from continuity_cli.answers.things import ThingAnswer, thing_answer, when

if TYPE_CHECKING:
    from collections.abc import Sequence

    from continuity.care.case import Case
    from continuity.care.records import Event, Irregularity, Planned
    from continuity_cli.asked import Asked

SHAPE = "continuity-case/1"


class PlanAnswer(TypedDict):
    """The disposition planned, and since when."""

    disposition: str
    day: str | None
    authority: str | None
    above_ground: bool
    long_delay: bool
    since: str


class IrregularityAnswer(TypedDict):
    """Something that should not be so; `resolved` is None while it is open."""

    entry: int
    since: str
    codes: list[str]
    things: list[str]
    what: str
    resolved: str | None
    resolution: str | None
    resolved_by: str | None


class EntryAnswer(TypedDict):
    """One entry of the case's chain; `struck_by` is the number of the correction, if any."""

    entry: int
    kind: str
    occurred_at: str
    recorded_at: str
    utc_offset: str
    by: str
    persons: list[str]
    leaf: str
    mirrors: str | None
    struck_by: int | None
    details: dict[str, Any]


class Answer(TypedDict):
    """A case as the register knows it, or knew it; `entries` and `personal` when asked for.

    `as_of` is how many entries the register held: an intent that carries it is refused where
    somebody has moved its things since.
    """

    shape: str
    case: str
    as_of: int
    known_until: str | None
    happened_until: str | None
    opened: str | None
    coroner_reference: str | None
    release_authority: str | None
    plan: PlanAnswer | None
    disposed: str | None
    things: list[ThingAnswer]
    irregularities: list[IrregularityAnswer]
    entries: NotRequired[list[EntryAnswer]]
    personal: NotRequired[dict[str, dict[str, str]]]


def answer(case: Case, asked: Asked, as_of: int) -> Answer:
    """A case as JSON."""
    return Answer(
        shape=SHAPE,
        case=case.number,
        as_of=as_of,
        known_until=when(asked.known),
        happened_until=when(asked.happened),
        opened=when(case.opened.at if case.opened else None),
        coroner_reference=case.coroner_reference,
        release_authority=case.release_authority,
        plan=_plan(case.planned) if case.planned else None,
        disposed=case.disposed[1].value if case.disposed else None,
        things=[thing_answer(case, thing) for thing in _things(case)],
        irregularities=[_irregularity(matter) for matter in case.irregularities.values()],
    )


def _things(case: Case) -> list[Any]:
    """The case's own things, then those of other cases that lie in them or were mentioned."""
    own = case.own
    return own + [thing for thing in case.things.values() if thing not in own]


def _plan(planned: Planned) -> PlanAnswer:
    return PlanAnswer(
        disposition=planned.disposition.value,
        day=planned.day,
        authority=planned.authority,
        above_ground=planned.above_ground,
        long_delay=planned.long_delay,
        since=when(planned.moment.at) or "",
    )


def _irregularity(matter: Irregularity) -> IrregularityAnswer:
    return IrregularityAnswer(
        entry=matter.number,
        since=when(matter.moment.at) or "",
        codes=list(matter.codes),
        things=list(matter.things),
        what=matter.text,
        resolved=when(matter.resolved.at if matter.resolved else None),
        resolution=matter.resolution,
        resolved_by=matter.resolved_by,
    )


def entries_answer(case: Case, events: Sequence[Event], asked: Asked) -> list[EntryAnswer]:
    """The entries of a case's chain as far as they were asked for, struck ones too."""
    return [
        EntryAnswer(
            entry=event.number,
            kind=event.act.kind,
            occurred_at=when(event.occurred_at) or "",
            recorded_at=when(event.recorded_at) or "",
            utc_offset=event.utc_offset,
            by=event.by,
            persons=list(event.persons),
            leaf=event.leaf,
            mirrors=event.mirrors,
            struck_by=case.struck.get(event.leaf, case.struck.get(event.mirrors or "")),
            details=event.act.details(),
        )
        for event in events
        if asked.covers(event)
    ]
