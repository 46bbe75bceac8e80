"""Accounts: where each thing of a case stands, so that none can fall between two checks.

Law of conservation: at every moment each thing has exactly one account. A check asks for the
accounts it speaks of, and every account that is not in order has a check that speaks of it.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from continuity.care.things import (
    GONE,
    Discarded,
    Disposed,
    Divided,
    Form,
    Inside,
    PartOf,
    Released,
    ThingKind,
    Unseen,
    Whereabouts,
    WithHolder,
)

if TYPE_CHECKING:
    from continuity.care.case import Case, Thing


class Account(StrEnum):
    """Where a thing stands."""

    IN_COFFIN = "in the coffin the decedent lies in, or one around it, or that coffin"
    HERE = "at a place of the firm, not in the coffin"
    EMPTY = "a container here with nothing in it"
    FORMER_COFFIN = "in a coffin the decedent does not lie in"
    ANOTHERS = "in, or one with, a thing of another case"
    OUTSIDE = "with a holder outside"
    RELEASED = "given to a person for good"
    DISPOSED = "has reached a final disposition"
    LEFT_ALONG = "in a container that was released"
    JOINED = "one with another thing of the case"
    DIVIDED = "exists only as its pieces"
    DISCARDED = "thrown away"
    IN_WHAT_IS_GONE = "in a thing that was discarded, divided or joined, or had left before"
    IN_WHAT_IS_UNSEEN = "in a thing that was never seen here"
    UNSEEN = "never seen here"
    CIRCLE = "by the record inside itself, or one with itself"


_BY_ITSELF = {
    Released: Account.RELEASED,
    Disposed: Account.DISPOSED,
    Divided: Account.DIVIDED,
    Discarded: Account.DISCARDED,
    Unseen: Account.UNSEEN,
}


def account(case: Case, thing: Thing) -> Account:
    """Where a thing of the case stands."""
    if isinstance(thing.where, PartOf):
        return _joined(case, thing)
    if type(thing.where) in _BY_ITSELF:
        return _BY_ITSELF[type(thing.where)]
    around = case.containers_of(thing.id)
    outermost = (around[-1] if around else thing).where
    if isinstance(outermost, Inside):
        return Account.CIRCLE
    if any(is_foreign(case, container) for container in around):
        return Account.ANOTHERS
    return _in_what_is_lost(case, thing, around, outermost) or _held(case, thing, around, outermost)


def _in_what_is_lost(
    case: Case, thing: Thing, around: list[Thing], outermost: Whereabouts
) -> Account | None:
    if isinstance(outermost, Released | Disposed):
        outer, inner = around[-1], [thing, *around][-2]
        along = inner.leaving is not None and inner.leaving.moment == outer.moved
        if along and not inner.moved_since_leaving:
            return Account.LEFT_ALONG
        return Account.IN_WHAT_IS_GONE
    if isinstance(outermost, GONE):
        return Account.IN_WHAT_IS_GONE
    if isinstance(outermost, Unseen) and case.belongs(around[-1].id):
        return Account.IN_WHAT_IS_UNSEEN
    return None


def _held(case: Case, thing: Thing, around: list[Thing], outermost: Whereabouts) -> Account:
    if any(coffin in (thing, *around) for coffin in case.coffins):
        return Account.IN_COFFIN
    if isinstance(outermost, WithHolder):
        return Account.OUTSIDE
    if is_empty(case, thing):
        return Account.EMPTY
    if any(container.form is Form.COFFIN for container in around):
        return Account.FORMER_COFFIN
    return Account.HERE


def _joined(case: Case, thing: Thing) -> Account:
    """What a joined thing is one with in the end must be of this case, and be something."""
    seen = {thing.id}
    whole = thing
    while isinstance(whole.where, PartOf):
        if whole.where.thing in seen:
            return Account.CIRCLE
        if whole.where.thing not in case.things or not case.belongs(whole.where.thing):
            return Account.ANOTHERS
        whole = case.things[whole.where.thing]
        seen.add(whole.id)
    return Account.JOINED


def is_foreign(case: Case, container: Thing) -> bool:
    """Whether a container is another case's, and no recorded authority lets this case use it."""
    return not case.belongs(container.id) and not is_shared(case, container.id, case.number)


def is_shared(case: Case, coffin: str, *numbers: str) -> bool:
    """Whether an authority names the coffin, and all of these cases."""
    return any(s.coffin == coffin and set(numbers) <= set(s.cases) for s in case.shares)


def is_empty(case: Case, thing: Thing) -> bool:
    """Whether it is packaging with nothing but packaging in it: nothing need become of it."""
    container = ThingKind.CONTAINER
    return thing.what is container and all(t.what is container for t in case.all_contents(thing.id))
