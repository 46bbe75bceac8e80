"""Effects: released to a named person who signed, or with the decedent as was wished."""

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
    position,
    returning,
)
from continuity.care.things import Form, Intention, ThingKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing

_LIST = "ETS 80, Art. 5(c): effects to be buried or cremated with them; WV 6-2-19: list of objects"
_RECEIPT = "SD 34-26A-21: signed receipt; ICRC and PAHO: effects keep the decedent's number"
WITH_DECEDENT = (Intention.WORN, Intention.GOES_ALONG)


def _effects(look: Look, *accounts: Account) -> list[Thing]:
    return [t for t in look.standing(*accounts) if t.what is ThingKind.EFFECT]


@finding(
    "released-without-authority", "HTA reportable incidents: released to no right", goes_on=True
)
def released_without_authority(look: Look) -> Iterator[Found]:
    """A thing was given away, and nothing says by what right."""
    for thing in look.standing(Account.RELEASED):
        if thing.leaving and not thing.leaving.authority:
            yield look.found(
                f"{name(thing)} was released to {thing.leaving.relation}, and nothing says by what"
                " right",
                f"get the authority, and {correct(thing.leaving.moment, 'authority')}",
                thing,
                shown_by=(thing.leaving.moment,),
            )


@finding("release-incomplete", _RECEIPT, goes_on=True)
def release_incomplete(look: Look) -> Iterator[Found]:
    """A thing was given away without the recipient's identity seen, or signature taken."""
    for thing in look.standing(Account.RELEASED):
        leaving = thing.leaving
        if leaving is None:
            continue
        lacks = {
            "identity_checked": "whose identity nobody checked",
            "signed": "who did not sign",
        }
        lacks = {field: how for field, how in lacks.items() if not getattr(leaving, field)}
        if lacks:
            yield look.found(
                f"{name(thing)} was released to {leaving.relation}, {' and '.join(lacks.values())}",
                f"see to it with the recipient, and {correct(leaving.moment, *lacks)}",
                thing,
                shown_by=(leaving.moment,),
            )


@finding("effect-elsewhere", _LIST, goes_on=True)
def effect_elsewhere(look: Look) -> Iterator[Found]:
    """An effect is to be worn or to go along, and is not with the decedent."""
    gone = (Account.RELEASED, Account.LEFT_ALONG)
    away = (Account.HERE, Account.FORMER_COFFIN, Account.OUTSIDE, *gone)
    for thing in _effects(look, *away):
        if thing.intention in WITH_DECEDENT and not _on_body(look, thing):
            given = look.accounts[thing.id] in gone
            where = "was released" if given else f"is {position(look, thing)}"
            wish = "be worn" if thing.intention is Intention.WORN else "go along"
            outside = given or look.accounts[thing.id] is Account.OUTSIDE
            back = (
                f"get {thing.id} back ({returning(thing, how=' --found' if given else '')}) and "
                if outside
                else ""
            )
            yield look.found(
                f"{name(thing)} is to {wish}, and {where}",
                f"{back}{_together(look, thing)}, or record another wish ({instructing(thing)})",
                thing,
            )


def _together(look: Look, thing: Thing) -> str:
    """What brings an effect and the decedent into one coffin."""
    coffins = [t for t in look.case.containers_of(thing.id) if t.form is Form.COFFIN]
    if coffins and look.body and not look.coffin:
        body, coffin = look.body.id, coffins[0].id
        return f"put {body} into {coffin} with it (put-in --thing {body} --into {coffin})"
    return f"put {thing.id} into the coffin (put-in)"


def _on_body(look: Look, thing: Thing) -> bool:
    return look.body is not None and look.body in look.case.containers_of(thing.id)


@finding("effect-against-wish", _LIST)
def effect_against_wish(look: Look) -> Iterator[Found]:
    """An effect is to be released, and lies with the decedent in the coffin."""
    for thing in _effects(look, Account.IN_COFFIN):
        if thing.intention is Intention.RELEASE:
            yield look.found(
                f"{name(thing)} is to be released, and is {position(look, thing)}",
                f"take {thing.id} out (taken-out), or record another wish ({instructing(thing)})",
                thing,
            )


@finding("effect-undecided", _LIST, goes_on=True)
def effect_undecided(look: Look) -> Iterator[Found]:
    """Nobody has said what is to become of an effect."""
    here = (Account.HERE, Account.IN_COFFIN, Account.FORMER_COFFIN, Account.DISPOSED)
    for thing in _effects(look, *here):
        if thing.intention in (None, Intention.UNKNOWN):
            went = look.accounts[thing.id] is Account.DISPOSED
            where = "went with the decedent" if went else f"is {position(look, thing)}"
            yield look.found(
                f"{name(thing)} {where}, and nobody has said what is to become of it",
                f"ask the family, and record their wish for {thing.id} ({instructing(thing)})",
                thing,
            )


@finding("effect-to-be-released", "common practice, no source", goes_on=True)
def effect_to_be_released(look: Look) -> Iterator[Found]:
    """An effect that is to be released is still here."""
    for thing in _effects(look, Account.HERE, Account.FORMER_COFFIN):
        if thing.intention is Intention.RELEASE:
            yield look.found(
                f"{name(thing)} is {position(look, thing)}, waiting to be released",
                f"release {thing.id} to whoever is entitled (released)",
                thing,
            )
