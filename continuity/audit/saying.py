"""What one entry says, in plain words, for whoever holds a receipt of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from continuity.audit.dossier.telling import Names, sentence
from continuity.audit.dossier.visible import visible
from continuity.care.fold import fold
from continuity.chains import Chains, event_of
from continuity.errors import DamagedRegisterError
from continuity.ledger.chain import read_entry
from continuity.ledger.keyring import REGISTER_CASE

if TYPE_CHECKING:
    from continuity.store.protocol import Reads, Stored


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
    own = stored.case_id == REGISTER_CASE
    try:
        house = Chains().house(reads)
        rows = [] if own else reads.entries(stored.case_id)[: stored.number]
        events = [event_of(read_entry(r.note)[0], r.leaf, house) for r in (*rows, stored)]
        case = fold(stored.case_id, "", [] if own else events)
    except Exception as error:
        # Whatever stands written must fold; what does not is an audit's to name, not ours.
        raise DamagedRegisterError(
            f"entry {stored.number} of case {stored.case_id} cannot be told ({error}); run"
            " `continuity verify`."
        ) from error
    name = next((number for event in events if (number := event.act.opens())), stored.case_id)
    entry, last = read_entry(stored.note)[0], events[-1]
    return Said(
        firm=house.firm,
        case="The register's own chain" if own else f"Case {name}",
        number=entry.number,
        kind=entry.kind,
        sentence=sentence(last.act, Names(case, house)),
        by=entry.recorded_by,
        signers=last.persons,
        happened=_clock(entry.occurred_at, entry.utc_offset),
        recorded=_clock(entry.recorded_at, entry.utc_offset),
    )


def _clock(utc: str, offset: str) -> str:
    """A time as the clock on the wall showed it: `2031-04-07 10:06 (UTC+02:00)`."""
    hours, minutes = int(offset[:3]), int(offset[0] + offset[4:])
    try:
        shown = datetime.fromisoformat(utc) + timedelta(hours=hours, minutes=minutes)
    except OverflowError:
        shown, offset = datetime.fromisoformat(utc), "+00:00"  # at the calendar's ends
    return f"{shown:%Y-%m-%d %H:%M} (UTC{offset})"
