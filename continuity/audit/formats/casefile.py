"""One case as it is given away: its entries in order, and what each of them came to.

Nothing is verified here, and no personal detail is read: an entry holds only their digests.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from continuity.audit.dossier.telling import Names, sentence
from continuity.care.case import Case
from continuity.care.fold import fold, standing
from continuity.care.things import GONE, Inside
from continuity.chains import Chains, event_of
from continuity.errors import DamagedRegisterError, InputError
from continuity.ledger.chain import Entry, read_entry
from continuity.ledger.merkle import leaf_hash

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing
    from continuity.care.records import Event
    from continuity.care.things import Whereabouts
    from continuity.store.protocol import Reads, Stored


@dataclass(frozen=True, slots=True)
class Line:
    """One entry of the case.

    Attributes:
        position: Its position in the whole register, from 0.
        note: The signed note's exact bytes.
        entry: What it says, as the ledger reads it.
        event: What it says, as care reads it.
        words: What it says, in a plain sentence.
        struck_by: Number of the correction that struck it.
        strikes: Number of the entry it struck, where it is a correction that still stands.
    """

    position: int
    note: bytes
    entry: Entry
    event: Event
    words: str
    struck_by: int | None
    strikes: int | None

    @property
    def number(self) -> int:
        """Its number in the case, from 0."""
        return self.event.number

    @property
    def status(self) -> str:
        """Whether it is read today: `standing`, or `struck` by a correction."""
        return "standing" if self.struck_by is None else "struck"


@dataclass(frozen=True, slots=True)
class CaseFile:
    """A case, to be told in another format.

    Attributes:
        register: The register's id.
        case_id: The case's id in the record.
        number: The number people know it by.
        lines: Its entries in the order of its chain, struck ones too.
        case: What they add up to.
    """

    register: str
    case_id: str
    number: str
    lines: tuple[Line, ...]
    case: Case


@dataclass(frozen=True, slots=True)
class State:
    """How a thing is, between two changes: where it is, and whether it is closed."""

    where: Whereabouts
    shut: bool
    seal: str | None

    @classmethod
    def of(cls, thing: Thing) -> State:
        """The state a thing is in."""
        return cls(thing.where, thing.shut, thing.seal)

    @property
    def gone(self) -> bool:
        """Whether nothing more can happen to the thing under its own number."""
        return isinstance(self.where, GONE)

    @property
    def inside(self) -> str | None:
        """What it lies in."""
        return self.where.thing if isinstance(self.where, Inside) else None


@dataclass(frozen=True, slots=True)
class Change:
    """A thing came into another state; `before` is None where it is new to the case."""

    thing: str
    before: State | None
    after: State
    parents: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Happening:
    """One act that stands, and what it changed.

    Attributes:
        told_by: Number of the entry it is read from: its own, or that of the correction which
            says what to read instead.
        event: The act, and when it happened.
        changes: The things that came into another state by it.
    """

    told_by: int
    event: Event
    changes: tuple[Change, ...]


def read_case(reads: Reads, number: str) -> CaseFile:
    """Read a case from a store.

    Raises:
        InputError: There is no such case.
        DamagedRegisterError: An entry cannot be read.
    """
    head = reads.case_called(number)
    house = Chains().house(reads)
    read = []
    for stored in reads.entries(head.case_id):
        try:
            entry, _ = read_entry(stored.note)
            read.append((stored, entry, event_of(entry, leaf_hash(stored.note), house)))
        except InputError as error:
            raise DamagedRegisterError(
                f"entry {stored.number} of case {number} cannot be read ({error}); run"
                " `continuity verify`, and restore from a backup"
            ) from error
    events = [event for _, _, event in read]
    case = fold(head.case_id, number, events)
    names = Names(case, house)
    struck_by = {e.number: case.struck[e.origin] for e in events if e.origin in case.struck}
    strikes = {by: number for number, by in struck_by.items()}

    def line(stored: Stored, entry: Entry, event: Event) -> Line:
        words = sentence(event.act, names)
        of, by = strikes.get(event.number), struck_by.get(event.number)
        return Line(stored.position, stored.note, entry, event, words, by, of)

    lines = tuple(line(*one) for one in read)
    return CaseFile(reads.register, head.case_id, number, lines, case)


def happenings(file: CaseFile) -> Iterator[Happening]:
    """Replay what stands, in the order in which it happened.

    Corrections are left out: what they say instead is told in the struck entry's place.
    """
    held, _ = standing(line.event for line in file.lines)
    case = Case(file.case_id, file.number)
    states: dict[str, State] = {}
    for event in sorted(held, key=lambda e: e.moment):
        case.apply(event)
        if event.act.strikes_leaf() is None:
            yield Happening(event.moment.told, event, tuple(_changes(case, event, states)))


def _changes(case: Case, event: Event, states: dict[str, State]) -> Iterator[Change]:
    known_elsewhere = (known.thing for known in event.act.known)
    named = dict.fromkeys((*event.act.mentions(), *known_elsewhere))
    # What lies in a thing goes along with it; nobody names it.
    gone = any(case.things[thing].gone for thing in named if thing in case.things)
    for thing_id in (*named, *(case.things if gone else ())):
        thing = case.things.get(thing_id)
        if thing is None:
            continue
        before, after = states.get(thing_id), State.of(thing)
        if after != before:
            states[thing_id] = after
            yield Change(thing_id, before, after, thing.parents)
