"""One case by itself: its entries, its keys, its place in the signed tree, and that it is whole.

The other cases are not gone through. That this case's entries are those of the signed tree is
proved for each of them, and that none is missing at its end by the published case index.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.authority import fold_authority, pinned
from continuity.audit.checkpoints import Checkpoints, brought_along, read_held
from continuity.audit.earlier import Earlier
from continuity.audit.entries import EntryChecker
from continuity.audit.files import judge_files
from continuity.audit.findings import Findings
from continuity.audit.folds import fold_cases
from continuity.audit.outside import judge_outside
from continuity.audit.parallel import Desk
from continuity.audit.personal import Personal
from continuity.audit.projections import Labels
from continuity.audit.report import Anchor, Finding, Report
from continuity.audit.walk import ChainOrder, Names, OwnFaults, SeenTrees
from continuity.errors import ContinuityError, FormatError, InputError
from continuity.ledger import merkle
from continuity.ledger.caseindex import OWN_CHAINS
from continuity.ledger.chain import read_entry
from continuity.ledger.keyring import REGISTER_CASE

MOST_REPEATS = 100
"""Most cases one act is looked for in; no act in this trade touches as many."""

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from continuity.audit.authority import Authority
    from continuity.audit.entries import Checked
    from continuity.audit.trust import Trust
    from continuity.audit.walk import Fault
    from continuity.store.protocol import CaseHead, Reads, Stored


def check_case(reads: Reads, trust: Trust, case: str, now: datetime) -> Report:
    """Check one case; `verify` tells the rest.

    Raises:
        InputError: There is no such case, or a checkpoint given is none.
        RegisterError: The register cannot be read.
    """
    head = reads.case_by_name(case) or reads.case_head(case)
    if head is None:
        reads.check_cases()
        raise InputError(f"There is no case {case} in this register; check the number.")
    return _OneCase(reads, trust, head).run(now)


def _root(reads: Reads, size: int) -> bytes:
    try:
        return merkle.root(size, reads.read_hashes)
    except ContinuityError:
        return b""


class _SignedTree:
    """The tree under the register's latest checkpoint, and what stands in it."""

    def __init__(self, reads: Reads) -> None:
        self._reads = reads
        row = reads.latest_checkpoint()
        self.size = row.size if row and type(row.size) is int else 0
        self._root = row.root if row else merkle.EMPTY_ROOT
        self.roots = {self.size: _root(reads, self.size)}

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take an entry: below the checkpoint it must be what the tree has at its position."""
        if entry.position >= self.size:
            return
        try:
            read = self._reads.read_hashes
            proof = merkle.inclusion_proof(entry.position, self.size, read)
            merkle.verify_inclusion(entry.leaf, entry.position, self.size, proof, self._root)
        except ContinuityError:
            yield "not-in-tree", "It is not what the signed tree has at its position."


class _Repeats:
    """An entry that repeats another stands behind it, with nothing but repeats between."""

    def __init__(self, reads: Reads) -> None:
        self._reads = reads

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take the next entry."""
        if entry.mirrors is None:
            return
        for position in range(entry.position - 1, max(entry.position - 1 - MOST_REPEATS, -1), -1):
            row = self._reads.entry_at(position)
            if row is None or merkle.leaf_hash(row.note) == entry.mirrors:
                break
            try:
                between, _ = read_entry(row.note)
            except FormatError:
                row = None
                break
            if between.mirrors != entry.mirrors or between.case == entry.case:
                row = None
                break
        else:
            row = None
        if row is None:
            yield "mirror-unpaired", "The entry it repeats does not stand right before it."


class _OneCase:
    def __init__(self, reads: Reads, trust: Trust, head: CaseHead) -> None:
        self._reads = reads
        self._trust = trust
        self._head = head
        self._size = reads.head().size
        self._held = read_held(trust)
        self._tree = _SignedTree(reads)
        self._names = Names()
        self._findings = Findings(self._names)
        self._indexed: int | None = None  # where the last case index under the checkpoint stands

    def run(self, now: datetime) -> Report:
        authority, own = self._authority()
        is_pinned, key, misfits = pinned(self._reads.register, authority, self._trust)
        self._findings.extend(misfits)
        rows = self._reads.entries(self._head.case_id)
        self._follow(rows, authority)
        self._check_own(authority, own)
        self._check_complete(authority, own)
        self._findings.extend(judge_files(self._reads, rows=False))
        seen = tuple(sorted(self._anchors(authority), key=lambda one: -one.size))
        self._findings.extend(judge_outside(self._reads, seen, self._trust, now))
        name = self._names.of.get(self._head.case_id, self._head.case_id)
        return Report(
            register=self._reads.register,
            scope="case",
            case=name,
            start=rows[0].position if rows else 0,
            size=self._size,
            checked=len(rows),
            sound_to=self._findings.sound_to(self._size),
            signed_to=self._tree.size,
            pinned=is_pinned,
            rests_on=(key, *brought_along(self._trust, self._held)),
            anchors=seen,
            findings=self._findings.listed(),
            more=self._findings.more,
            positions=tuple(row.position for row in rows),
            uncovered=tuple(self._uncovered(rows)),
        )

    def _uncovered(self, rows: list[Stored]) -> Iterator[str]:
        """What checking one case leaves out, in words."""
        yield "whether the other cases, and the tables made from them, are sound: not gone through"
        if self._indexed is None:
            yield "whether this case has more entries: no case index is published that covers it"
            return
        later = sum(row.position > self._indexed for row in rows)
        told = f"; {later} of this case are not covered by it" if later else ""
        yield (
            f"whether an entry made after the last case index, at position {self._indexed}, was"
            f" left out{told}"
        )

    def _authority(self) -> tuple[Authority, list[Stored]]:
        latest = self._reads.latest_checkpoint()
        try:
            earlier = Earlier.from_note(self._reads, latest.note) if latest else None
        except (FormatError, TypeError):
            earlier = None  # it is judged, and named, with the other checkpoints
        if earlier is None:
            rows = self._reads.entries(REGISTER_CASE)
        else:
            rows, findings = earlier.own_chain()
            self._findings.extend(findings)
        authority, findings = fold_authority(rows)
        self._findings.extend(findings)
        return authority, rows

    def _check_own(self, authority: Authority, own: list[Stored]) -> None:
        """The register's own chain, on which it rests who may sign."""
        chains = ChainOrder(self._reads.register)
        for entry in EntryChecker(self._reads, authority).check(own):
            for code, sentence in (*OwnFaults().accept(entry), *chains.accept(entry)):
                self._findings.about(entry, code, sentence)

    def _follow(self, rows: list[Stored], authority: Authority) -> None:
        personal, chains = Personal(self._reads), ChainOrder(self._reads.register)
        followers = (
            OwnFaults(),
            chains,
            _Repeats(self._reads),
            SeenTrees(self._reads, self._tree.roots),
            personal,
            Labels(self._reads),
            self._tree,
        )
        for entry in EntryChecker(self._reads, authority).check(rows):
            self._names.take(entry)
            for follower in followers:
                for code, sentence in follower.accept(entry):
                    self._findings.about(entry, code, sentence)
        known = chains.heads.get(self._head.case_id)
        if known != (self._head.length, self._head.head, self._head.position):
            sentence = f"What is kept of case {self._head.name} is not what its entries say."
            case, name = self._head.case_id, self._head.name
            self._findings.add(Finding("case-head-differs", sentence, case=case, name=name))
        self._findings.extend(personal.at_the_end(self._names.of))
        if self._findings.none_in(self._head.case_id):
            self._fold(authority)

    def _fold(self, authority: Authority) -> None:
        case, name = self._head.case_id, self._head.name
        if case in OWN_CHAINS:
            return
        (folded,) = fold_cases(Desk(self._reads, authority), (case,))
        if folded.fault is not None:
            sentence = f"Case {name} does not add up: {folded.fault}"
            self._findings.add(Finding("case-unfoldable", sentence, case=case, name=name))
        elif dict(self._reads.in_care()).get(case) != folded.opened:
            sentence = f"The list of cases in care is wrong about case {name}."
            self._findings.add(Finding("in-care-differs", sentence, case=case, name=name))

    def _check_complete(self, authority: Authority, own: list[Stored]) -> None:
        """The last case index under the checkpoint says that no entry of this case is missing.

        Nor of the register's own chain: else a revocation at its end could be hidden.
        """
        earlier = Earlier(self._reads, self._tree.size, b"")
        row = earlier.last_index()
        if row is None:
            return
        self._indexed = row.position
        entry, faults = earlier.check_index(row, own, authority)
        for code, sentence in (*faults, *self._tree.accept(entry)):
            self._findings.about(entry, code, sentence)

    def _anchors(self, authority: Authority) -> Iterator[Anchor]:
        roots = dict(self._tree.roots)
        for _, _, checkpoint in self._held:
            if checkpoint.size <= self._size:
                roots[checkpoint.size] = _root(self._reads, checkpoint.size)
        judge = Checkpoints(self._reads.register, authority, self._trust, self._size, roots, None)
        latest = self._reads.latest_checkpoint()
        rows = [latest] if latest else []
        return judge.judge_all(rows, self._held, self._reads, self._findings)
