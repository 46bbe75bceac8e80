"""What a finding is, and how a check is written down.

A check is one small function that looks at a case and yields what it found, under a stable code:

    @finding("left-elsewhere", "HTA incident: organ or part found after release")
    def left_elsewhere(look: Look) -> Iterator[Found]:
        '''A thing of the case is here, and is not in the coffin.'''

The docstring is the finding's meaning in the published list; the second argument its source.
Whether it stops the closing is the policy's to say; a finding the policy does not list stops it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Protocol

from continuity.care.custody import Custody, custody
from continuity.care.findings.accounts import Account, account
from continuity.care.things import HERE, AtPlace, Inside, WithHolder

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping
    from datetime import datetime, timedelta

    from continuity.care.case import Case, Thing
    from continuity.care.house import House
    from continuity.care.policy import Policy
    from continuity.care.records import Moment
    from continuity.care.things import Disposition


@dataclass(frozen=True, slots=True)
class Neighbour:
    """Another decedent in care at the same time whose name is the same or similar."""

    case: str
    percent: int


@dataclass(frozen=True)
class Look:
    """What a check may look at: the case, the policy, the hour, and names that are alike."""

    case: Case
    policy: Policy
    now: datetime
    house: House | None = None
    neighbours: tuple[Neighbour, ...] = ()
    departing: bool = False
    """Whether this is the case as it lay when the decedent reached its disposition."""

    def span(self, threshold: str) -> timedelta:
        """A threshold of the policy as a span of time."""
        return self.policy.span(threshold)

    @cached_property
    def own(self) -> list[Thing]:
        """The things of the case, in order of number."""
        return self.case.own

    @cached_property
    def body(self) -> Thing | None:
        """The decedent, once received."""
        return self.case.decedent

    @cached_property
    def coffin(self) -> Thing | None:
        """The coffin the decedent lies in."""
        return self.case.coffin

    @cached_property
    def planned(self) -> Disposition | None:
        """The disposition planned."""
        return self.case.planned.disposition if self.case.planned else None

    @cached_property
    def accounts(self) -> Mapping[str, Account]:
        """Where each thing of the case stands."""
        return {thing.id: account(self.case, thing) for thing in self.own}

    @cached_property
    def custody(self) -> Custody:
        """Who held what, when."""
        return custody(self.case)

    @property
    def left(self) -> bool:
        """Whether the decedent has left the house for good, or is on the way."""
        body = self.body
        outside = body is not None and (body.gone or self.case.holder(body.id) != HERE)
        return outside or self.departing

    def standing(self, *accounts: Account) -> list[Thing]:
        """The things that stand so, in order of number."""
        return [thing for thing in self.own if self.accounts[thing.id] in accounts]

    def found(
        self,
        sentence: str,
        mend: str,
        *things: Thing,
        shown_by: Iterable[Moment | None] = (),
        cases: tuple[str, ...] = (),
    ) -> Found:
        """What was found on these things; place, holder and last sighting are the first one's.

        Args:
            sentence: what is so, with no times in it.
            mend: what would mend it, with the kind of entry in parentheses.
            things: the things concerned.
            shown_by: the moments of the entries that show it; each thing's last move if none.
            cases: other cases concerned.
        """
        moments = [m for m in shown_by if m] or [thing.moved or thing.came for thing in things]
        first = things[0] if things else None
        resting = self.case.resting(first.id) if first and first.id in self.case.things else None
        seen = first.last_sighting if first else None
        return Found(
            sentence,
            mend,
            tuple(thing.id for thing in things),
            cases,
            tuple(sorted({moment.number for moment in moments})),
            place=resting.place if isinstance(resting, AtPlace) else None,
            holder=resting.holder if isinstance(resting, WithHolder) else None,
            seen=seen.moment.at if seen else None,
        )


@dataclass(frozen=True, slots=True)
class Found:
    """What one check found, before the policy weighs it.

    Attributes:
        sentence: what is so, with the things named and no times in it.
        mend: the act that would mend it.
        things: the things concerned.
        cases: other cases concerned.
        entries: numbers of the entries that show it.
        place: where the first thing lies, by the record.
        holder: who outside holds it.
        seen: when it was last sighted, UTC.
    """

    sentence: str
    mend: str
    things: tuple[str, ...] = ()
    cases: tuple[str, ...] = ()
    entries: tuple[int, ...] = ()
    place: str | None = None
    holder: str | None = None
    seen: datetime | None = None


class Check(Protocol):
    """A function that looks for one finding."""

    __module__: str

    def __call__(self, look: Look, /) -> Iterator[Found]:
        """Yield each case of it."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A finding that exists.

    Attributes:
        code: stable, in plain words.
        meaning: what it means, in one sentence.
        source: where the demand comes from.
        check: the function that looks for it.
        goes_on: it is asked of the present even after the disposition; the others are asked of
            the case as it lay when the decedent left.
        past: a fact that no later act undoes; a resolved irregularity about it settles it.
    """

    code: str
    meaning: str
    source: str
    check: Check
    goes_on: bool
    past: bool


KINDS: dict[str, Kind] = {}
"""Every finding by its code; `closing.CHECKS` has them in the order of the reckoning."""


def finding(
    code: str, source: str, *, goes_on: bool = False, past: bool = False
) -> Callable[[Check], Check]:
    """Enter a check under its code.

    Raises:
        ValueError: another check has this code.
    """

    def enter(check: Check) -> Check:
        if code in KINDS:
            raise ValueError(f"two checks for {code}")
        meaning = " ".join((check.__doc__ or "").split())
        KINDS[code] = Kind(code, meaning, source, check, goes_on, past)
        return check

    return enter


def name(thing: Thing) -> str:
    """A thing in a sentence: number and description."""
    return f"{thing.id} ({thing.description})"


def names(things: Iterable[Thing]) -> str:
    """Several things in a sentence."""
    return ", ".join(name(thing) for thing in things)


def settle(code: str) -> str:
    """How a matter that no act undoes is settled."""
    return (
        f"settle it (irregularity-raised --case ... --about {code} --what ...,"
        " irregularity-resolved)"
    )


def instructing(thing: Thing) -> str:
    """How a wish for a thing is recorded."""
    return f"instructed --thing {thing.id} --wish ... --relation ..."


def returning(thing: Thing, giver: str = "...", how: str = "") -> str:
    """How the coming back of a thing is recorded."""
    return f"returned{how} --thing {thing.id} --giver {giver} --place ... --giver-signed"


def correct(moment: Moment, *fields: str) -> str:
    """How an entry is corrected: which, and which of its fields are to be given."""
    given = f" --instead {','.join(f'{field}=...' for field in fields)}" if fields else ""
    return f"correct entry {moment.number} (corrected --strikes {moment.number}{given})"


def position(look: Look, thing: Thing) -> str:
    """Where a thing is, in a sentence: in what, and at which place or with whom."""
    resting = look.case.resting(thing.id)
    within = f"in {thing.where.thing} " if isinstance(thing.where, Inside) else ""
    if isinstance(resting, AtPlace):
        return f"{within}at {resting.place}"
    if isinstance(resting, WithHolder):
        return f"{within}with {resting.holder}"
    return within.strip() or "nowhere on record"
