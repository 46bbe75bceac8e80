"""The case in brief, who is who, and gaps in custody: what page and paper say alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.dossier.tables import clock, moment

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.audit.dossier.details import Detail
    from continuity.audit.dossier.story import Story


def brief(story: Story) -> Iterator[tuple[str, str | Detail]]:
    """What a stranger asks first: what it is called, and what is said of it."""
    case, body, planned = story.case, story.case.decedent, story.case.planned
    yield "Who", next((d for d in story.details if d.field == "name"), "no name recorded")
    yield "Coroner's reference", case.coroner_reference or "none recorded"
    yield "Released by", case.release_authority or "no authority recorded"
    yield "Opened", moment(case.opened.at if case.opened else None)
    yield "Last entry", clock(story.entries[-1][0].occurred_at) if story.entries else "none"
    day = f" on {planned.day}" if planned and planned.day else ""
    yield (
        "Planned",
        f"{planned.disposition.value.replace('-', ' ')}{day}" if planned else "nothing",
    )
    where = f"{body.id}, {story.names.where(body.where)}" if body else "not received"
    yield "The decedent", where
    ended = sum(thing.gone for thing in case.own)
    ways = "joined to another, divided, discarded, released, or gone with the disposition"
    yield (
        "Things",
        f"{len(case.own)} recorded" + (f"; {ended} of them since {ways}" if ended else ""),
    )
    stops, words = sum(finding.stops for finding in story.verdict.findings), story.verdict.words
    if words == "not clear":
        words = f"not clear: {stops} finding{' stops' if stops == 1 else 's stop'} the closing"
    yield "Closing check", words


def gaps(story: Story) -> list[str]:
    """Where nothing says how a thing came from one holder to the next, or one has not signed."""
    names = story.names
    found = [
        f"{names.thing(b.thing)}: {b.what.value} between {names.holder(b.before)} and"
        f" {names.holder(b.after)} at {moment(b.moment.at)}; entry {b.moment.number} is no"
        " hand-over from the one to the other."
        for b in story.custody.broken
    ]
    return found + [
        f"{names.things(t.things)}: handed over to {names.holder(t.taker)} at"
        f" {moment(t.moment.at)}, and one side has not signed (entry {t.entry})."
        for t in story.case.transfers
        if t.accepted is None and t.things
    ]


def who_is_who(story: Story) -> str:
    """The persons who recorded or signed, by the short names that stand for them."""
    roles: dict[str, set[str]] = {}
    for key in story.house.keys.values():
        roles.setdefault(key.person, set()).add(key.role.value)
    persons = {one for event in story.case.events for one in (event.by, *event.persons)}
    named = [f"{p} ({', '.join(sorted(roles.get(p, {'not enrolled'})))})" for p in sorted(persons)]
    return (
        "The firm's people go by short names, and the firm knows whose they are:"
        f" {', '.join(named) or 'nobody recorded anything'}."
    )
