"""Belonging: the coffin holds this person's remains and no other's, save on recorded authority.

Strasbourg Agreement (ETS 80), Art. 5: the coffin holds only the remains of the person named, and
the effects to be buried or cremated with them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.findings.accounts import Account, is_foreign, is_shared
from continuity.care.findings.base import Found, Look, finding, name
from continuity.care.things import Inside, PartOf, case_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing

_ETS80 = "Strasbourg Agreement, ETS 80, Art. 5(c); HTA incidents 2014-16: another's organ found"


@finding("another-case-inside", _ETS80)
def another_case_inside(look: Look) -> Iterator[Found]:
    """Another case's thing is in this case's coffin, body or container, or one with a thing."""
    case = look.case
    for thing in case.things.values():
        if case.belongs(thing.id) or not isinstance(thing.where, Inside | PartOf):
            continue
        within = thing.where.thing
        owner = case.associated.get(thing.id, case_of(thing.id))
        if not case.belongs(within) or is_shared(case, within, case.number, owner):
            continue
        yield look.found(
            f"{name(thing)} is of case {owner} and is in {within}",
            f"take {thing.id} out (taken-out); if both may share the coffin, record the authority"
            " that names both cases (coffin-shared)",
            thing,
            cases=(owner,),
        )


@finding("inside-another-case", _ETS80, goes_on=True)
def inside_another_case(look: Look) -> Iterator[Found]:
    """A thing of this case is, or left, in another case's coffin, body or container."""
    for thing in look.standing(Account.ANOTHERS, Account.DISPOSED):
        around = _around(look, thing)
        if not around or look.case.belongs(around[0].id):
            continue
        outer = next((t for t in around if is_foreign(look.case, t)), None)
        if outer is None:
            continue
        owner = case_of(outer.id)
        verb = "left" if thing.gone and not isinstance(thing.where, PartOf) else "is"
        yield look.found(
            f"{name(thing)} {verb} in {outer.id}, which is of case {owner}",
            f"take {thing.id} out (taken-out); if both may share the coffin, record the authority"
            " that names both cases (coffin-shared)",
            thing,
            cases=(owner,),
        )


def _around(look: Look, thing: Thing) -> list[Thing]:
    """What it is in, or one with, and so on outwards; or what it was in when it left."""
    case, numbers = look.case, thing.rested_in
    if isinstance(thing.where, Inside | PartOf):
        numbers = (thing.where.thing, *(t.id for t in case.containers_of(thing.where.thing)))
    return [case.things[number] for number in numbers if number in case.things]


@finding("turned-out-anothers", "common practice, no source", goes_on=True)
def turned_out_anothers(look: Look) -> Iterator[Found]:
    """A thing that came in this case turned out to be another's, and is reckoned up there."""
    for thing in look.case.things.values():
        owner = look.case.associated.get(thing.id)
        if owner not in (None, look.case.number) and case_of(thing.id) == look.case.number:
            yield look.found(
                f"{name(thing)} came in this case and turned out to be of case {owner}",
                f"do the closing check of case {owner} too",
                thing,
                cases=(owner,),
            )


@finding("shares-a-coffin", "common practice, no source: a parent and a stillborn child")
def shares_a_coffin(look: Look) -> Iterator[Found]:
    """The coffin is shared with another case, on recorded authority that names both."""
    coffin = look.coffin
    named = (s for s in look.case.shares if look.case.number in s.cases)
    share = next((s for s in named if coffin and s.coffin == coffin.id), None)
    if coffin and share:
        others = tuple(number for number in share.cases if number != look.case.number)
        yield look.found(
            f"{name(coffin)} is shared with case {' and '.join(others)}",
            f"do the closing check of case {' and '.join(others)} too before {coffin.id} is closed",
            coffin,
            shown_by=(share.moment,),
            cases=others,
        )
