"""Sightings: recorded is not seen; each thing in the coffin was scanned after its last move."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.findings.accounts import Account, is_empty
from continuity.care.findings.base import Found, Look, finding, name, position
from continuity.care.findings.receipt import unlooked
from continuity.care.things import Form, Inside, PartOf, ThingKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case, Thing
    from continuity.care.records import Moment


def attested(case: Case, thing: Thing) -> Moment | None:
    """When a thing was last attested where it is: by its own scan, or by what it is shut in.

    What is shut in cannot be scanned. A scan of the container stands for the thing when the
    thing was scanned at or after its own last move, the container was shut after that and has
    not been opened since; and so on outwards, from the pack to the body's tag. An open container
    attests nothing.
    """
    latest = _scanned(case, thing)
    if latest is None:
        return None
    shut = _shut_over(case, thing, latest)
    if shut is None:
        return latest
    container, since = shut
    carried = attested(case, container)
    return carried if carried and carried > since else latest


def _scanned(case: Case, thing: Thing) -> Moment | None:
    """When it was last scanned itself, at or after its last move, whole as it is now."""
    own = (s.moment for s in thing.sightings if s.scanned and not _outdated(case, thing, s.moment))
    return max(own, default=None)


def _shut_over(case: Case, thing: Thing, latest: Moment) -> tuple[Thing, Moment] | None:
    """The container that was shut over a thing after its scan, and not opened since; and when."""
    if not isinstance(thing.where, Inside) or thing.where.thing not in case.things:
        return None
    container = case.things[thing.where.thing]
    since = [c for c in container.closures if c.moment > latest]
    if not since or not all(c.shut for c in since) or thing in case.containers_of(container.id):
        return None
    return container, since[0].moment


def _outdated(case: Case, thing: Thing, seen: Moment) -> bool:
    """Whether it was moved since, or something became part of it.

    A coffin is carried about with all that is in it.
    """
    changes = [t.moved for t in case.things.values() if t.where == PartOf(thing.id)]
    changes += [] if thing.form is Form.COFFIN else [thing.moved]
    return any(moved is not None and seen < moved for moved in changes)


def to_be_sighted(look: Look) -> list[Thing]:
    """What lies in the coffin and bears a label that can be scanned, and the coffin itself.

    Not what rests on the sender's word, shut in, nor what is in such a thing; not an implant, nor
    packaging with nothing in it.
    """
    return [
        t
        for t in look.standing(Account.IN_COFFIN)
        if not (t.what is ThingKind.DEVICE and t.where == Inside(_body(look)))
        and not (is_empty(look.case, t) and t is not look.coffin)
        and not _on_the_senders_word(look.case, t)
    ]


def _on_the_senders_word(case: Case, thing: Thing) -> bool:
    """Whether nobody could have looked: it, or what it is in, was inferred, and it is shut in.

    The body is shut as it came until somebody opens it.
    """
    around = case.containers_of(thing.id)
    packs = [t for t in around if t.form is not Form.COFFIN]
    shut = any(t.shut or (t.what is ThingKind.DECEDENT and not t.closures) for t in packs)
    return shut and any(unlooked(x) for x in (thing, *around))


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
            how = _why_not(look.case, thing)
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


def _why_not(case: Case, thing: Thing) -> str:
    """Why none of its sightings is a scan of it where it is."""
    if any(s.no_label and not _outdated(case, thing, s.moment) for s in thing.sightings):
        return "bore no label when it was recorded as scanned"
    if any(s.scanned for s in thing.sightings):
        return "was scanned only before its last move"
    return "was seen, never scanned"


def _scan(look: Look, thing: Thing) -> str:
    """What is to be scanned for it, and what must be opened or printed first."""
    carrier = _carrier(look.case, thing)
    if carrier is not None and carrier is not thing:
        words, kinds = _of_its_label(look, carrier)
        return f"{words}, in which {thing.id} is shut ({', '.join(kinds)})"
    words, kinds = _of_its_label(look, thing)
    shut = [c for c in reversed(look.case.containers_of(thing.id)) if c.shut]
    opened = ["coffin-reopened" if c.form is Form.COFFIN else "opened" for c in shut]
    opening = f"open {', then '.join(c.id for c in shut)}, and " if shut else ""
    return f"{opening}{words} ({', '.join(dict.fromkeys((*opened, *kinds)))})"


def _of_its_label(look: Look, thing: Thing) -> tuple[str, tuple[str, ...]]:
    """How a thing's own label, or the body's tag, is read; and by which kinds that is recorded."""
    if thing is look.body:
        return f"read the tag of {thing.id}", ("identified",)
    if any(bearer.borne for bearer in look.case.bearers(thing)):
        return f"scan the label of {thing.id}", ("sighted",)
    words = f"print a label for {thing.id} with `continuity label`, fix it on and scan it"
    return words, ("labelled", "sighted")


def _carrier(case: Case, thing: Thing) -> Thing | None:
    """Whose scan would attest the thing afresh; None where something must be opened for it."""
    for outer in case.containers_of(thing.id):
        if not any(c.shut for c in case.containers_of(thing.id)):
            return thing
        latest = _scanned(case, thing)
        if latest is None or _shut_over(case, thing, latest) is None:
            return None
        thing = outer
    return thing
