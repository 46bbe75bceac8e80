"""What one entry says, in plain words, for whoever holds a receipt of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from continuity.audit.dossier.telling import Names
from continuity.audit.dossier.telling import sentence as sentence_of
from continuity.audit.dossier.visible import visible
from continuity.audit.version import made_with
from continuity.care.fold import fold
from continuity.care.house import furnish
from continuity.chains import event_of
from continuity.errors import DamagedRegisterError, FormatError
from continuity.ledger.caseindex import INDEX_CASE, OWN_CHAINS
from continuity.ledger.chain import read_entry
from continuity.ledger.keyring import REGISTER_CASE
from continuity.ledger.merkle import leaf_hash

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from continuity.ledger.chain import Entry
    from continuity.store.protocol import Reads, Stored

_TOLD_BY = "Told by"
_OWN = {REGISTER_CASE: "The register's own chain", INDEX_CASE: "The chain of case indexes"}


def teller_of(words: str) -> str:
    """Which program told these words, by name and version; empty where they do not say."""
    told = (line.partition(f"{_TOLD_BY}: ") for line in words.splitlines())
    return next((name for before, found, name in told if found and not before), "")


@dataclass(frozen=True, slots=True)
class Said:
    """One act, told.

    Attributes:
        firm: Whose record it stands in.
        case: The number of its case, or words for the register's own chain.
        number: The entry's number in its case.
        kind: Its kind.
        sentence: What it says.
        by: Who recorded it.
        signers: Whose keys signed it.
        happened: When it happened, by the clock on the wall, with its offset from UTC.
        recorded: When it was recorded, in the same form.
        told_by: The program that tells it, by name and version; empty where it is not said.
    """

    firm: str
    case: str
    number: int
    kind: str
    sentence: str
    by: str
    signers: tuple[str, ...]
    happened: str
    recorded: str
    told_by: str = ""

    @property
    def title(self) -> str:
        """Which entry of which case."""
        return f"{self.case}, entry {self.number}: {self.kind.replace('-', ' ')}"

    @property
    def particulars(self) -> tuple[tuple[str, str], ...]:
        """Who and when, each with what it is called."""
        return (
            ("Recorded by", self.by),
            ("Signed with the keys of", ", ".join(self.signers)),
            ("Happened", self.happened),
            ("Recorded", self.recorded),
            *([(_TOLD_BY, self.told_by)] if self.told_by else []),
        )

    @property
    def text(self) -> str:
        """All of it, a line each; no word of an entry can feign another line."""
        lines = (
            f"Receipt from the record of {self.firm or 'a firm that is not named'}",
            self.title,
            self.sentence,
            *(f"{name}: {told}" for name, told in self.particulars),
        )
        return "\n".join(map(visible, lines))


def say(reads: Reads, stored: Stored) -> Said:
    """Tell an entry, with what its case and its house knew when it was recorded.

    Raises:
        DamagedRegisterError: Its chain cannot be read.
    """
    head, rows = reads.case_head(REGISTER_CASE), reads.entries(REGISTER_CASE)
    if head is None or len(rows) < head.length:
        raise DamagedRegisterError(
            "The register's own chain is not whole; run `continuity verify`."
        )
    own = [row.note for row in rows if row.position <= stored.position]
    before = [] if stored.case_id in OWN_CHAINS else reads.entries(stored.case_id)
    chain = [row.note for row in before[: stored.number]]
    try:
        return say_from(own, [*chain, stored.note], stored.case_id)
    except FormatError as error:
        raise DamagedRegisterError(f"{error}; run `continuity verify`.") from error


def say_from(own: Iterable[bytes], chain: Sequence[bytes], case_id: str) -> Said:
    """Tell a chain's last entry, from the bytes alone.

    Args:
        own: What stood in the register's own chain up to it.
        chain: The case's entries up to it.
        case_id: The case's id.

    Raises:
        FormatError: They cannot be told.
    """
    try:
        house = furnish(event_of(entry, leaf) for entry, leaf in map(_read, own))
        read = [_read(note) for note in chain]
        events = [event_of(entry, leaf, house) for entry, leaf in read]
        case = fold(case_id, "", [] if case_id in OWN_CHAINS else events)
    except Exception as error:
        # Whatever stands written must fold; what does not is an audit's to name, not ours.
        sentence = f"entry {len(chain) - 1} of case {case_id} cannot be told ({error})"
        raise FormatError(sentence) from error
    name = next((number for event in events if (number := event.act.opens())), case_id)
    entry, last = read[-1][0], events[-1]
    return Said(
        firm=house.firm,
        case=_OWN.get(case_id, f"Case {name}"),
        number=entry.number,
        kind=entry.kind,
        sentence=sentence_of(last.act, Names(case, house)),
        by=entry.recorded_by,
        signers=last.persons,
        happened=_clock(entry.occurred_at, entry.utc_offset),
        recorded=_clock(entry.recorded_at, entry.utc_offset),
        told_by=made_with(),
    )


def _read(note: bytes) -> tuple[Entry, bytes]:
    return read_entry(note)[0], leaf_hash(note)


def _clock(utc: str, offset: str) -> str:
    """A time as the clock on the wall showed it: `2031-04-07 10:06 (UTC+02:00)`."""
    hours, minutes = int(offset[:3]), int(offset[0] + offset[4:])
    try:
        shown = datetime.fromisoformat(utc) + timedelta(hours=hours, minutes=minutes)
    except OverflowError:
        shown, offset = datetime.fromisoformat(utc), "+00:00"  # at the calendar's ends
    return f"{shown:%Y-%m-%d %H:%M} (UTC{offset})"
