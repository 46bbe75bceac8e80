"""Chains: where the ledger's entries become care's events, and a case's chain becomes a Case.

Care and the ledger do not know each other; they meet here and in `recording`. What was read is
kept and only added to while the register grows: an entry never changes.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from continuity.care.case import Case
from continuity.care.entries import read_act
from continuity.care.fold import fold
from continuity.care.house import House, furnish
from continuity.care.records import Event
from continuity.care.things import is_case_number
from continuity.errors import DamagedRegisterError, FormatError, InputError
from continuity.ledger import disclosure
from continuity.ledger.chain import Entry, read_entry
from continuity.ledger.keyring import REGISTER_CASE
from continuity.ledger.merkle import leaf_hash

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from continuity.care.acts.base import Act
    from continuity.store.protocol import CaseHead, Reads, Stored

KEPT = 64
"""How many cases' chains are kept in memory at once."""


def event_of(
    entry: Entry, leaf: bytes, house: House | None = None, *, act: Act | None = None
) -> Event:
    """Read a ledger entry as care's event.

    Args:
        entry: as `read_entry` gave it.
        leaf: its leaf hash, 32 bytes.
        house: tells whose the signing keys are; without it the signers' key names stand.
        act: what it says, if that has been read.

    Raises:
        InputError: its kind is unknown here, or its details do not fit the kind.
    """
    persons = []
    for reference in entry.signers:
        person = house.person_of(reference) if house else None
        persons.append(person or reference.partition("+")[0])
    return Event(
        act=act or read_act({"kind": entry.kind, **entry.details}),
        case=entry.case,
        number=entry.number,
        occurred_at=datetime.fromisoformat(entry.occurred_at),
        recorded_at=datetime.fromisoformat(entry.recorded_at),
        by=entry.recorded_by,
        persons=tuple(dict.fromkeys(persons)),
        leaf=leaf.hex(),
        mirrors=entry.mirrors.hex() if entry.mirrors else None,
        utc_offset=entry.utc_offset,
    )


def _stored_event(stored: Stored, house: House | None = None) -> Event:
    if type(stored.note) is not bytes or leaf_hash(stored.note) != stored.leaf:
        # Not an audit: what a disk has spoilt must not be told as the record.
        raise _spoilt(stored, "its bytes are not those that were recorded")
    try:
        entry, _ = read_entry(stored.note)
        return event_of(entry, stored.leaf, house)
    except (FormatError, InputError) as error:
        raise _spoilt(stored, str(error)) from error


def _spoilt(stored: Stored, why: str) -> DamagedRegisterError:
    return DamagedRegisterError(
        f"entry {stored.number} of case {stored.case_id} cannot be read ({why}); run `continuity"
        " verify`, and restore from a backup"
    )


def _rows(reads: Reads, head: CaseHead, start: int) -> list[Stored]:
    """A chain's entries from a number on, the one its head names among them.

    Raises:
        DamagedRegisterError: they are not all found.
    """
    rows = reads.entries(head.case_id, start)
    # Outside a transaction more may have come since the head was read; never less.
    last = head.length - start
    if len(rows) < last or rows[last - 1].leaf != head.head:
        raise DamagedRegisterError(
            f"case {head.name or head.case_id} should have {head.length} entries, and they are not"
            " all found; run `continuity verify`, and restore from a backup"
        )
    return rows


class Chain:
    """One case's events, and the Case they add up to now."""

    def __init__(self, case_id: str, number: str) -> None:
        self.case_id = case_id
        self.number = number
        self.opened = 0  # the position of its first entry in the register
        self.events: list[Event] = []
        self.case = Case(case_id, number)

    def extend(self, events: list[Event]) -> None:
        """Add what was recorded since; fold only the new where it is also the latest."""
        for event in events:
            latest = self.case.events[-1].moment if self.case.events else None
            self.events.append(event)
            late = latest is not None and event.moment < latest
            if late or event.act.strikes_leaf():
                self.case = fold(self.case_id, self.number, self.events)
            else:
                self.case.apply(event)

    def goes_on_after(self, moment: datetime) -> bool:
        """Whether something in it happened later than this moment."""
        events = self.case.events
        return bool(events) and moment < events[-1].occurred_at

    def at(self, known: datetime | None, happened: datetime | None) -> Case:
        """The case as known at a moment, as it was at a moment, or both."""
        if known is None and not (happened and self.goes_on_after(happened)):
            return self.case
        return fold(
            self.case_id, self.number, self.events, known_until=known, happened_until=happened
        )


class Chains:
    """The chains of a store, read once and followed as they grow."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Chain] = OrderedDict()
        self._house: list[Event] = []
        self._furnished = House()

    def house(self, reads: Reads, known: datetime | None = None) -> House:
        """The register's own state, now or as it was known at a moment."""
        head = reads.case_head(REGISTER_CASE)
        if head is None and reads.head().size:
            raise DamagedRegisterError(
                "the register's own chain is not found; run `continuity verify`, and restore from a"
                " backup"
            )
        if head is not None and len(self._house) < head.length:
            since = len(self._house)
            for stored in _rows(reads, head, since)[: head.length - since]:
                self._house.append(_stored_event(stored))
                self._furnished.apply(self._house[-1])
        return self._furnished if known is None else furnish(self._house, known_until=known)

    def chain(self, reads: Reads, head: CaseHead) -> Chain:
        """The chain whose head this is, up to date."""
        chain = self._kept.get(head.case_id)
        if chain is None:
            chain = self._kept[head.case_id] = Chain(head.case_id, head.name or head.case_id)
        self._kept.move_to_end(head.case_id)
        while len(self._kept) > KEPT:
            self._kept.popitem(last=False)
        if len(chain.events) < head.length:
            house = self.house(reads)
            rows = _rows(reads, head, len(chain.events))
            if not chain.events:
                chain.opened = rows[0].position
            chain.extend([_stored_event(stored, house) for stored in rows])
        return chain

    def by_number(self, reads: Reads, number: str) -> Chain:
        """The chain of the case people know by this number.

        Raises:
            InputError: there is no such case.
        """
        if not is_case_number(number):
            raise InputError(f"case {number}: a case number is capitals, digits and hyphens")
        return self.chain(reads, reads.case_called(number))

    def details(self, reads: Reads, stored: Stored, act: Act | None = None) -> dict[str, str]:
        """The personal details of an entry that are kept, by field.

        Args:
            reads: where they are kept.
            stored: the entry.
            act: what it says, if that has been read.

        Raises:
            DamagedRegisterError: one is not the one recorded, or is gone and was never erased.
        """
        digests = (act or _stored_event(stored).act).personal
        texts = reads.disclosures(stored.position) if digests else {}
        if (
            digests.keys() - texts
            and stored.number not in self.by_id(reads, stored.case_id).case.erased
        ):
            raise _spoilt(stored, "a personal detail of it is gone, and no entry erased it")
        try:
            if any(disclosure.digest_of(texts[field]) != digests.get(field) for field in texts):
                raise _spoilt(stored, "a personal detail kept of it is not the one recorded")
            return {field: str(disclosure.read(text)[2]) for field, text in texts.items()}
        except FormatError as error:
            raise _spoilt(stored, str(error)) from error

    def by_id(self, reads: Reads, case_id: str) -> Chain:
        """The chain of a case that has entries, by its identifier.

        Raises:
            DamagedRegisterError: it has none.
        """
        head = reads.case_head(case_id)
        if head is None:
            raise DamagedRegisterError(
                f"case {case_id}: listed, and without entries; run `continuity verify`"
            )
        return self.chain(reads, head)

    def forget(self, case_ids: Iterable[str]) -> None:
        """Read these chains anew next time: what was added to them was not committed."""
        for case_id in case_ids:
            self._kept.pop(case_id, None)
            if case_id == REGISTER_CASE:
                self._house, self._furnished = [], House()


class Others(Mapping[str, Case]):
    """The other cases of a scene, by number, each read when it is first asked for."""

    def __init__(self, chains: Chains, reads: Reads, happened: datetime | None) -> None:
        self._chains = chains
        self._reads = reads
        self._happened = happened

    def __getitem__(self, number: str) -> Case:
        head = self._reads.case_by_name(number)
        if head is None:
            raise KeyError(number)
        return self._chains.chain(self._reads, head).at(None, self._happened)

    def __iter__(self) -> Iterator[str]:
        return (head.name for head in self._reads.cases() if head.name)

    def __len__(self) -> int:
        return sum(1 for _ in self)
