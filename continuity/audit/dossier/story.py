"""What a dossier's entries add up to: the case, its house, who held what, the closing check.

Everything the page says comes from here, and all of it from the machine part's own entries and
its hour, so that the same machine part always makes the same page.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import TYPE_CHECKING

from continuity.audit.dossier.details import Detail, details_of
from continuity.audit.dossier.telling import Names, sentence
from continuity.care import closing
from continuity.care.case import Case
from continuity.care.custody import Custody, custody
from continuity.care.fold import fold, standing
from continuity.care.house import House, furnish
from continuity.chains import event_of
from continuity.errors import FormatError, InputError
from continuity.ledger import merkle

if TYPE_CHECKING:
    from continuity.audit.dossier.what import Dossier, Placed
    from continuity.care.records import Event, Moment
    from continuity.care.things import Whereabouts
    from continuity.ledger.chain import Entry

DIGESTS = ("document", "photograph", "signature")
"""The fields of entries that hold the digest of something kept elsewhere."""

MOST_WORK = 20_000_000
"""Most entries times things that are told: adding a case up looks at each thing with each entry."""

LATE = 60
"""Minutes between a happening and its recording from which on the page says so."""


class TooLargeError(FormatError):
    """The case is too large to be told; its machine part can be checked all the same."""


@dataclass(frozen=True, slots=True)
class Told:
    """One entry of the case in plain words.

    Attributes:
        entry: The entry.
        words: What it says.
        struck_by: Number of the correction that struck it.
        late: Minutes between the happening and its recording, where that is an hour or more.
    """

    entry: Entry
    words: str
    struck_by: int | None
    late: int | None


@dataclass(frozen=True, slots=True)
class Stay:
    """A thing's time in one whereabouts; `until` is None while it lasts."""

    thing: str
    where: Whereabouts
    since: Moment
    until: Moment | None


@dataclass(frozen=True, slots=True)
class Paper:
    """A photograph, a document or a signature that an entry names by its digest."""

    entry: int
    what: str
    digest: str


@dataclass(frozen=True, slots=True)
class Story:
    """All that a page tells.

    Attributes:
        dossier: The machine part.
        entries: The case's entries with their leaf hashes.
        house: The firm: its name, places, holders, keys.
        case: The folded case.
        names: What things, places and holders are called.
        told: Each entry in plain words.
        stays: Where each thing was, when.
        custody: Who held each thing, and where that chain is broken.
        papers: Photographs and documents, by digest.
        verdict: The closing check as of the dossier's hour.
        details: Personal details, each disclosed, withheld or erased.
    """

    dossier: Dossier
    entries: tuple[tuple[Entry, bytes], ...]
    house: House
    case: Case
    names: Names
    told: tuple[Told, ...]
    stays: tuple[Stay, ...]
    custody: Custody
    papers: tuple[Paper, ...]
    verdict: closing.Verdict
    details: tuple[Detail, ...]

    @property
    def events(self) -> list[Event]:
        """What happened, in its order, as it stands after corrections."""
        return self.case.events

    def paper_of(self, data: bytes) -> Paper | None:
        """The photograph or document whose digest a file's bytes have, if the entries name one."""
        digest = sha256(data).hexdigest()
        return next((paper for paper in self.papers if paper.digest == digest), None)


def tell(dossier: Dossier) -> Story:
    """Add a machine part up, verifying nothing.

    Raises:
        FormatError: An entry cannot be read, or is of a kind this program does not know.
        TooLargeError: There is more to tell than a page can hold.
    """
    entries = _read(dossier.entries)
    own = _read(dossier.register_entries)
    try:
        house = furnish(event_of(entry, leaf) for entry, leaf in own)
        events = [event_of(entry, leaf, house) for entry, leaf in entries]
    except InputError as error:
        raise FormatError(f"The dossier's entries cannot be read: {error}.") from None
    things = {thing for event in events for thing in event.act.mentions()}
    if len(events) * len(things) > MOST_WORK:
        raise TooLargeError(f"{len(events)} entries on {len(things)} things are too many to tell.")
    made_at = _hour(dossier.made_at)
    case = fold(dossier.case, _number(events), events)
    names = Names(case, house)
    _, struck = standing(events)
    return Story(
        dossier=dossier,
        entries=tuple(entries),
        house=house,
        case=case,
        names=names,
        told=tuple(
            _tell(pair, event, struck, names) for pair, event in zip(entries, events, strict=True)
        ),
        stays=tuple(stays(case)),
        custody=custody(case),
        papers=tuple(_papers(entries)),
        verdict=closing.check(case, house.policy, made_at, house=house),
        details=tuple(details_of(dossier, [entry for entry, _ in entries])),
    )


def _read(placed: tuple[Placed, ...]) -> list[tuple[Entry, bytes]]:
    return [(one.entry, merkle.leaf_hash(one.note)) for one in placed]


def _hour(text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise FormatError("The dossier's made_at is no time.") from None
    if moment.tzinfo is None:
        raise FormatError("The dossier's made_at names no zone.")
    return moment


def _number(events: list[Event]) -> str:
    opened = (event.act.opens() for event in events)
    return next((number for number in opened if number), "not numbered")


def _tell(pair: tuple[Entry, bytes], event: Event, struck: dict[str, int], names: Names) -> Told:
    late = int((event.recorded_at - event.occurred_at).total_seconds() // 60)
    by = struck.get(event.leaf, struck.get(event.mirrors or ""))
    return Told(pair[0], sentence(event.act, names), by, late if late >= LATE else None)


def stays(case: Case) -> list[Stay]:
    """Replay a case and note where each thing was, from when to when it was followed."""
    replay = Case(case.id, case.number)
    now: dict[str, Stay] = {}
    found: list[Stay] = []
    for event in case.events:
        replay.apply(event)
        for thing in replay.things.values():
            before = now.get(thing.id)
            if before and before.where == thing.where:
                continue
            if before:
                found.append(Stay(thing.id, before.where, before.since, event.moment))
            now[thing.id] = Stay(thing.id, thing.where, event.moment, None)
        for gone in now.keys() & replay.parted:
            before = now.pop(gone)
            found.append(Stay(gone, before.where, before.since, event.moment))
    return sorted([*found, *now.values()], key=lambda stay: (stay.thing, stay.since))


def _papers(entries: list[tuple[Entry, bytes]]) -> list[Paper]:
    return [
        Paper(entry.number, field, digest)
        for entry, _ in entries
        for field in DIGESTS
        if isinstance(digest := entry.details.get(field), str)
    ]
