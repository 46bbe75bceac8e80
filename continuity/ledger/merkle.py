"""The Merkle tree of RFC 9162 section 2.1 (the tree of RFC 6962 as well).

Pure functions. Hashes of complete subtrees come from an injected reader and are addressed by
(level, index): level 0 are the leaves, and node (l, i) covers leaves i * 2^l up to (i + 1) * 2^l.

A proof does not bind the tree's size by itself: take size and root from one signed checkpoint,
never from what accompanies the proof.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from hashlib import sha256

from continuity.errors import FormatError

HASH_BYTES = 32

MAX_PROOF = 63
"""Most hashes in a proof: enough for 2^63 leaves, and the limit of C2SP tlog-witness."""

EMPTY_ROOT = sha256(b"").digest()
"""The root of a tree without leaves (RFC 9162 section 2.1.1)."""

HashReader = Callable[[Sequence[tuple[int, int]]], Sequence[bytes]]
"""Gives the hashes of complete subtrees, in the order in which their (level, index) are asked."""


class ProofError(FormatError):
    """A proof does not show what it should."""


def leaf_hash(data: bytes) -> bytes:
    """Hash one leaf's bytes."""
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Hash two nodes into their parent."""
    return sha256(b"\x01" + left + right).digest()


def root(size: int, read: HashReader) -> bytes:
    """Compute the root of the first `size` leaves from O(log size) hashes.

    Raises:
        FormatError: The reader does not give what it was asked for.
    """
    return _range_hashes([(0, size)], read)[0] if size else EMPTY_ROOT


def inclusion_proof(index: int, size: int, read: HashReader) -> tuple[bytes, ...]:
    """Prove that a leaf is in the tree of `size` leaves: PATH of RFC 9162 section 2.1.3.1.

    Raises:
        ProofError: There is no such leaf.
        FormatError: The reader does not give what it was asked for.
    """
    if not 0 <= index < size:
        raise ProofError(f"There is no leaf {index} in a tree of {size}.")
    siblings = []
    start, stop = 0, size
    while stop - start > 1:
        middle = _split(start, stop)
        if index < middle:
            siblings.append((middle, stop))
            stop = middle
        else:
            siblings.append((start, middle))
            start = middle
    return _range_hashes(siblings[::-1], read)


def consistency_proof(first: int, second: int, read: HashReader) -> tuple[bytes, ...]:
    """Prove that a tree only grew: PROOF of RFC 9162 section 2.1.4.1.

    Empty where `first` is 0 or equals `second`.

    Raises:
        ProofError: The sizes are not in order.
        FormatError: The reader does not give what it was asked for.
    """
    if not 0 <= first <= second:
        raise ProofError(f"A tree of {second} leaves did not grow from one of {first}.")
    if first in (0, second):
        return ()
    parts = []
    start, stop = 0, second
    while stop != first:
        middle = _split(start, stop)
        if first <= middle:
            parts.append((middle, stop))
            stop = middle
        else:
            parts.append((start, middle))
            start = middle
    if start:  # else the old tree is a whole subtree of the new one, and its root is known
        parts.append((start, stop))
    return _range_hashes(parts[::-1], read)


def verify_inclusion(
    leaf: bytes, index: int, size: int, proof: Sequence[bytes], root: bytes
) -> None:
    """Check an inclusion proof: RFC 9162 section 2.1.3.2.

    Args:
        leaf: The leaf's hash, 32 bytes.
        index: The leaf's position, from 0.
        size: The tree's size, from the checkpoint that gives the root.
        proof: Hashes from the leaf's sibling upward, 32 bytes each.
        root: The tree's root, 32 bytes.

    Raises:
        ProofError: The proof does not show it.
    """
    if inclusion_root(leaf, index, size, proof) != root:
        raise ProofError(f"The proof does not lead from leaf {index} to the root of size {size}.")


def inclusion_root(leaf: bytes, index: int, size: int, proof: Sequence[bytes]) -> bytes:
    """Compute the root an inclusion proof leads to; `verify_inclusion` compares it.

    Raises:
        ProofError: The proof has not the length, or its hashes not the form, of such a proof.
    """
    _check_hashes(proof, leaf)
    if not 0 <= index < size:
        raise ProofError(f"There is no leaf {index} in a tree of {size}.")
    node, last, found = index, size - 1, leaf
    for sibling in proof:
        if not last:
            raise ProofError("The inclusion proof is longer than the tree is high.")
        if node & 1 or node == last:
            found = node_hash(sibling, found)
            while not node & 1 and node:
                node, last = node >> 1, last >> 1
        else:
            found = node_hash(found, sibling)
        node, last = node >> 1, last >> 1
    if last:
        raise ProofError("The inclusion proof is shorter than the tree is high.")
    return found


def verify_consistency(
    first: int, second: int, proof: Sequence[bytes], first_root: bytes, second_root: bytes
) -> None:
    """Check a consistency proof: RFC 9162 section 2.1.4.2.

    From size 0 everything grew, and between equal sizes the roots are compared; both need an
    empty proof (C2SP tlog-witness).

    Raises:
        ProofError: The proof does not show that the second tree begins with the first.
    """
    _check_hashes(proof, first_root, second_root)
    if not 0 <= first <= second:
        raise ProofError(f"A tree of {second} leaves did not grow from one of {first}.")
    if first in (0, second):
        _verify_without_proof(first, second, proof, first_root, second_root)
        return
    if not proof:
        raise ProofError(f"The proof from size {first} to {second} is empty.")
    # An old tree of 2^k leaves is a node of the new one, so the proof leaves its root out.
    path = (first_root, *proof) if first & (first - 1) == 0 else proof
    node, last = first - 1, second - 1
    while node & 1:
        node, last = node >> 1, last >> 1
    old = new = path[0]
    for sibling in path[1:]:
        if not last:
            raise ProofError("The consistency proof is longer than the tree is high.")
        if node & 1 or node == last:
            old, new = node_hash(sibling, old), node_hash(sibling, new)
            while not node & 1 and node:
                node, last = node >> 1, last >> 1
        else:
            new = node_hash(new, sibling)
        node, last = node >> 1, last >> 1
    if last or old != first_root or new != second_root:
        raise ProofError(f"The tree of {second} leaves does not begin with that of {first}.")


def _verify_without_proof(
    first: int, second: int, proof: Sequence[bytes], first_root: bytes, second_root: bytes
) -> None:
    if proof:
        raise ProofError(f"The proof from size {first} to {second} must be empty.")
    if not first and first_root != EMPTY_ROOT:
        raise ProofError("The root of size 0 is not the empty tree's.")
    if first == second and first_root != second_root:
        raise ProofError(f"The roots of size {first} differ: one of them was rewritten.")


def completed_nodes(
    position: int, leaf: bytes, frontier: Sequence[bytes]
) -> tuple[list[tuple[int, int, bytes]], tuple[bytes, ...]]:
    """Tell which nodes appending one leaf completes: one on average (RFC 9162 section 2.1.2).

    Args:
        position: The leaf's index: the tree's size before.
        leaf: The leaf's hash.
        frontier: The roots of the complete subtrees so far, largest first: one for each set bit
            of `position`.

    Returns:
        The completed nodes as (level, index, hash) from level 1 upward, and the new frontier.

    Raises:
        FormatError: The frontier is not one of a tree of `position` leaves.
    """
    if position < 0 or len(frontier) != position.bit_count():
        raise FormatError(f"The frontier does not fit a tree of {position} leaves.")
    _check_hashes(frontier, leaf)
    stack = list(frontier)
    nodes = []
    level, index, node = 0, position, leaf
    while index & 1:
        node = node_hash(stack.pop(), node)
        level, index = level + 1, index >> 1
        nodes.append((level, index, node))
    return nodes, (*stack, node)


def frontier(size: int, read: HashReader) -> tuple[bytes, ...]:
    """Read the frontier of a tree of `size` leaves, largest subtree first; not verified.

    Raises:
        FormatError: The reader does not give what it was asked for.
    """
    hashes = tuple(read(_cover(0, size)))
    if len(hashes) != size.bit_count() or any(len(found) != HASH_BYTES for found in hashes):
        raise FormatError("The tree's stored hashes are incomplete.")
    return hashes


def root_of_frontier(frontier: Sequence[bytes]) -> bytes:
    """Fold a frontier (largest subtree first) into the tree's root."""
    if not frontier:
        return EMPTY_ROOT
    found = frontier[-1]
    for left in reversed(frontier[:-1]):
        found = node_hash(left, found)
    return found


def reader_of(leaves: Sequence[bytes]) -> HashReader:
    """Give a reader over leaf hashes held in memory, for small trees."""
    levels = [list(leaves)]
    while len(levels[-1]) > 1:
        below = iter(levels[-1])
        levels.append([node_hash(*pair) for pair in zip(below, below, strict=False)])
    return lambda ids: [levels[level][index] for level, index in ids]


class TreeBuilder:
    """Builds a root leaf by leaf in O(log n) memory, for those who verify a whole log."""

    __slots__ = ("_frontier", "size")

    def __init__(self) -> None:
        self.size = 0
        self._frontier: list[bytes] = []

    def append(self, leaf: bytes) -> None:
        """Add a leaf's hash (32 bytes, as `leaf_hash` gives it)."""
        frontier, below = self._frontier, self.size
        while below & 1:
            leaf = sha256(b"\x01" + frontier.pop() + leaf).digest()
            below >>= 1
        frontier.append(leaf)
        self.size += 1

    def root(self) -> bytes:
        """Give the root of the leaves so far, 32 bytes."""
        return root_of_frontier(self._frontier)

    @property
    def frontier(self) -> tuple[bytes, ...]:
        """The roots of the complete subtrees so far, largest first."""
        return tuple(self._frontier)


def _split(start: int, stop: int) -> int:
    """Where RFC 9162 splits a tree: after the largest power of two smaller than its size."""
    return start + (1 << ((stop - start - 1).bit_length() - 1))


def _range_hashes(ranges: Sequence[tuple[int, int]], read: HashReader) -> tuple[bytes, ...]:
    """Compute the roots of several ranges of leaves, asking the reader once."""
    covers = [_cover(start, stop) for start, stop in ranges]
    hashes = list(read([node for cover in covers for node in cover]))
    if len(hashes) != sum(map(len, covers)) or any(len(h) != HASH_BYTES for h in hashes):
        raise FormatError("The tree's stored hashes are incomplete.")
    roots = []
    for cover in covers:
        roots.append(root_of_frontier(hashes[: len(cover)]))
        del hashes[: len(cover)]
    return tuple(roots)


def _cover(start: int, stop: int) -> list[tuple[int, int]]:
    """The complete subtrees that make up a range as RFC 9162 splits it, largest first."""
    nodes = []
    while start < stop:
        level = (stop - start).bit_length() - 1
        nodes.append((level, start >> level))
        start += 1 << level
    return nodes


def _check_hashes(proof: Sequence[bytes], *others: bytes) -> None:
    if len(proof) > MAX_PROOF:
        raise ProofError(f"The proof has {len(proof)} hashes; at most {MAX_PROOF} make sense.")
    if any(len(found) != HASH_BYTES for found in (*proof, *others)):
        raise ProofError("A hash in the proof, or the root, is not 32 bytes long.")
