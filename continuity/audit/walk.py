"""Following the whole record in order: chains, repeated entries, clock, tree.

Each check is one small class that takes every entry as it comes and gives back what it finds; all
of them stand in one list. Memory grows with the number of cases, never with that of entries.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from continuity.errors import ContinuityError
from continuity.ledger import caseindex, merkle
from continuity.ledger.chain import genesis
from continuity.ledger.keyring import KEY_KINDS, REGISTER_CASE

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping

    from continuity.audit.authority import Authority
    from continuity.audit.entries import Checked
    from continuity.store.protocol import Reads

HASHES_TO_BEGIN_WITH = 2**18
HASHES_AN_ENTRY = 256
"""What the case indexes may cost beside the entries. Digests spread evenly, so 65,000 cases can be
indexed after each entry; who makes one bucket large on purpose is not followed for ever."""

Fault = tuple[str, str]
"""A code and a sentence about the entry at hand."""

ChainHead = tuple[int, bytes, int]
"""A chain's length, the leaf hash of its last entry, and that entry's position."""


class Follower(Protocol):
    """A check that takes the entries in order."""

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take the next entry, and tell what is wrong with it."""


class OwnFaults:
    """What the entry's own check found."""

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Pass it on."""
        yield from entry.faults


class ChainOrder:
    """Each entry has the next number of its case and names the leaf before it.

    Args:
        register: The register's id.
        before: Gives the (length, head) of a case before its first entry here, where its earlier
            ones are not gone through.
    """

    def __init__(
        self, register: str, before: Callable[[Checked], tuple[int, bytes] | None] | None = None
    ) -> None:
        self._register = register
        self._before = before
        self.heads: dict[str, ChainHead] = {}

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take the next entry of any case."""
        known = self.heads.get(entry.case)
        length, head = known[:2] if known else self._start(entry)
        if entry.number != length:
            yield "chain-broken", f"It stands where entry {length} of its case should."
        elif entry.body is not None and entry.body.previous != head:
            yield "chain-broken", "It does not follow the entry before it in its case."
        number = entry.number if type(entry.number) is int else length
        self.heads[entry.case] = (number + 1, entry.leaf, entry.position)

    def _start(self, entry: Checked) -> tuple[int, bytes]:
        before = self._before(entry) if self._before else None
        return before or (0, genesis(self._register, entry.case))


class Keys:
    """Every entry that changes keys was among those the keys were read from.

    They are found through a table's index before anything is gone through, and an index can lie.
    """

    def __init__(self, authority: Authority) -> None:
        self._read = authority.read

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take the next entry."""
        changes = entry.kind in KEY_KINDS and entry.case == REGISTER_CASE
        if changes and entry.position not in self._read:
            yield "keys-broken", "It changes keys, and the file does not give it when asked."


class Mirrors:
    """An entry that repeats another stands right behind it, once in each case."""

    def __init__(self) -> None:
        self._original: bytes | None = None
        self._cases: set[str] = set()

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take the next entry."""
        if entry.mirrors is None:
            self._original, self._cases = entry.leaf, {entry.case}
            return
        if entry.mirrors != self._original:
            yield "mirror-unpaired", "The entry it repeats does not stand right before it."
        elif entry.case in self._cases:
            yield "mirror-unpaired", "It repeats an entry a second time in the same case."
        self._cases.add(entry.case)


class Clock:
    """The register's clock never stands earlier than at the entry before."""

    def __init__(self) -> None:
        self._latest = ""

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take the next entry; the times' one spelling sorts as they do."""
        if entry.body is None:
            return
        recorded_at = entry.body.recorded_at
        if recorded_at < self._latest:
            yield "clock-back", f"Recorded {recorded_at}, after one of {self._latest}."
        else:
            self._latest = recorded_at


class Tree:
    """Builds the tree again from the entries' bytes, beside the one that is stored.

    Args:
        reads: Where the stored nodes lie.
        size: How many entries the tree begins with.
        frontier: The complete subtrees of these, largest first.
        wanted: Sizes whose roots will be asked for.
    """

    def __init__(
        self,
        reads: Reads,
        wanted: set[int],
        size: int = 0,
        frontier: tuple[bytes, ...] = (),
    ) -> None:
        self._reads = reads
        self._wanted = wanted
        self.size = size
        self.frontier = list(frontier)
        self.roots: dict[int, bytes] = {}
        self._stored: dict[int, Iterator[tuple[int, bytes]]] = {}
        self._next: dict[int, tuple[int, bytes] | None] = {}
        self.lost = False
        self.tally()

    def lose(self) -> None:
        """Go on without a tree: an entry is missing, so nothing after it can be computed."""
        self.lost = True

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take the next entry's leaf."""
        if self.lost:
            return
        level, index, node = 0, self.size, entry.leaf
        while index & 1:
            node = merkle.node_hash(self.frontier.pop(), node)
            level, index = level + 1, index >> 1
            if self._stored_node(level, index) != node:
                sentence = (
                    f"Subtree {index} of level {level} is not the hash of what lies below it."
                )
                yield "node-differs", sentence
        self.frontier.append(node)
        self.size += 1
        self.tally()

    def tally(self) -> None:
        """Keep the root where it is wanted."""
        if self.size in self._wanted:
            self.roots[self.size] = merkle.root_of_frontier(self.frontier)

    def _stored_node(self, level: int, index: int) -> bytes | None:
        if level not in self._stored:
            self._stored[level] = iter(self._reads.scan_nodes(level, index))
            self._next[level] = next(self._stored[level], None)
        found = self._next[level]
        while found is not None and found[0] < index:
            found = next(self._stored[level], None)
        self._next[level] = found
        return found[1] if found is not None and found[0] == index else None


class SeenTrees:
    """The checkpoint an entry's author had seen is one of this very tree.

    Args:
        reads: Where stored nodes lie.
        roots: Roots known by size, to which the caller may add; others come from stored nodes.
    """

    def __init__(self, reads: Reads, roots: Mapping[int, bytes]) -> None:
        self._reads = reads
        self._roots = roots
        self._known: dict[int, bytes] = {}

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take the next entry."""
        seen = entry.body.seen if entry.body else None
        if seen and (seen.size > entry.position or self._root(seen.size) != seen.root):
            sentence = f"Its author had seen a tree of {seen.size} entries with another root."
            yield "seen-differs", sentence

    def _root(self, size: int) -> bytes | None:
        if size in self._roots:
            return self._roots[size]
        if size not in self._known:
            self._known.clear()  # authors move on together, so the last one is enough
            try:
                self._known[size] = merkle.root(size, self._reads.read_hashes)
            except ContinuityError:
                return None
        return self._known[size]


class Index:
    """The case index's root, whenever it was published, is that of the cases at that moment."""

    def __init__(
        self,
        chains: ChainOrder,
        earlier: Callable[[Collection[str]], Iterable[tuple[str, ChainHead]]] | None = None,
    ) -> None:
        self._chains = chains
        self._earlier = earlier
        self._leaves: list[dict[bytes, bytes]] = [{} for _ in range(caseindex.BUCKETS)]
        self._roots = [merkle.EMPTY_ROOT] * caseindex.BUCKETS
        self._changed: set[str] = set()
        self._left = HASHES_TO_BEGIN_WITH

    def accept(self, entry: Checked) -> Iterator[Fault]:
        """Take the next entry, before its own case's chain has taken it."""
        if (entry.kind == caseindex.INDEX_KIND) != (entry.case == caseindex.INDEX_CASE):
            yield "index-differs", "A case index stands in a chain of its own, with nothing else."
        elif entry.kind == caseindex.INDEX_KIND:
            details = entry.details
            count = sum(map(len, self._bring_up()))
            if self._left < 0:
                yield "index-unchecked", "The cases are indexed too often to be followed."
                return
            root = caseindex.index_root(self._roots).hex()
            if details.get("size") != entry.position:
                yield "index-differs", "The case index does not cover the entries before it."
            elif (details.get("root"), details.get("count")) != (root, count):
                yield "index-differs", "The case index published is not that of the cases."
        self._changed.add(entry.case)
        self._left += HASHES_AN_ENTRY

    def _bring_up(self) -> list[dict[bytes, bytes]]:
        if self._earlier is not None:
            for known, at in list(self._earlier(self._chains.heads)):
                self._chains.heads[known] = at
                self._changed.add(known)
                self._left += 1  # each is there, and is hashed once
            self._earlier = None
        stale = set()
        for case in self._changed & self._chains.heads.keys():
            length, head, position = self._chains.heads[case]
            record = caseindex.CaseRecord(caseindex.case_digest(case), length, head, position + 1)
            bucket = record.digest[0]
            self._leaves[bucket][record.digest] = merkle.leaf_hash(record.encode())
            stale.add(bucket)
        self._left -= sum(len(self._leaves[bucket]) for bucket in stale)
        for bucket in stale if self._left >= 0 else ():
            leaves = self._leaves[bucket]
            self._roots[bucket] = caseindex.root_of_leaves([leaves[one] for one in sorted(leaves)])
        self._changed.clear()
        return self._leaves


class Names:
    """Which number each case was opened with, and that every case an act touches was told.

    Args:
        reads: Where to look for the numbers of cases opened before the first entry here.
    """

    def __init__(self, reads: Reads | None = None) -> None:
        self.of: dict[str, str] = {}
        self._reads = reads
        self._untold: dict[str, None] = {}
        self._original: Checked | None = None

    def take(self, entry: Checked) -> None:
        """Take the next entry; ask `untold` first unless it repeats one."""
        meaning = entry.meaning
        if meaning is not None and meaning.name is not None:
            self.of.setdefault(entry.case, meaning.name)
        elif entry.case not in self.of and self._reads is not None:
            head = self._reads.case_head(entry.case)
            if head is not None and head.name is not None:
                self.of[entry.case] = head.name
        if entry.mirrors is None:
            self._original = entry
            self._untold = dict.fromkeys(meaning.touches) if meaning else {}
        self._untold.pop(self.of.get(entry.case, ""), None)

    def untold(self) -> tuple[Checked, Fault] | None:
        """The last entry that touched cases into whose chains it was not written."""
        if not self._untold or self._original is None:
            return None
        cases = ", ".join(self._untold)
        self._untold = {}
        sentence = f"It touches case {cases}, and was not written into that case's chain."
        return self._original, ("mirror-missing", sentence)
