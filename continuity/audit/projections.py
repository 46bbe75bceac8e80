"""Tables made from the entries, against the entries: they are evidence of nothing themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.report import Finding
from continuity.care.entries import read_act
from continuity.errors import ContinuityError
from continuity.ledger.chain import read_entry

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.audit.entries import Checked
    from continuity.audit.walk import ChainOrder, Fault, Names
    from continuity.store.protocol import LabelRow, Reads


KEPT = 4_096
"""Entries whose labels are remembered at once."""


class Labels:
    """What a label's code stands for is what the entry that joined them says."""

    def __init__(self, reads: Reads) -> None:
        self._reads = reads
        self._said: dict[int, tuple[str, tuple[str, str]] | None] = {}

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take the next entry."""
        if entry.meaning is None or entry.meaning.label is None or entry.mirrors is not None:
            return  # the case that owns the thing has its label; a copy in another says it again
        code, thing = entry.meaning.label
        row = self._reads.label(code)
        if row is None or (row.case_id, row.thing) != (entry.case, thing):
            yield "label-differs", f"It puts label {code} on {thing}; the table says otherwise."
        elif type(row.print) is not int or row.print < entry.position:
            yield "label-differs", f"Label {code} is kept in an older printing than this."

    def surplus(self, start: int, stop: int) -> Iterator[Finding]:
        """Labels whose printing, from position `start` up to `stop`, no entry made."""
        for row in self._reads.labels():
            if type(row.print) is int and not start <= row.print < stop:
                continue
            if not self._made(row):
                sentence = f"Label {row.code} stands for {row.thing}, which no entry says."
                yield Finding("label-differs", sentence, case=str(row.case_id))

    def _made(self, row: LabelRow) -> bool:
        # Kept by position, for many rows may name one long entry; not for ever, for most do not.
        if row.print not in self._said:
            if len(self._said) >= KEPT:
                self._said.clear()
            self._said[row.print] = self._joined_at(row.print)
        return self._said[row.print] == (row.case_id, (row.code, row.thing))

    def _joined_at(self, position: int) -> tuple[str, tuple[str, str]] | None:
        """The case, code and thing of the entry at a position, if it joins a label to one."""
        stored = self._reads.entry_at(position)
        try:
            entry, _ = read_entry(stored.note if stored else b"")
            label = read_act({"kind": entry.kind, **entry.details}).labels()
        except ContinuityError:
            return None
        return None if label is None else (entry.case, label)


def case_heads(
    reads: Reads, chains: ChainOrder, names: Names, start: int, stop: int
) -> Iterator[Finding]:
    """Compare what is kept of each case with its entries, from position `start` up to `stop`."""
    left = set(chains.heads)
    for kept in reads.cases():
        case = kept.case_id
        known = chains.heads.get(case)
        left.discard(case)
        if type(kept.position) is int and kept.position >= stop:
            continue  # written while the audit went on
        if start and (known is None or known[2] < start):
            continue  # not gone through
        name = names.of.get(case)
        if known is None or (kept.length, kept.head, kept.position) != known:
            sentence = f"What is kept of case {name or case} is not what its entries say."
            yield Finding("case-head-differs", sentence, case=case, name=name)
        if known is not None and name != kept.name and (start == 0 or case in names.of):
            sentence = f"Case {case} is filed as {kept.name}, and was opened as {name}."
            yield Finding("name-differs", sentence, case=case, name=name)
    for case in sorted(left):
        if chains.heads[case][2] >= start:
            name = names.of.get(case)
            sentence = f"Nothing is kept of case {name or case}, which has entries."
            yield Finding("case-head-differs", sentence, case=case, name=name)
