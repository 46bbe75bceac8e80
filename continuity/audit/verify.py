"""Verify a register: the whole of it, one case, or what is new since a trusted checkpoint.

Every entry is hashed and its signatures are checked from its bytes; nothing that is stored beside
them is believed. What is wrong comes back as findings in a report, never as an exception: an
exception means that the register could not be looked at.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from continuity.audit.authority import fold_authority, pinned, read_authority
from continuity.audit.checkpoints import Checkpoints, brought_along, read_held
from continuity.audit.earlier import Earlier
from continuity.audit.entries import all_checked
from continuity.audit.files import judge_files
from continuity.audit.findings import Findings
from continuity.audit.folds import Folds
from continuity.audit.onecase import check_case
from continuity.audit.outside import judge_outside
from continuity.audit.parallel import Workers
from continuity.audit.personal import Personal
from continuity.audit.projections import Labels, case_heads
from continuity.audit.report import Anchor, Finding, Report
from continuity.audit.trust import Held, Trust
from continuity.audit.walk import (
    ChainOrder,
    Clock,
    Index,
    Keys,
    Mirrors,
    Names,
    OwnFaults,
    SeenTrees,
    Tree,
)
from continuity.errors import DamagedRegisterError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from continuity.audit.authority import Authority
    from continuity.audit.walk import Follower
    from continuity.store.protocol import Store

    Progress = Callable[[int, int], None]

LAST = 2**63 - 1
"""The greatest position a store can hold."""

TOLD_EVERY = 256
"""Entries between two words of progress."""

NOTHING_GIVEN = Trust()


def verify(
    store: Store,
    trust: Trust = NOTHING_GIVEN,
    *,
    since: bytes | None = None,
    case: str | None = None,
    processes: int | None = None,
    progress: Progress | None = None,
    now: datetime | None = None,
) -> Report:
    """Verify a register, what is new in it, or one case.

    Args:
        store: The open store. With more than one process it is opened again in each.
        trust: Keys, checkpoints and authorities given from outside.
        since: A signed checkpoint up to which the register was verified before: only what came
            after it is gone through.
        case: The number of the one case to check, against the latest checkpoint.
        processes: How many may work at once; None takes as many as the machine has for a register
            that is worth it.
        progress: Told how many entries are done, of how many.
        now: The present, for the age of what was seen outside; None asks the clock.

    Raises:
        InputError: A checkpoint given is none, or there is no such case.
        RegisterError: The register cannot be read.
    """
    if case is not None:
        return check_case(store, trust, case, now or datetime.now(UTC))
    return _Audit(store, trust, since).run(processes, progress, now or datetime.now(UTC))


class _Audit:
    """One audit: what it found so far."""

    def __init__(self, store: Store, trust: Trust, since: bytes | None) -> None:
        self._store = store
        self._head = store.head()
        self._earlier = None
        frontier: tuple[bytes, ...] = ()
        if since is not None:
            trust = replace(trust, held=(*trust.held, Held(since, "the auditor")))
            earlier = Earlier.from_note(store, since)
            if earlier.size <= self._head.size:
                self._earlier, frontier = earlier, earlier.frontier()
        self._trust = trust
        self._held = read_held(trust)
        self._start = self._earlier.size if self._earlier else 0
        self._indexed = 0  # how many entries the last case index before there covers, and itself
        self._done = self._start
        wanted = {row.size for row in store.checkpoints()}
        wanted |= {checkpoint.size for _, _, checkpoint in self._held}
        self._names = Names(store if self._earlier else None)
        self._findings = Findings(self._names)
        self._tree = Tree(store, wanted, self._start, frontier)
        for size in wanted:
            if self._earlier is not None and isinstance(size, int) and 0 <= size < self._start:
                self._tree.roots[size] = self._earlier.root_at(size)
        self._chains = ChainOrder(store.register, self._earlier.before if self._earlier else None)
        self._personal = Personal(store)
        self._labels = Labels(store)
        self._folds = Folds()
        self._index = Index(self._chains, self._earlier.heads if self._earlier else None)

    def run(self, processes: int | None, progress: Progress | None, now: datetime) -> Report:
        authority = self._authority()
        is_pinned, rests_on, misfits = pinned(self._store.register, authority, self._trust)
        self._findings.extend(misfits)
        with Workers(self._store, authority, self._head.size - self._start, processes) as workers:
            try:
                self._walk(workers, self._followers(authority), progress)
            except DamagedRegisterError as error:
                self._findings.add(Finding("file-damaged", str(error), self._done))
                self._tree.lose()
            self._fold(workers)
        seen = tuple(sorted(self._judge_checkpoints(authority), key=lambda one: -one.size))
        self._compare_tables()
        self._findings.extend(judge_outside(self._store, seen, self._trust, now))
        return Report(
            register=self._store.register,
            scope="since" if self._earlier else "register",
            case=None,
            start=self._start,
            size=self._head.size,
            checked=self._done - self._start,
            sound_to=self._findings.sound_to(self._head.size),
            signed_to=self._signed_to,
            pinned=is_pinned,
            rests_on=self._rests_on(rests_on),
            anchors=seen,
            findings=self._findings.listed(),
            more=self._findings.more,
        )

    def _authority(self) -> Authority:
        if self._earlier is None:
            authority, findings = read_authority(self._store)
        else:
            rows, unlinked = self._earlier.own_chain()
            authority, findings = fold_authority(rows)
            findings += unlinked
            row = self._earlier.last_index()
            if row is not None:
                self._indexed = row.position + 1
                entry, faults = self._earlier.check_index(row, rows, authority)
                if not self._earlier.holds(row):
                    faults += (("not-in-tree", "The trusted tree has another entry there."),)
                for code, sentence in faults:
                    self._findings.about(entry, code, sentence)
        self._findings.extend(findings)
        return authority

    def _followers(self, authority: Authority) -> tuple[Follower, ...]:
        """Every check, in the order in which they take an entry."""
        return (
            OwnFaults(),
            Keys(authority),
            self._index,
            self._chains,
            Mirrors(),
            Clock(),
            SeenTrees(self._store, self._tree.roots),
            self._personal,
            self._labels,
            self._folds,
            self._tree,
        )

    def _walk(
        self, workers: Workers, followers: tuple[Follower, ...], progress: Progress | None
    ) -> None:
        size = self._head.size
        for entry in all_checked(workers, self._start, size):
            if entry.position != self._done:
                self._miss(entry.position)
            if entry.mirrors is None:
                self._judge_untold()
            self._names.take(entry)
            for follower in followers:
                for code, sentence in follower.accept(entry):
                    self._findings.about(entry, code, sentence)
            self._done = entry.position + 1
            if progress and not self._done % TOLD_EVERY:
                progress(self._done, size)
        self._judge_untold()
        if self._done < size:
            self._miss(size)
        elif not self._tree.lost:
            self._check_head()
        if progress:
            progress(self._done, size)

    def _check_head(self) -> None:
        if tuple(self._tree.frontier) != self._head.frontier:
            self._findings.add(Finding("head-differs", "The head row is not that of the entries."))
        beyond = next(self._store.scan(self._head.size, LAST), None)
        if beyond is not None and not self._has_grown():
            sentence = f"An entry lies at position {beyond.position}, beyond what the head counts."
            self._findings.add(Finding("head-differs", sentence))

    def _has_grown(self) -> bool:
        return self._store.head().size > self._head.size

    def _miss(self, up_to: int) -> None:
        missing = f"position {self._done}" + (f" to {up_to - 1}" if up_to - self._done > 1 else "")
        sentence = f"No entry lies at {missing}, and the register counts {self._head.size}."
        self._findings.add(Finding("entry-missing", sentence, self._done))
        self._tree.lose()

    def _judge_untold(self) -> None:
        untold = self._names.untold()
        if untold is not None:
            self._findings.about(untold[0], *untold[1])

    def _judge_checkpoints(self, authority: Authority) -> Iterator[Anchor]:
        judge = Checkpoints(
            self._store.register,
            authority,
            self._trust,
            self._head.size,
            self._tree.roots,
            self._tree.size if self._tree.lost else None,
        )
        rows = (row for row in self._store.checkpoints() if not self._is_newer(row.size))
        yield from judge.judge_all(rows, self._held, self._store, self._findings)
        self._signed_to = max(judge.signed, default=0)

    def _fold(self, workers: Workers) -> None:
        """Add up the cases that were gone through, as far as they are sound."""
        heads = self._chains.heads
        sound = [c for c, at in heads.items() if at[2] >= self._start and self._findings.none_in(c)]
        self._folds.finish(workers, sound)
        kept = dict(self._store.in_care())
        for case in sound:
            name = self._names.of.get(case)
            if case in self._folds.faults:
                sentence = f"Case {name or case} does not add up: {self._folds.faults[case]}"
                self._findings.add(Finding("case-unfoldable", sentence, case=case, name=name))
            elif kept.get(case) != self._folds.opened.get(case) and not self._has_grown():
                sentence = f"The list of cases in care is wrong about case {name or case}."
                self._findings.add(Finding("in-care-differs", sentence, case=case, name=name))
        if not self._start and not self._has_grown():
            for case in kept.keys() - heads.keys():
                sentence = f"The list of cases in care holds {case}, which has no entries."
                self._findings.add(Finding("in-care-differs", sentence, case=str(case)))

    def _compare_tables(self) -> None:
        stop = self._head.size if self._has_grown() else LAST
        heads = case_heads(self._store, self._chains, self._names, self._start, stop)
        self._findings.extend(heads)
        self._findings.extend(self._labels.surplus(self._start, stop))
        self._findings.extend(self._personal.at_the_end(self._names.of))
        strays = self._personal.strays() if not self._start and stop == LAST else 0
        self._findings.extend(judge_files(self._store, rows=not self._start))
        if strays > 0:
            sentence = f"{strays} personal details are kept that no entry has a digest of."
            self._findings.add(Finding("disclosure-orphan", sentence))

    def _is_newer(self, size: object) -> bool:
        """Whether a checkpoint was made while the audit went on."""
        return isinstance(size, int) and size > self._head.size and self._has_grown()

    def _rests_on(self, key: str) -> tuple[str, ...]:
        given = [key]
        if self._earlier:
            sentence = f"entries 1 to {self._start} were verified before, to the checkpoint given"
            given.append(sentence)
        if self._indexed < self._start:
            sentence = f"no case index covers entries {self._indexed + 1} to {self._start}"
            given.append(f"{sentence}: that no change of keys is left out there")
        return (*given, *brought_along(self._trust, self._held))
