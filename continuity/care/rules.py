"""What an intent may do next: everything that speaks against it, and what would mend it.

Rules judge before an entry is written; the fold judges nothing. The first law binds both: the
impossible intent is refused, the same thing found to be so is recorded and opens an
irregularity. An act recorded late is judged as of the moment it happened, and must leave what is
recorded of later moments possible.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from continuity.care.acts.base import Known
from continuity.care.case import fold, standing
from continuity.care.refusal import Objection
from continuity.care.things import case_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from continuity.care.acts.base import Act, Scene
    from continuity.care.case import Event, Thing
    from continuity.care.house import House


def standing_of_signers(act: Act, house: House, persons: Sequence[str]) -> Iterator[Objection]:
    """Who may record this kind, and how many must sign it, by the policy in force."""
    rule = house.policy.act(act.kind)
    fit = [p for p in persons if {r.value for r in house.roles(p)} & set(rule.roles)]
    if not fit:
        yield Objection(
            "role",
            f"{act.kind} is for {' or '.join(rule.roles)}, and {' and '.join(persons)} is neither",
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


def judge(act: Act, scene: Scene) -> list[Objection]:
    """Everything that speaks against an act in this scene, each sentence once."""
    found = [
        *standing_of_signers(act, scene.house, scene.persons),
        *names(act, scene.house),
        *act.objections(scene),
    ]
    return list(dict.fromkeys(found))


def concerned(act: Act, *scenes: Scene) -> list[str]:
    """The other cases an act touches: those it names, and those whose things it has to do with.

    Those are the owners of what it names, of what that lies in or holds, and of what shares a
    coffin with it, in any of the scenes: as it was when it happened, and as it is now. A
    correction touches whatever the struck entry stands in, too.
    """
    touched = dict.fromkeys(act.cases())
    for scene in scenes if act.mirrored else ():
        for thing in act.mentions():
            for near in (thing, *(t.id for t in (*scene.around(thing), *scene.within(thing)))):
                touched[case_of(near)] = None
                touched[scene.owner(near).associated.get(near, case_of(near))] = None
        for share in scene.case.shares:
            if share.coffin in act.mentions():
                touched |= dict.fromkeys(share.cases)
        struck = getattr(act, "strikes", None)
        for event in scene.case.events if struck else ():
            touched |= dict.fromkeys(event.act.in_cases if event.origin == struck else ())
    touched.pop(scenes[0].case.number, None)
    return list(touched)


def made_known(act: Act, scene: Scene) -> tuple[Known, ...]:
    """What the cases an act touches need to be told: what it names is and where, and outwards."""
    told: dict[str, Thing] = {}
    new = act.introduces()
    for thing in act.mentions():
        for near in (scene.find(thing), *scene.around(thing)):
            if near is not None and near.id not in new:
                told[near.id] = near
    return tuple(Known.of(thing) for thing in told.values())


def upsets(
    scene: Scene, events: Sequence[Event], new: Event, *, first: bool = True
) -> Iterator[Objection]:
    """What the new entry, in its place in time, would make impossible that is recorded later.

    Each later act is judged twice, in the history without the new entry and with it; an objection
    that only the second raises is the new entry's doing. What nobody could find to be so excludes
    the new entry: one of the two is wrong, and recording both would leave a thing nowhere. What a
    correction says instead is judged in the first of the chains that it touches.
    """
    before = {_key(e): e for e in standing(events)[0]}
    after = {_key(e): e for e in standing([*events, new])[0]}
    since = min(e.moment for k, e in (before | after).items() if (k in before) != (k in after))
    old = fold(scene.case.id, scene.case.number, ())
    changed = fold(scene.case.id, scene.case.number, ())
    for key, event in sorted((before | after).items(), key=lambda pair: pair[1].moment):
        if event.moment > since and key in before and key in after:
            then = _objections(event, replace(scene, case=old))
            now = _objections(event, replace(scene, case=changed))
            for code in sorted(now.keys() - then.keys()):
                yield _contradiction(event, now[code])
        if first and key not in before and event.number != new.number:
            yield from event.act.objections(replace(scene, case=changed))
        if key in before:
            old.apply(event)
        if key in after:
            changed.apply(event)


def _key(event: Event) -> tuple[int, datetime, datetime]:
    # An act that is read instead of a struck one has its number, and its correction's recording.
    return event.number, event.recorded_at, event.occurred_at


def _objections(event: Event, scene: Scene) -> dict[str, Objection]:
    at_that_time = replace(scene, occurred_at=event.occurred_at, persons=event.persons)
    return {o.code: o for o in (*event.act.objections(at_that_time), *_never_came(event, scene))}


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
