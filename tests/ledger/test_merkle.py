"""The tree of RFC 9162: published hashes and proofs, and a naive tree to compare with."""

from __future__ import annotations

from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity.errors import FormatError
from continuity.ledger import merkle
from continuity.ledger.merkle import EMPTY_ROOT, ProofError, TreeBuilder

# The eight inputs of the reference tests of RFC 6962, and the root of each size
# (github.com/transparency-dev/merkle, testonly/constants.go).
INPUTS = [
    bytes.fromhex(data)
    for data in (
        "",
        "00",
        "10",
        "2021",
        "3031",
        "40414243",
        "5051525354555657",
        "606162636465666768696a6b6c6d6e6f",
    )
]
ROOTS = [
    bytes.fromhex(root)
    for root in (
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
        "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
        "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
        "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
        "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
        "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
        "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
        "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
    )
]
LEAVES = [merkle.leaf_hash(data) for data in INPUTS]

# Names of the nodes in the worked example of RFC 9162 section 2.1.5 (seven leaves d0 to d6).
A, B, C, D, E, F, J = LEAVES[:7]
G, H, I = (merkle.node_hash(*LEAVES[i : i + 2]) for i in (0, 2, 4))  # noqa: E741 - as the RFC names it
K, L = merkle.node_hash(G, H), merkle.node_hash(I, J)


def naive_root(leaves):
    """MTH of RFC 9162 section 2.1.1, word for word, over leaf hashes."""
    if not leaves:
        return sha256(b"").digest()
    if len(leaves) == 1:
        return leaves[0]
    k = 1
    while k * 2 < len(leaves):
        k *= 2
    return sha256(b"\x01" + naive_root(leaves[:k]) + naive_root(leaves[k:])).digest()


def naive_path(m, leaves):
    """PATH of RFC 9162 section 2.1.3.1, word for word."""
    if len(leaves) == 1:
        return []
    k = 1
    while k * 2 < len(leaves):
        k *= 2
    if m < k:
        return [*naive_path(m, leaves[:k]), naive_root(leaves[k:])]
    return [*naive_path(m - k, leaves[k:]), naive_root(leaves[:k])]


def naive_subproof(m, leaves, whole):
    """SUBPROOF of RFC 9162 section 2.1.4.1, word for word."""
    if m == len(leaves):
        return [] if whole else [naive_root(leaves)]
    k = 1
    while k * 2 < len(leaves):
        k *= 2
    if m <= k:
        return [*naive_subproof(m, leaves[:k], whole), naive_root(leaves[k:])]
    return [*naive_subproof(m - k, leaves[k:], False), naive_root(leaves[:k])]


def numbered(count):
    return [merkle.leaf_hash(b"%d" % number) for number in range(count)]


def test_hashes_of_the_reference_tests():
    """github.com/transparency-dev/merkle, rfc6962/rfc6962_test.go."""
    assert merkle.leaf_hash(b"").hex() == (
        "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"
    )
    assert merkle.leaf_hash(b"L123456").hex() == (
        "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"
    )
    assert merkle.node_hash(b"N123", b"N456").hex() == (
        "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"
    )
    assert EMPTY_ROOT.hex() == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


@pytest.mark.parametrize("size", range(9))
def test_roots_of_the_reference_tests(size):
    assert merkle.root(size, merkle.reader_of(LEAVES[:size])) == ROOTS[size]
    assert merkle.root(size, merkle.reader_of(LEAVES)) == ROOTS[size]
    builder = TreeBuilder()
    for leaf in LEAVES[:size]:
        builder.append(leaf)
    assert (builder.size, builder.root()) == (size, ROOTS[size])


@pytest.mark.parametrize(
    ("index", "size", "proof"),
    [
        (0, 7, [B, H, L]),
        (3, 7, [C, G, L]),
        (4, 7, [F, J, K]),
        (6, 7, [I, K]),
    ],
)
def test_inclusion_proofs_of_the_worked_example(index, size, proof):
    """RFC 9162 section 2.1.5 (RFC 6962 section 2.1.3)."""
    assert merkle.inclusion_proof(index, size, merkle.reader_of(LEAVES)) == tuple(proof)
    merkle.verify_inclusion(LEAVES[index], index, size, proof, ROOTS[size])


@pytest.mark.parametrize(
    ("first", "second", "proof"),
    [(3, 7, [C, D, G, L]), (4, 7, [L]), (6, 7, [I, J, K])],
)
def test_consistency_proofs_of_the_worked_example(first, second, proof):
    """RFC 9162 section 2.1.5 (RFC 6962 section 2.1.3)."""
    assert merkle.consistency_proof(first, second, merkle.reader_of(LEAVES)) == tuple(proof)
    merkle.verify_consistency(first, second, proof, ROOTS[first], ROOTS[second])


@pytest.mark.parametrize("size", range(71))
def test_every_proof_of_every_size_is_the_naive_one_and_verifies(size):
    leaves = numbered(size)
    read = merkle.reader_of(leaves)
    root = naive_root(leaves)
    assert merkle.root(size, read) == root
    for index in range(size):
        proof = merkle.inclusion_proof(index, size, read)
        assert list(proof) == naive_path(index, leaves)
        merkle.verify_inclusion(leaves[index], index, size, proof, root)
    for first in range(1, size + 1):
        proof = merkle.consistency_proof(first, size, read)
        assert list(proof) == naive_subproof(first, leaves, True)
        merkle.verify_consistency(first, size, proof, naive_root(leaves[:first]), root)


def test_completed_nodes_are_the_complete_subtrees_and_nothing_else():
    leaves = numbered(70)
    frontier, stored = (), {}
    for position, leaf in enumerate(leaves):
        nodes, frontier = merkle.completed_nodes(position, leaf, frontier)
        for level, index, found in nodes:
            assert (level, index) not in stored
            stored[level, index] = found
        size = position + 1
        assert len(frontier) == size.bit_count()
        assert merkle.root_of_frontier(frontier) == naive_root(leaves[:size])
        expected = {
            (level, index): naive_root(leaves[index << level : (index + 1) << level])
            for level in range(1, size.bit_length())
            for index in range(size >> level)
        }
        assert stored == expected
    assert len(stored) < len(leaves)  # one node for each leaf on average, and less


@given(st.integers(0, 2**62), st.binary(min_size=32, max_size=32))
def test_frontiers_of_any_size(position, leaf):
    frontier = [bytes([i]) * 32 for i in range(position.bit_count())]
    nodes, after = merkle.completed_nodes(position, leaf, frontier)
    assert len(after) == (position + 1).bit_count()
    trailing_ones = (position ^ (position + 1)).bit_length() - 1
    assert [node[:2] for node in nodes] == [
        (level, position >> level) for level in range(1, trailing_ones + 1)
    ]


@pytest.mark.parametrize(
    ("position", "frontier"), [(-1, []), (0, [A]), (1, []), (3, [A]), (4, [A, B])]
)
def test_a_frontier_of_another_size_is_refused(position, frontier):
    with pytest.raises(FormatError, match="frontier"):
        merkle.completed_nodes(position, A, frontier)


def test_a_frontier_or_leaf_of_another_length_is_refused():
    with pytest.raises(FormatError, match="32 bytes"):
        merkle.completed_nodes(1, A, [b"short"])
    with pytest.raises(FormatError, match="32 bytes"):
        merkle.completed_nodes(0, b"short", [])


@pytest.mark.parametrize(("index", "size"), [(0, 0), (7, 7), (-1, 7)])
def test_no_proof_of_a_leaf_that_is_not_there(index, size):
    with pytest.raises(ProofError, match="no leaf"):
        merkle.inclusion_proof(index, size, merkle.reader_of(LEAVES))
    with pytest.raises(ProofError, match="no leaf"):
        merkle.verify_inclusion(A, index, size, [], ROOTS[size])


def test_no_proof_of_shrinking():
    for first, second in ((4, 3), (-1, 3)):
        with pytest.raises(ProofError, match="did not grow"):
            merkle.consistency_proof(first, second, merkle.reader_of(LEAVES))
        with pytest.raises(ProofError, match="did not grow"):
            merkle.verify_consistency(first, second, [], ROOTS[4], ROOTS[3])


def test_a_reader_that_gives_too_few_or_odd_hashes_is_noticed():
    for answer in ([], [A], [A, B[:31]]):
        with pytest.raises(FormatError, match="incomplete"):
            merkle.root(3, lambda ids, answer=answer: answer)


def test_the_reader_is_asked_once_for_log_n_hashes():
    asked = []
    read = merkle.reader_of(numbered(70))

    def count(ids):
        asked.append(list(ids))
        return read(ids)

    merkle.inclusion_proof(11, 70, count)
    merkle.consistency_proof(11, 70, count)
    merkle.root(70, count)
    assert len(asked) == 3
    assert max(map(len, asked)) <= 10


def test_between_equal_sizes_the_roots_are_compared():
    merkle.verify_consistency(7, 7, [], ROOTS[7], ROOTS[7])
    with pytest.raises(ProofError, match="rewritten"):
        merkle.verify_consistency(7, 7, [], ROOTS[7], ROOTS[6])
    with pytest.raises(ProofError, match="must be empty"):
        merkle.verify_consistency(7, 7, [A], ROOTS[7], ROOTS[7])


def test_every_tree_grew_from_the_empty_one():
    merkle.verify_consistency(0, 7, [], EMPTY_ROOT, ROOTS[7])
    merkle.verify_consistency(0, 0, [], EMPTY_ROOT, EMPTY_ROOT)
    for arguments in (
        (0, 7, [A], EMPTY_ROOT, ROOTS[7]),
        (0, 7, [], ROOTS[7], ROOTS[7]),
        (0, 0, [], ROOTS[7], ROOTS[7]),
        (0, 0, [], EMPTY_ROOT, ROOTS[7]),
    ):
        with pytest.raises(ProofError):
            merkle.verify_consistency(*arguments)


def damaged(proof):
    """Every way to spoil one proof a little."""
    for position, found in enumerate(proof):
        yield [*proof[:position], *proof[position + 1 :]]
        yield [*proof[:position], found, *proof[position:]]
        for bit in (0, 100, 255):
            flipped = bytearray(found)
            flipped[bit // 8] ^= 1 << bit % 8
            yield [*proof[:position], bytes(flipped), *proof[position + 1 :]]
        yield [*proof[:position], found[:31], *proof[position + 1 :]]
        yield [*proof[:position], found + b"\0", *proof[position + 1 :]]
    yield [*proof, bytes(32)]
    yield [bytes(32), *proof]
    if len(proof) > 1:
        yield proof[::-1]


@pytest.mark.parametrize("size", [1, 2, 3, 7, 8, 13])
def test_damaged_proofs_are_refused(size):
    leaves = numbered(size)
    read, root = merkle.reader_of(leaves), naive_root(leaves)
    for index in range(size):
        proof = list(merkle.inclusion_proof(index, size, read))
        for bad in damaged(proof):
            with pytest.raises(ProofError):
                merkle.verify_inclusion(leaves[index], index, size, bad, root)
        for other in set(range(size)) - {index}:
            with pytest.raises(ProofError):
                merkle.verify_inclusion(leaves[index], other, size, proof, root)
    for first in range(1, size):
        old = naive_root(leaves[:first])
        proof = list(merkle.consistency_proof(first, size, read))
        for bad in [*damaged(proof), []]:
            with pytest.raises(ProofError):
                merkle.verify_consistency(first, size, bad, old, root)
        for roots in ((root, old), (old, old), (root, root), (old[:31], root)):
            with pytest.raises(ProofError):
                merkle.verify_consistency(first, size, proof, *roots)


def test_a_node_is_not_taken_for_a_leaf():
    """Leaves and nodes are hashed with different first bytes (RFC 9162 section 2.1.1)."""
    with pytest.raises(ProofError):
        merkle.verify_inclusion(merkle.leaf_hash(A + B), 0, 1, [], ROOTS[2])
    merkle.verify_inclusion(G, 0, 1, [], ROOTS[2])  # whoever hands in hashes must have made them


def test_a_proof_is_no_longer_than_63_hashes():
    with pytest.raises(ProofError, match="63"):
        merkle.verify_inclusion(A, 0, 2**63 - 1, [A] * 64, A)
    with pytest.raises(ProofError, match="63"):
        merkle.verify_consistency(1, 2**63 - 1, [A] * 64, A, A)


def test_a_proof_does_not_bind_the_size():
    """Why size and root come from one checkpoint: these all verify, under one root."""
    read = merkle.reader_of(LEAVES)
    proof = merkle.inclusion_proof(0, 8, read)
    for size in (5, 6, 7, 8):
        merkle.verify_inclusion(A, 0, size, proof, ROOTS[8])
    for size in (4, 9):
        with pytest.raises(ProofError):
            merkle.verify_inclusion(A, 0, size, proof, ROOTS[8])


def test_the_builder_keeps_the_frontier():
    builder = TreeBuilder()
    frontier = ()
    for position, leaf in enumerate(numbered(20)):
        _, frontier = merkle.completed_nodes(position, leaf, frontier)
        builder.append(leaf)
        assert builder.frontier == frontier
