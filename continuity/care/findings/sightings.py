"""Sightings: recorded is not seen; each thing in the coffin was scanned after its last move."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.findings.accounts import Account, is_empty
from continuity.care.findings.base import Found, Look, finding, name, position
from continuity.care.findings.receipt import unlooked
from continuity.care.things import Form, Inside, ThingKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case, Moment, Thing


def attested(case: Case, thing: Thing) -> Moment | None:
    """When a thing was last attested where it is: by its own scan, or by what it is shut in.

    What is shut in cannot be scanned. A scan of the container stands for the thing when the
    thing was scanned at or after its own last move, the container was shut after that and has
    not been opened since; and so on outwards, from the pack to the body's tag. An open container
    attests nothing.
    """
    own = [s.moment for s in thing.sightings if s.scanned and not _outdated(thing, s.moment)]
    if not own:
        return None
    latest = max(own)
    if not isinstance(thing.where, Inside) or thing.where.thing not in case.things:
        return latest
    container = case.things[thing.where.thing]
    since = [c for c in container.closures if c.moment > latest]
    if not since or not all(c.shut for c in since) or thing in case.containers_of(container.id):
        return latest
    carried = attested(case, container)
    return carried if carried and carried > since[0].moment else latest


def _outdated(thing: Thing, seen: Moment) -> bool:
    """Whether it was moved since; a coffin is carried about with all that is in it."""
    return thing.form is not Form.COFFIN and thing.moved is not None and seen < thing.moved


def to_be_sighted(look: Look) -> list[Thing]:
    """What lies in the coffin and bears a label that can be scanned, and the coffin itself.

    Not what rests on the sender's word, nor what is in such a thing; not an implant, nor packaging
    with nothing in it.
    """
    return [
        t
        for t in look.standing(Account.IN_COFFIN)
        if not (t.what is ThingKind.DEVICE and t.where == Inside(_body(look)))
        and not (is_empty(look.case, t) and t is not look.coffin)
        and not any(unlooked(x) for x in (t, *look.case.containers_of(t.id)))
    ]


def _body(look: Look) -> str:
    return look.body.id if look.body else ""


@finding("never-sighted", "ISO/IEC 27037:2012: who accessed it, when, where [from memory]")
def never_sighted(look: Look) -> Iterator[Found]:
    """A thing is recorded in the coffin, and has not been sighted once since it came."""
    for thing in to_be_sighted(look):
        if not thing.sightings:
            yield look.found(
                f"{name(thing)} is recorded {position(look, thing)}, and was never sighted",
                _scan(look, thing),
                thing,
            )


@finding("not-sighted", "common practice, no source: recorded is not seen")
def not_sighted(look: Look) -> Iterator[Found]:
    """A thing in the coffin was not scanned for the closing, after its last move."""
    for thing in to_be_sighted(look):
        last = thing.last_sighting
        if last is None:
            continue
        when = attested(look.case, thing)
        if when is None:
            scanned = any(s.scanned for s in thing.sightings)
            how = "was scanned only before its last move" if scanned else "was seen, never scanned"
        elif look.now - when.at > look.span("closing-sighting"):
            how = "was not scanned within the time the policy gives before the closing"
        else:
            continue
        yield look.found(
            f"{name(thing)} is recorded {position(look, thing)}, and {how}",
            _scan(look, thing),
            thing,
            shown_by=(thing.moved, last.moment),
        )


def _scan(look: Look, thing: Thing) -> str:
    shut = next((c for c in look.case.containers_of(thing.id) if c.shut), None)
    if shut is None:
        return f"scan the label of {thing.id} (sighted)"
    if attested(look.case, thing):
        return f"scan the label of {shut.id}, in which it is shut (sighted)"
    return f"open {shut.id}, and scan {thing.id} in it (opened, sighted)"
