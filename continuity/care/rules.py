"""What an intent may do next: everything that speaks against it, and what would mend it.

Rules judge before an entry is written; the fold judges nothing. The first law binds both: the
impossible intent is refused, the same thing found to be so is recorded and opens an
irregularity. An act recorded late is judged as of the moment it happened, and must leave what is
recorded of later moments possible.
"""

from __future__ import annotations

from collections import ChainMap
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from continuity.care.fold import fold, standing
from continuity.care.known import Known
from continuity.care.records import Event
from continuity.care.refusal import Objection
from continuity.care.things import GONE, AtPlace, Inside, WithHolder, case_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from continuity.care.acts.base import Act
    from continuity.care.case import Case, Thing
    from continuity.care.house import House
    from continuity.care.scene import Scene


def standing_of_signers(act: Act, house: House, persons: Sequence[str]) -> Iterator[Objection]:
    """Who may record this kind, and how many must sign it, by the policy in force."""
    rule = house.policy.act(act.kind)
    fit = [p for p in persons if {r.value for r in house.roles(p)} & set(rule.roles)]
    if not fit:
        yield Objection(
            "role",
            f"{act.kind} is for {' or '.join(rule.roles)}, and {' and '.join(persons)} is none",
            "let somebody with that role record it",
            findable=False,
        )
    if len(set(persons)) < rule.persons:
        yield Objection(
            "second-person",
            f"{act.kind} needs {rule.persons} persons, and {len(set(persons))} signed",
            "let another enrolled person sign as well",
            findable=False,
        )


def names(act: Act, house: House) -> Iterator[Objection]:
    """Places and holders must have been named."""
    for place in act.places():
        if place not in house.places:
            yield Objection(
                "no-such-place",
                f"no place called {place} is named in this register",
                "name the place first, or correct the spelling",
                findable=False,
            )
    for holder in act.holders():
        if holder not in house.holders:
            yield Objection(
                "no-such-holder",
                f"no holder called {holder} is named in this register",
                "name the holder first, or correct the spelling",
                findable=False,
            )


def blanks(act: Act) -> Iterator[Objection]:
    """What is given must say something: a blank is no authority and no reason."""
    blank = sorted(path for path, text in _texts(act.details()) if not text.strip())
    if blank:
        yield Objection(
            "blank",
            f"{' and '.join(blank)} of {act.kind} says nothing",
            "say it, or leave it out",
            findable=False,
        )


def _texts(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        yield path, value
    inner = value.items() if isinstance(value, dict) else ()
    for name, one in inner:
        yield from _texts(one, f"{path}.{name}" if path else name)
    for number, one in enumerate(value if isinstance(value, list) else (), 1):
        yield from _texts(one, f"{path}.{number}")


def judge(act: Act, scene: Scene) -> list[Objection]:
    """Everything that speaks against an act in this scene, each sentence once."""
    found = [
        *standing_of_signers(act, scene.house, scene.persons),
        *names(act, scene.house),
        *blanks(act),
        *act.objections(scene),
    ]
    return list(dict.fromkeys(found))


def moved_meanwhile(
    act: Act, looked: Mapping[str, Case], now: Mapping[str, Case]
) -> Iterator[Objection]:
    """What an act names was moved after whoever asks for the act had looked.

    Args:
        act: what is to be recorded.
        looked: the cases that went on since, by number, as they were then.
        now: the same cases as they are.
    """
    for thing_id in act.mentions():
        case = now.get(case_of(thing_id))
        then = looked[case.number].things.get(thing_id) if case else None
        thing = case.things.get(thing_id) if case else None
        if case is None or then is None or thing is None or then.moved == thing.moved:
            continue
        mover = next((e for e in case.events if e.moment == thing.moved), None)
        by = f": {mover.by} recorded {mover.act.kind}" if mover else ""
        where = {Inside: "inside {0.thing}", AtPlace: "at {0.place}", WithHolder: "with {0.holder}"}
        now_is = where.get(type(thing.where), "gone").format(thing.where)
        yield Objection(
            "moved-meanwhile",
            f"{thing_id} ({thing.description}) was moved after you looked{by}, and it is {now_is}",
            "look where it is; if it went there all the same, scan or record it once more",
        )


def concerned(act: Act, *scenes: Scene) -> list[str]:
    """The other cases an act touches: those it names, and those whose things it has to do with.

    Those are the owners of what it names, of what that is in, one with, holds or became, of what
    left so with it, and of what shares a coffin with it, in any of the scenes: as it was when it
    happened, and as it is now. So whoever follows a thing hears of every act on it (`Case.part`).
    A correction touches whatever the struck entry stands in, too.
    """
    touched = dict.fromkeys(act.cases())
    for scene in scenes if act.mirrored else ():
        for one in _with_struck(act, scene):
            touched |= dict.fromkeys(one.in_cases)
            for thing in one.mentions():
                together = (t.id for t in (*scene.wholes(thing), *scene.parts(thing)))
                for near in (thing, *together, *_left_with(scene, thing)):
                    owner = scene.owner(near)
                    touched[case_of(near)] = None
                    touched[owner.associated.get(near, case_of(near))] = None
                    for share in owner.shares:
                        touched |= dict.fromkeys(share.cases if share.coffin == near else ())
    touched.pop(scenes[0].case.number, None)
    return list(touched)


def _left_with(scene: Scene, thing: str) -> list[str]:
    """What a thing lay in as it left for good, and what lay in it."""
    known = scene.find(thing)
    held = (t.id for t in scene.owner(thing).things.values() if thing in t.rested_in)
    return [*(known.rested_in if known else ()), *held]


def _with_struck(act: Act, scene: Scene) -> list[Act]:
    """The act and, if it is a correction, the one that it strikes."""
    struck = act.strikes_leaf()
    events = scene.case.events if struck else ()
    return [act, *(event.act for event in events if event.origin == struck)]


def made_known(act: Act, before: Scene, after: Scene | None = None) -> tuple[Known, ...]:
    """What the cases an act touches need to be told: what it names, what that is in and holds.

    Args:
        act: what is to be recorded.
        before: as it was when it happened.
        after: for a correction, as it is once it is recorded.
    """
    after = after or before
    acts = _with_struck(act, before)
    near: dict[str, Thing] = {}
    for scene in (before, after):
        for thing in (thing for named in acts for thing in named.mentions()):
            for one in (scene.find(thing), *scene.wholes(thing), *scene.parts(thing)):
                if one is not None and one.id not in act.introduces():
                    # What lies in a container is read from the container's case: it may be behind.
                    near[one.id] = scene.find(one.id) or one
    return tuple(
        Known.of(thing, after.find(thing.id), came_after=_came_after(after, thing.id))
        for thing in near.values()
    )


def _came_after(scene: Scene, thing: str) -> bool:
    """Whether it lies in what has left, and came there after it had left itself."""
    known = scene.find(thing)
    if known is None or not isinstance(known.where, Inside):
        return False
    return known.moved_since_leaving and isinstance(scene.resting(thing), GONE)


class History(NamedTuple):
    """The chain of a case, and the entry that is to go into it."""

    case_id: str
    number: str
    events: Sequence[Event]
    new: Event


def once_recorded(scene: Scene, histories: Sequence[History]) -> Scene:
    """The scene as the new entry makes it."""
    cases = {h.number: fold(h.case_id, h.number, [*h.events, h.new]) for h in histories}
    others = ChainMap(cases, scene.others)  # type: ignore[arg-type]
    return replace(scene, case=cases[scene.case.number], others=others)


Turn = tuple[dict[str, Event], dict[str, Event]]
"""One act in the chains of the cases it touches: as it stands so far, and with the new entry."""


def upsets(scene: Scene, histories: Sequence[History]) -> Iterator[Objection]:
    """What the new entry, in its place in time, would make impossible that is recorded later.

    Each later act is judged twice, in the histories without the new entry and with it; an
    objection that only the second raises is the new entry's doing. What nobody could find to be
    so excludes the new entry: one of the two is wrong, and recording both would leave a thing
    nowhere. What a correction says instead is judged in its own place.
    """
    old = {h.number: fold(h.case_id, h.number, ()) for h in histories}
    changed = {h.number: fold(h.case_id, h.number, ()) for h in histories}
    differs = False
    for before, after in _turns(histories):
        if before and after and differs:
            event = next(iter(after.values()))
            then = _objections(event, scene, old)
            now = _objections(event, scene, changed)
            for code in sorted(now.keys() - then.keys()):
                yield _contradiction(event, now[code])
        elif not before and histories[0].number in after:
            event = after[histories[0].number]
            if event is not histories[0].new:
                yield from _objections(event, scene, changed).values()
        differs = differs or not (before and after)
        for number, event in before.items():
            old[number].apply(event)
        for number, event in after.items():
            changed[number].apply(event)


def _turns(histories: Sequence[History]) -> Iterator[Turn]:
    """The acts of these chains in the order in which they happened, copies of one together."""
    turns: dict[Any, Turn] = {}
    for history in histories:
        recorded = [e.recorded_at for e in (*history.events, history.new)]
        for with_new, events in enumerate((history.events, [*history.events, history.new])):
            for event in standing(events)[0]:
                order = event.occurred_at, recorded[event.number], event.origin, event.recorded_at
                turns.setdefault(order, ({}, {}))[with_new][history.number] = event
    yield from (turns[order] for order in sorted(turns, key=lambda order: order[:2]))


def _objections(event: Event, scene: Scene, cases: dict[str, Case]) -> dict[str, Objection]:
    """What speaks against an act in the case it was recorded in, with the others as they were."""
    others = ChainMap(cases, scene.others)  # type: ignore[arg-type]
    first = event.act.in_cases[0] if event.act.in_cases else None
    if event.act.strikes_leaf():
        return {}  # a correction is about the record, not about what happened
    scene = replace(
        scene,
        case=others[first] if first else next(c for c in cases.values() if c.id == event.case),
        others=others,
        occurred_at=event.occurred_at,
        persons=event.persons,
    )
    found = {o.code: o for o in (*event.act.objections(scene), *_never_came(event, scene))}
    found.pop("number-spent", None)  # numbers follow the order of recording
    return found


def _never_came(event: Event, scene: Scene) -> Iterator[Objection]:
    for thing in event.act.mentions():
        known = scene.find(thing)
        if thing not in event.act.introduces() and (known is None or known.receipt == "mentioned"):
            yield Objection(
                "never-came",
                f"{thing} is in no earlier entry",
                "record its receipt",
                findable=False,
            )


def _contradiction(event: Event, raised: Objection) -> Objection:
    later = f"entry {event.number} ({event.act.kind})"
    if raised.findable:
        return Objection(
            "contradicts-later",
            f"{later} could not have been ({raised.code}) had this been so",
            f"correct entry {event.number} first, or record this with --found",
        )
    return Objection(
        "excludes-later",
        f"{later} and this cannot both have been ({raised.code})",
        f"correct entry {event.number} first",
        findable=False,
    )
