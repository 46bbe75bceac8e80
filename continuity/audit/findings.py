"""Gathering what checks find: the first bad entry of each case in full, the rest as a number."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.report import CODES, OF_TABLES, Finding, Weight

if TYPE_CHECKING:
    from collections.abc import Iterable

    from continuity.audit.entries import Checked
    from continuity.audit.walk import Names

MAX_FINDINGS = 1_000
"""Most findings listed; a report of more helps nobody."""


class Findings:
    """Collects findings, and knows how far the record is sound.

    Args:
        names: Tells the number people know a case by.
    """

    def __init__(self, names: Names) -> None:
        self._names = names
        self._listed: list[Finding] = []
        self._first_bad: dict[str, int] = {}
        self._lowest: int | None = None
        self.more = 0

    def add(self, finding: Finding) -> None:
        """Take a finding; of each case those of its first bad entry are listed."""
        broken = finding.weight is Weight.BROKEN
        if broken and finding.position is not None:
            lowest = finding.position if self._lowest is None else self._lowest
            self._lowest = min(lowest, finding.position)
        first = finding.position
        if broken and finding.case is not None and finding.position is not None:
            first = self._first_bad.setdefault(finding.case, finding.position)
        if len(self._listed) >= MAX_FINDINGS or first != finding.position:
            self.more += 1
        else:
            self._listed.append(finding)

    def extend(self, findings: Iterable[Finding]) -> None:
        """Take several."""
        for finding in findings:
            self.add(finding)

    def about(self, entry: Checked, code: str, sentence: str) -> None:
        """Take a fault of an entry, or of a table that says something else than the entry does."""
        name = self._names.of.get(entry.case)
        where = f"entry {entry.number} of case {name or entry.case}"
        self.add(
            Finding(
                code,
                f"{where} (position {entry.position}): {sentence}",
                None if code in OF_TABLES else entry.position,
                entry.case,
                entry.number,
                name,
            )
        )

    def none_in(self, case: str) -> bool:
        """Whether nothing broken was found in a case's entries so far."""
        return case not in self._first_bad

    def listed(self) -> tuple[Finding, ...]:
        """What was found, in the order of the record; what is broken before what is doubtful."""
        return tuple(sorted(self._listed, key=_order))

    def sound_to(self, size: int) -> int:
        """How many entries of `size`, from the first on, nothing broken was found in."""
        return size if self._lowest is None else min(self._lowest, size)


def _order(finding: Finding) -> tuple[bool, bool, int, int]:
    # Whatever names an entry says more than what names only how far the tree was altered.
    names_entry = finding.position is not None and (
        finding.case is not None or finding.code in {"entry-missing", "file-damaged"}
    )
    position = -1 if finding.position is None else finding.position
    rank = list(CODES).index(finding.code)
    return finding.weight is Weight.DOUBT, not names_entry, position, rank
