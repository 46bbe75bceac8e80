"""Ashes: after a cremation the reckoning goes on; each portion is released, or here and named."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.findings.accounts import Account
from continuity.care.findings.base import (
    Found,
    Look,
    correct,
    finding,
    instructing,
    name,
    names,
    position,
    settle,
)
from continuity.care.things import Disposition, ThingKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing

_DISC = (
    "COMAR 09.34.08.06: a hard metal disc stays in the cremator throughout; AL 395-X-6-.13: the tag"
    " stays with the remains"
)


def _portions(look: Look, *accounts: Account) -> list[Thing]:
    return [t for t in look.standing(*accounts) if t.what is ThingKind.ASHES]


@finding("ashes-awaited", "common practice, no source", goes_on=True)
def ashes_awaited(look: Look) -> Iterator[Found]:
    """The decedent was cremated, and no ashes have come."""
    disposed = look.case.disposed
    cremated = disposed is not None and disposed[1] is Disposition.CREMATION
    if disposed and cremated and not any(t.what is ThingKind.ASHES for t in look.own):
        yield look.found(
            "the decedent was cremated, and no ashes have come",
            "ask the crematory; record their coming (ashes-received)",
            shown_by=(disposed[0],),
        )


@finding("ashes-without-cremation", "common practice, no source", goes_on=True)
def ashes_without_cremation(look: Look) -> Iterator[Found]:
    """Ashes came, and nothing of the case is recorded as cremated."""
    disposed = look.case.disposed
    cremated = disposed is not None and disposed[1] is Disposition.CREMATION
    part = any(t.leaving and t.leaving.way == Disposition.CREMATION for t in look.own)
    came = [t for t in look.own if t.what is ThingKind.ASHES and not from_ashes(look, t)]
    if look.body and came and not (cremated or part):
        yield look.found(
            f"{names(came)} came, and nothing of the case is recorded as cremated",
            f"find out whose ashes they are; record the cremation (disposed), or"
            f" {correct(came[0].came)}",
            *came,
            shown_by=[t.came for t in came],
        )


@finding("disc-differs", _DISC, goes_on=True, past=True)
def disc_differs(look: Look) -> Iterator[Found]:
    """The identity disc that came with the ashes is not the decedent's."""
    for thing in look.own:
        if thing.disc_agrees is False:
            yield look.found(
                f"the identity disc that came with {name(thing)} is not this decedent's",
                f"ask the crematory at once, and {settle('disc-differs')}",
                thing,
                shown_by=(thing.came,),
            )


@finding("disc-not-read", _DISC, goes_on=True)
def disc_not_read(look: Look) -> Iterator[Found]:
    """Nobody compared the identity disc that came with the ashes."""
    for thing in _portions(look, Account.HERE, Account.OUTSIDE, Account.RELEASED):
        if thing.disc_agrees is None and not from_ashes(look, thing):
            yield look.found(
                f"nobody compared the identity disc of {name(thing)}",
                f"compare it, and {_saying_so(look, thing)}",
                thing,
                shown_by=(thing.came,),
            )


def _saying_so(look: Look, thing: Thing) -> str:
    """How it is recorded what the disc said, by the kind of entry the ashes came with."""
    came = next((e.act.kind for e in look.case.events if e.moment == thing.came), None)
    if came == "ashes-received":
        return correct(thing.came, "disc_agrees")
    return f"{correct(thing.came)}; then record that they came (ashes-received --disc-agrees)"


def from_ashes(look: Look, thing: Thing) -> bool:
    """Whether it is a portion of ashes that came, rather than what came."""
    known = (look.case.things.get(parent) for parent in thing.parents)
    return any(parent is not None and parent.what is ThingKind.ASHES for parent in known)


@finding("ashes-here", "SD 34-26A-21: returned to a named person, signed for", goes_on=True)
def ashes_here(look: Look) -> Iterator[Found]:
    """Ashes are here, and have not been given to anybody."""
    for thing in _portions(look, Account.HERE, Account.FORMER_COFFIN):
        yield look.found(
            f"{name(thing)} is {position(look, thing)}, and was given to nobody",
            f"release {thing.id} to whoever is entitled (released), or record its burial"
            " (disposed)",
            thing,
        )


@finding("ashes-divided", "MS 73-11-71: no dividing without written consent", goes_on=True)
def ashes_divided(look: Look) -> Iterator[Found]:
    """Ashes were divided, and no wish of the family is on record."""
    for thing in _portions(look, Account.DIVIDED):
        if thing.instruction is None:
            yield look.found(
                f"{name(thing)} were divided, and no consent to it is on record",
                f"get the consent in writing, and record it for {thing.id} ({instructing(thing)})",
                thing,
            )
