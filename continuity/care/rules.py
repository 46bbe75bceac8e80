"""What an intent may do next: everything that speaks against it, and what would mend it.

Rules judge before an entry is written; the fold judges nothing. The first law binds both: the
impossible intent is refused, the same thing found to be so is recorded and opens an
irregularity. An act recorded late is judged as of the moment it happened, and must leave what is
recorded of later moments possible.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from continuity.care.case import fold, standing
from continuity.care.refusal import Objection
from continuity.care.things import case_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from continuity.care.acts.base import Act, Scene
    from continuity.care.case import Event
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


def concerned(act: Act, scene: Scene) -> list[str]:
    """The other cases an act touches: owners of what it names, of what lies inside, or named."""
    touched: dict[str, None] = dict.fromkeys(act.cases())
    for thing in act.mentions() if act.mirrored else ():
        touched[case_of(thing)] = None
        owner = scene.owner(thing)
        if thing in owner.associated:
            touched[owner.associated[thing]] = None
        for content in owner.all_contents(thing):
            touched[content.case] = None
    for share in scene.case.shares if act.mirrored else ():
        if share.coffin in act.mentions():
            touched |= dict.fromkeys(share.cases)
    touched.pop(scene.case.number, None)
    return list(touched)


def upsets(scene: Scene, events: Sequence[Event], new: Event) -> Iterator[Objection]:
    """What the new entry, in its place in time, would make impossible that is recorded later.

    Each later act is judged twice, in the history without the new entry and with it; an objection
    that only the second raises is the new entry's doing.
    """
    before = {_key(e): e for e in standing(events)[0]}
    after = {_key(e): e for e in standing([*events, new])[0]}
    since = min(e.moment for k, e in (before | after).items() if (k in before) != (k in after))
    old = fold(scene.case.id, scene.case.number, ())
    changed = fold(scene.case.id, scene.case.number, ())
    for key, event in sorted((before | after).items(), key=lambda pair: pair[1].moment):
        if event.moment > since and key in before and key in after:
            then = _codes(event, replace(scene, case=old))
            now = _codes(event, replace(scene, case=changed))
            for code in sorted(now - then):
                yield Objection(
                    "contradicts-later",
                    f"entry {event.number} ({event.act.kind}) could not have been ({code})"
                    " had this been so",
                    f"correct entry {event.number} first, or record this with --found",
                )
        if key not in before and event.number != new.number:
            yield from event.act.objections(replace(scene, case=changed))
        if key in before:
            old.apply(event)
        if key in after:
            changed.apply(event)


def _key(event: Event) -> tuple[int, datetime, datetime]:
    # An act that is read instead of a struck one has its number, and its correction's recording.
    return event.number, event.recorded_at, event.occurred_at


def _codes(event: Event, scene: Scene) -> set[str]:
    at_that_time = replace(scene, occurred_at=event.occurred_at, persons=event.persons)
    return {o.code for o in event.act.objections(at_that_time)}
