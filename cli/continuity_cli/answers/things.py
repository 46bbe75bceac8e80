"""How an answer tells of a thing: what it is, where it is, who answers for it, when it was seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from continuity.care.things import (
    AtPlace,
    Discarded,
    Disposed,
    Divided,
    Inside,
    PartOf,
    Released,
    Unseen,
    WithHolder,
)
from continuity.care.times import write_time

if TYPE_CHECKING:
    from datetime import datetime

    from continuity.care.case import Case, Thing
    from continuity.care.things import Whereabouts


class ThingAnswer(TypedDict):
    """One thing of a case. Times are UTC; `place` and `holder` are those of what it lies in."""

    thing: str
    what: str
    form: str | None
    description: str
    organ: str | None
    receipt: str
    came_from: list[str]
    state: str
    within: str | None
    place: str | None
    holder: str | None
    signed_for: bool | None
    became: list[str]
    authority: str | None
    last_sighted: str | None
    scanned: bool | None
    shut: bool | None
    seal: str | None
    label: str | None


_STATES = {
    AtPlace: "at-place",
    Inside: "inside",
    WithHolder: "with-holder",
    PartOf: "part-of",
    Divided: "divided",
    Released: "released",
    Disposed: "disposed",
    Discarded: "discarded",
    Unseen: "never-seen",
}
"""What each whereabouts is called; published, so never changed."""


def thing_answer(case: Case, thing: Thing) -> ThingAnswer:
    """A thing as its case knows it."""
    where, resting = thing.where, case.resting(thing.id)
    seen = thing.last_sighting
    return ThingAnswer(
        thing=thing.id,
        what=thing.what.value,
        form=thing.form.value if thing.form else None,
        description=thing.description,
        organ=thing.organ,
        receipt=thing.receipt,
        came_from=list(thing.parents),
        state=_STATES[type(where)],
        within=where.thing if isinstance(where, Inside) else None,
        place=resting.place if isinstance(resting, AtPlace) else None,
        holder=_holder(case, thing),
        signed_for=resting.accepted if isinstance(resting, WithHolder) else None,
        became=_became(where),
        authority=where.authority if isinstance(where, Released | Disposed) else None,
        last_sighted=when(seen.moment.at if seen else None),
        scanned=seen.scanned if seen else None,
        shut=thing.shut if thing.closures else None,
        seal=thing.seal,
        label=thing.label.code if thing.label else None,
    )


def _holder(case: Case, thing: Thing) -> str | None:
    """Who answers for it: nobody any more once it has left for good, nobody yet if never seen."""
    return None if thing.gone or isinstance(thing.where, Unseen) else case.holder(thing.id)


def _became(where: Whereabouts) -> list[str]:
    if isinstance(where, Divided):
        return list(where.into)
    return [where.thing] if isinstance(where, PartOf) else []


def when(moment: datetime | None) -> str | None:
    """A time as every answer gives it: RFC 3339, UTC, milliseconds."""
    return write_time(moment) if moment else None
