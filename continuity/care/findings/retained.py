"""Retained: what the examiner kept, why and until when, and what the family wants done with it.

Law differs by place: what must be told, by whom, and for how long anything may be kept is for
local codes to say; the sources named here are examples of what is asked.
"""

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
    returning,
    settle,
)
from continuity.care.things import REMAINS, Disposition, Intention, ThingKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing
    from continuity.care.records import Retention

_STATED = "Shipley v City of New York, 25 NY3d 645 (2015): nobody need tell of organs kept"
_WRITTEN = "NZ Coroners Act 2006, s49: in writing, with part, reasons and likely duration"
_TOLD = "NZ Coroners Act 2006, s50; Isaacs report, 2003; SI 2005/420 (rule 9)"
_PERIOD = "SI 2005/420 (rule 9): the coroner sets the period, which may lapse"
_WISH = "HTA, coroners' post-mortem examinations: the options at the end of the period"
_ASKED = {"why": "reason", "until when": "until", "on whose authority": "authority"}
WITH_DECEDENT = (Intention.WORN, Intention.GOES_ALONG)


def kept(look: Look) -> Iterator[tuple[Thing, Retention]]:
    """The things the examiner still has."""
    for thing in look.standing(Account.OUTSIDE):
        if thing.retention:
            yield thing, thing.retention


@finding("retention-unknown", _STATED, goes_on=True)
def retention_unknown(look: Look) -> Iterator[Found]:
    """It is unknown whether the examiner kept anything."""
    stated = look.case.retained_stated
    if stated and stated[1] != "unknown":
        return
    if not look.body or (stated is None and any(t.retention for t in look.own)):
        return
    yield look.found(
        "it is unknown whether the examiner kept anything"
        if stated
        else "nobody has asked whether the examiner kept anything",
        "ask the examiner; record the answer, and the paper or person that gives it"
        " (retention-stated --kept none, some or unknown)",
        shown_by=(stated[0] if stated else look.body.came,),
    )


@finding("retained-not-listed", _WRITTEN, goes_on=True)
def retained_not_listed(look: Look) -> Iterator[Found]:
    """The examiner kept something, and the record does not say what."""
    stated = look.case.retained_stated
    if stated and stated[1] == "some" and not any(t.retention for t in look.own):
        yield look.found(
            "the examiner kept something, and nothing says what",
            "ask what was kept, and record each thing (retained)",
            shown_by=(stated[0],),
        )


@finding("retained-against-statement", _WRITTEN, goes_on=True)
def retained_against_statement(look: Look) -> Iterator[Found]:
    """The papers say that nothing was kept, and a thing is recorded as kept."""
    stated = look.case.retained_stated
    for thing in look.own:
        if stated and stated[1] == "none" and thing.retention:
            yield look.found(
                f"{name(thing)} was kept by {thing.retention.holder}, and the papers say that"
                " nothing was",
                "ask the examiner, and record the answer (retention-stated --kept some)",
                thing,
                shown_by=(stated[0], thing.retention.moment),
            )


@finding("retention-incomplete", _WRITTEN, goes_on=True)
def retention_incomplete(look: Look) -> Iterator[Found]:
    """A thing is kept, and it is not on record why, until when, or on whose authority."""
    for thing, retention in kept(look):
        asked = {
            "why": retention.reason,
            "until when": retention.until,
            "on whose authority": retention.authority,
        }
        lacks = [question for question, answer in asked.items() if not answer]
        options = " ".join(f"--{_ASKED[question]} ..." for question in lacks)
        if lacks:
            yield look.found(
                f"{name(thing)} is kept by {retention.holder}, and nothing says"
                f" {' or '.join(lacks)}",
                f"ask {retention.holder}, and record what it says"
                f" (retained --thing {thing.id} --holder {retention.holder} {options})",
                thing,
                shown_by=(retention.moment,),
            )


@finding("family-not-told", _TOLD, goes_on=True)
def family_not_told(look: Look) -> Iterator[Found]:
    """A thing is kept, and the family has not been told, as far as is known."""
    for thing, retention in kept(look):
        if not retention.family_told:
            how = "has not been told" if retention.family_told is False else "may not know"
            yield look.found(
                f"{name(thing)} is kept by {retention.holder}, and the family {how}",
                "have the family told by whoever must, and record it again"
                f" (retained --thing {thing.id} --holder {retention.holder} --family-told)",
                thing,
                shown_by=(retention.moment,),
            )


@finding("no-instruction", _WISH, goes_on=True)
def no_instruction(look: Look) -> Iterator[Found]:
    """A thing is kept, and the family has not said what is to become of it."""
    for thing, retention in kept(look):
        if thing.instruction is None:
            yield look.found(
                f"{name(thing)} is kept by {retention.holder}, and the family has not said what"
                " is to become of it",
                "ask whether it returns before the funeral, returns later, is disposed of or"
                f" donated, and record it ({instructing(thing)})",
                thing,
                shown_by=(retention.moment,),
            )


@finding("period-expired", _PERIOD, goes_on=True)
def period_expired(look: Look) -> Iterator[Found]:
    """The period set for keeping a thing is over, and it is still kept."""
    for thing, retention in kept(look):
        if retention.until and f"{look.now:%Y-%m-%d}" > retention.until:
            yield look.found(
                f"the period for keeping {name(thing)} ended on {retention.until}, and"
                f" {retention.holder} still has it",
                f"get it back ({returning(thing, retention.holder)}), or record it again with the"
                f" new period and its authority (retained --thing {thing.id} --holder"
                f" {retention.holder} --until ... --authority ...)",
                thing,
                shown_by=(retention.moment,),
            )


def _wished(look: Look, wishes: dict[str, str], mend: str) -> Iterator[Found]:
    """Things outside, kept or lent, for which one of these wishes is on record."""
    for thing in look.standing(Account.OUTSIDE):
        wish = thing.instruction
        words = wish and wishes.get(wish.instruction)
        spoken_of = thing.what is ThingKind.EFFECT and thing.intention in WITH_DECEDENT
        if wish and words and not spoken_of:
            holder = look.case.holder(thing.id)
            yield look.found(
                f"{name(thing)} {words}, and {holder} has it",
                mend.format(holder),
                thing,
                shown_by=(wish.moment,),
            )


@finding(
    "return-awaited",
    "HTA, coroners' post-mortem examinations: reunite before release",
    goes_on=True,
)
def return_awaited(look: Look) -> Iterator[Found]:
    """A thing is wanted back before the funeral, and it has not come."""
    wishes = {
        "return-before-the-funeral": "is to come back before the funeral",
        "goes-along": "is to go along",
        "worn": "is to be worn",
    }
    yield from _wished(look, wishes, "ask {} for it, and record its coming (returned)")


@finding("return-later", _WISH, goes_on=True)
def return_later(look: Look) -> Iterator[Found]:
    """A thing is wanted back later on, and has not come."""
    wishes = {"return-later": "is to come back later", "release": "is to be released"}
    yield from _wished(look, wishes, "ask {} for it, and record its coming (returned)")


@finding("disposal-awaited", "HTA traceability T2(d), method and date [from memory]", goes_on=True)
def disposal_awaited(look: Look) -> Iterator[Found]:
    """A thing is to be disposed of or donated, and nothing says that it was."""
    wishes = {
        "lawful-disposal": "is to be disposed of lawfully",
        "donation": "is to be donated",
    }
    mend = "ask {} for date, method and authority, and record it (disposed)"
    yield from _wished(look, wishes, mend)


@finding(
    "disposal-incomplete", "HTA inspection shortfall D2: reason, date and method", goes_on=True
)
def disposal_incomplete(look: Look) -> Iterator[Found]:
    """A disposal is recorded without its authority, or a lawful disposal without its method."""
    told: set[int] = set()
    for thing in look.standing(Account.DISPOSED):
        leaving = thing.leaving
        if leaving is None or leaving.moment.number in told:
            continue
        lacks = {} if leaving.authority else {"authority": "on whose authority"}
        if leaving.way == Disposition.LAWFUL_DISPOSAL and not leaving.method:
            lacks["method"] = "by what method"
        if leaving.way == Disposition.UNDECIDED:
            lacks["manner"] = "in what manner"
        if lacks:
            told.add(leaving.moment.number)
            yield look.found(
                f"{name(thing)} was disposed of ({leaving.way}), and nothing says"
                f" {' or '.join(lacks.values())}",
                f"find out, and {correct(leaving.moment, *lacks)}",
                thing,
                shown_by=(leaving.moment,),
            )


_KEEPS_WISH = {
    "return-before-the-funeral": (
        "burial",
        "cremation",
        "entombment",
        "sending-abroad",
        "released",
    ),
    "return-later": ("burial", "cremation", "entombment", "sending-abroad", "released"),
    "lawful-disposal": ("lawful-disposal", "cremation", "burial"),
    "donation": ("donation",),
    "release": ("released",),
    "goes-along": ("burial", "cremation", "entombment", "sending-abroad"),
    "worn": ("burial", "cremation", "entombment", "sending-abroad"),
}
"""In which ways a thing may leave without going against each wish."""


@finding(
    "against-wish",
    "HTA reportable incidents: disposal or retention against wishes",
    goes_on=True,
    past=True,
)
def against_wish(look: Look) -> Iterator[Found]:
    """A part of the person left otherwise than the family had said."""
    for thing in look.standing(Account.RELEASED, Account.DISPOSED, Account.LEFT_ALONG):
        wish, leaving = thing.instruction, thing.leaving
        if thing.what not in REMAINS or wish is None or leaving is None:
            continue
        if wish.moment < leaving.moment and leaving.way not in _KEEPS_WISH[wish.instruction]:
            yield look.found(
                f"{name(thing)} left ({leaving.way}), and the family had said"
                f" {wish.instruction.replace('-', ' ')}",
                f"tell the family and the authority, and {settle('against-wish')}",
                thing,
                shown_by=(wish.moment, leaving.moment),
            )


@finding("wish-not-followed", "HTA reportable incidents: disposal or retention against wishes")
def wish_not_followed(look: Look) -> Iterator[Found]:
    """A part that came back lies in the coffin, and the family had said otherwise."""
    for thing in look.standing(Account.IN_COFFIN):
        wish = thing.instruction
        if thing.what in REMAINS and wish and wish.instruction in ("donation", "release"):
            yield look.found(
                f"{name(thing)} lies in the coffin, and the family had said {wish.instruction}",
                f"take {thing.id} out (taken-out), or record another wish ({instructing(thing)})",
                thing,
                shown_by=(wish.moment,),
            )
