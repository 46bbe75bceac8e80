"""Personal details against the digests that stand in the entries.

Each detail kept must be the very text whose digest was signed. One that is gone must have been
erased by an entry that says so; one that is kept must be some entry's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from continuity.audit.report import Finding
from continuity.care.entries import ERASING
from continuity.errors import FormatError
from continuity.ledger import disclosure

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from continuity.audit.entries import Checked
    from continuity.audit.walk import Fault
    from continuity.store.protocol import Reads

MAX_ERASURES = 10_000
"""Most details one entry can erase by naming them; one that names more is not believed."""


class Detail(NamedTuple):
    """A detail: one field of one entry."""

    position: int
    case: str
    number: int
    field: str


class Personal:
    """Follows the entries; at the end, tells which details are gone that no erasure explains."""

    def __init__(self, reads: Reads) -> None:
        self._reads = reads
        self._found = 0
        self._gone: list[Detail] = []
        # By entry and field, None for all of them: the number of the latest erasure.
        self._erasures: dict[str, dict[tuple[int | None, str | None], int]] = {}

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take the next entry."""
        if entry.kind == ERASING:
            self._note_erasure(entry)
        digests = entry.details.get("personal")
        if not digests or type(digests) is not dict:
            return
        kept = self._reads.disclosures(entry.position)
        self._found += len(kept)
        for field, digest in digests.items():
            if field not in kept:
                self._gone.append(Detail(entry.position, entry.case, entry.number, field))
            elif not _stands_for(kept.pop(field), field, digest):
                yield "disclosure-differs", f"The detail {field} is not the one it has a digest of."
        for field in kept:
            yield "disclosure-orphan", f"A detail {field} is kept that it has no digest of."

    def at_the_end(self, names: Mapping[str, str]) -> Iterator[Finding]:
        """What is gone that no entry erased, and what an entry erased that is still there.

        Args:
            names: The numbers people know the cases by.
        """
        for gone in self._gone:
            if not self._erased(gone.case, gone.number, gone.field):
                sentence = f"The detail {gone.field} is gone, and no entry says it was erased."
                yield _about(gone, "disclosure-missing", sentence, names)
        for case in self._erasures:
            for row in self._reads.entries(case):
                for field in self._reads.disclosures(row.position):
                    if self._erased(case, row.number, field):
                        kept = Detail(row.position, case, row.number, field)
                        sentence = f"The detail {field} was erased, and is still there."
                        yield _about(kept, "disclosure-erased-kept", sentence, names)

    def strays(self) -> int:
        """How many details are kept beside those of the entries that have digests."""
        return self._reads.count_disclosures() - self._found

    def _note_erasure(self, entry: Checked) -> None:
        details = entry.details
        numbers, fields = _listed(details.get("entries")), _listed(details.get("fields"))
        if len(numbers) * len(fields) > MAX_ERASURES:
            return
        erasures = self._erasures.setdefault(entry.case, {})
        for number in numbers:
            for field in fields:
                erasures[number, field] = entry.number

    def _erased(self, case: str, number: int, field: str) -> bool:
        erasures = self._erasures.get(case)
        return erasures is not None and any(
            erasures.get(key, -1) > number
            for key in ((number, field), (number, None), (None, field), (None, None))
        )


def _about(detail: Detail, code: str, sentence: str, names: Mapping[str, str]) -> Finding:
    name = names.get(detail.case)
    where = f"entry {detail.number} of case {name or detail.case}"
    return Finding(code, f"{where}: {sentence}", detail.position, detail.case, detail.number, name)


def _listed(values: Any) -> tuple[Any, ...]:
    if type(values) is not list or not values:
        return (None,)
    return tuple(value for value in values if type(value) in (int, str))


def _stands_for(text: str, field: str, digest: object) -> bool:
    try:
        return disclosure.digest_of(text) == digest and disclosure.read(text)[1] == field
    except FormatError:
        return False
