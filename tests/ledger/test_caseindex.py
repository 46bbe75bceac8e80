"""The case index: what it proves, and what a dishonest register cannot make it prove."""

from __future__ import annotations

from dataclasses import replace
from hashlib import sha256

import pytest

from continuity.errors import FormatError
from continuity.ledger import caseindex, merkle
from continuity.ledger.caseindex import AbsenceProof, CaseRecord
from continuity.ledger.merkle import EMPTY_ROOT, ProofError

CASES = [f"c-{number:04}" for number in range(700)]


def record_of(case_id, length=3):
    return CaseRecord(caseindex.case_digest(case_id), length, sha256(case_id.encode()).digest(), 99)


@pytest.fixture(scope="module")
def buckets():
    found = [[] for _ in range(256)]
    for case_id in CASES:
        found[caseindex.bucket_of(case_id)].append(record_of(case_id))
    return [sorted(bucket, key=lambda record: record.digest) for bucket in found]


@pytest.fixture(scope="module")
def roots(buckets):
    return [caseindex.bucket_root(bucket) for bucket in buckets]


@pytest.fixture(scope="module")
def root(roots):
    return caseindex.index_root(roots)


@pytest.fixture
def prove(buckets, roots):
    return lambda case_id: caseindex.prove(case_id, buckets[caseindex.bucket_of(case_id)], roots)


@pytest.fixture
def prove_absent(buckets, roots):
    return lambda case_id: caseindex.prove_absent(
        case_id, buckets[caseindex.bucket_of(case_id)], roots
    )


def test_a_record_to_the_byte():
    record = record_of("c-0001")
    assert record.encode() == (
        b'{"case":"%b","head":"%b","length":3,"size":99}'
        % (
            sha256(b"c-0001").hexdigest().encode(),
            sha256(b"c-0001").hexdigest().encode(),
        )
    )
    assert CaseRecord.parse(record.encode()) == record


def test_a_bucket_binds_its_size_and_the_index_is_the_tree_of_rfc_9162():
    records = sorted(
        (record_of(case_id) for case_id in CASES if caseindex.bucket_of(case_id) == 7),
        key=lambda record: record.digest,
    )[:2]
    leaves = [sha256(b"\0" + record.encode()).digest() for record in records]
    tree = sha256(b"\1" + leaves[0] + leaves[1]).digest()
    assert caseindex.bucket_root(records) == (
        sha256(b"continuity-bucket/1\n" + (2).to_bytes(8, "big") + tree).digest()
    )
    level = [sha256(b"\0" + EMPTY_ROOT).digest()] * 256
    while len(level) > 1:
        level = [
            sha256(b"\1" + a + b).digest() for a, b in zip(level[::2], level[1::2], strict=True)
        ]
    assert caseindex.index_root([EMPTY_ROOT] * 256) == level[0]
    assert caseindex.bucket_root([]) == EMPTY_ROOT


def test_every_case_is_proven(prove, root):
    for case_id in CASES:
        proof = prove(case_id)
        caseindex.verify_case(case_id, 3, sha256(case_id.encode()).digest(), proof, root)
        assert len(proof.index_path) == 8


def test_a_shortened_case_does_not_pass(prove, root):
    """Tampering: the last entry of a case is left out."""
    head = sha256(b"c-0005").digest()
    proof = prove("c-0005")
    for length, other_head in ((2, head), (4, head), (3, bytes(32))):
        with pytest.raises(ProofError, match="has 3 entries"):
            caseindex.verify_case("c-0005", length, other_head, proof, root)
    shortened = replace(proof.member, record=replace(proof.member.record, length=2))
    with pytest.raises(ProofError):
        caseindex.verify_case("c-0005", 2, head, replace(proof, member=shortened), root)


def test_one_cases_proof_is_not_anothers(prove, root):
    with pytest.raises(ProofError, match="not about case c-0006"):
        caseindex.verify_case("c-0006", 3, sha256(b"c-0006").digest(), prove("c-0005"), root)


def test_a_damaged_proof_does_not_pass(prove, root):
    proof = prove("c-0005")
    member = proof.member
    flipped = bytes([proof.index_path[0][0] ^ 1]) + proof.index_path[0][1:]
    for bad in (
        replace(proof, index_path=proof.index_path[1:]),
        replace(proof, index_path=(*proof.index_path, bytes(32))),
        replace(proof, index_path=(flipped, *proof.index_path[1:])),
        replace(proof, bucket_size=proof.bucket_size + 1),
        replace(proof, bucket_size=0),
        replace(proof, member=replace(member, position=member.position + 1)),
        replace(proof, member=replace(member, path=(*member.path, bytes(32)))),
        replace(proof, member=replace(member, record=replace(member.record, size=98))),
    ):
        with pytest.raises(ProofError):
            caseindex.verify_case("c-0005", 3, sha256(b"c-0005").digest(), bad, root)
    with pytest.raises(ProofError):
        caseindex.verify_case("c-0005", 3, sha256(b"c-0005").digest(), proof, EMPTY_ROOT)


def test_absence_is_proven_first_last_between_and_in_an_empty_bucket(buckets, prove_absent, root):
    kinds = set()
    for number in range(400):
        case_id = f"absent-{number}"
        proof = prove_absent(case_id)
        caseindex.verify_absent(case_id, proof, root)
        kinds.add((proof.before is None, proof.after is None))
    assert {(True, False), (False, True), (False, False)} <= kinds
    empty = [[] if bucket is buckets[3] else bucket for bucket in buckets]
    roots = [caseindex.bucket_root(bucket) for bucket in empty]
    case_id = next(case_id for case_id in CASES if caseindex.bucket_of(case_id) == 3)
    proof = caseindex.prove_absent(case_id, [], roots)
    assert (proof.before, proof.after, proof.bucket_size) == (None, None, 0)
    caseindex.verify_absent(case_id, proof, caseindex.index_root(roots))


def test_a_case_that_is_there_cannot_be_proven_absent(buckets, prove, prove_absent, root):
    with pytest.raises(ProofError, match="holds case c-0005"):
        prove_absent("c-0005")
    bucket = next(bucket for bucket in buckets if len(bucket) >= 5)
    case_id = next(c for c in CASES if caseindex.case_digest(c) == bucket[2].digest)
    whole = {
        caseindex.case_digest(c): prove(c)
        for c in CASES
        if caseindex.bucket_of(c) == caseindex.bucket_of(case_id)
    }
    members = [whole[record.digest].member for record in bucket]
    path = whole[bucket[0].digest].index_path
    size = len(bucket)
    # Every pair of genuine records, claimed to be neighbours in every bucket of a plausible size.
    for before in (None, *members):
        for after in (None, *members):
            for claimed in range(size * 2 + 1):
                forged = AbsenceProof(before, after, claimed, path)
                with pytest.raises(ProofError):
                    caseindex.verify_absent(case_id, forged, root)
                for moved in (before and replace(before, position=1), before):
                    if moved and after:
                        closer = replace(after, position=moved.position + 1)
                        with pytest.raises(ProofError):
                            caseindex.verify_absent(
                                case_id, AbsenceProof(moved, closer, claimed, path), root
                            )


def test_an_invented_neighbour_does_not_pass(prove_absent, root):
    checked = 0
    for number in range(100):
        case_id = f"absent-{number}"
        proof = prove_absent(case_id)
        for side in ("before", "after"):
            genuine = getattr(proof, side)
            if genuine is not None:
                invented = replace(genuine, record=replace(genuine.record, length=1, size=1))
                with pytest.raises(ProofError):
                    caseindex.verify_absent(case_id, replace(proof, **{side: invented}), root)
                checked += 1
    assert checked > 100


def test_a_missing_case_is_not_proven(buckets, roots):
    with pytest.raises(ProofError, match="does not hold"):
        caseindex.prove("absent", buckets[caseindex.bucket_of("absent")], roots)


def test_a_changed_case_changes_its_bucket_alone(buckets, roots, root):
    number = caseindex.bucket_of("c-0005")
    changed = [
        replace(record, length=4) if record.digest == caseindex.case_digest("c-0005") else record
        for record in buckets[number]
    ]
    after = [*roots[:number], caseindex.bucket_root(changed), *roots[number + 1 :]]
    assert caseindex.index_root(after) != root


def test_a_bucket_is_sorted_and_holds_each_case_once(buckets):
    bucket = next(bucket for bucket in buckets if len(bucket) >= 3)
    foreign = next(other[0] for other in buckets if other and other is not bucket)
    for records in (
        bucket[::-1],
        [bucket[0], bucket[0]],
        sorted([*bucket, foreign], key=lambda r: r.digest),
    ):
        with pytest.raises(FormatError, match="in order"):
            caseindex.bucket_root(records)


@pytest.mark.parametrize("roots", [[], [EMPTY_ROOT] * 255, [EMPTY_ROOT] * 257, [b"x"] * 256])
def test_an_index_has_256_buckets(roots):
    with pytest.raises(FormatError, match="256"):
        caseindex.index_root(roots)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"length":3', b'"length":0'),
        (b'"length":3', b'"length":-3'),
        (b'"length":3', b'"length":100'),
        (b'"length":3', b'"length":true'),
        (b'"length":3', b'"length":"3"'),
        (b'"size":99', b'"size":null'),
        (b'"size":99', b'"size":99,"tail":1'),
        (b',"size":99', b""),
        (b'"length":3', b'"length": 3'),
        (b'"head":"', b'"head":"AB'),
        (b'"head":"', b'"head":null,"heads":"'),
        (b'"%b"' % sha256(b"c-0001").hexdigest().encode(), b"5"),
        (b'"%b"' % sha256(b"c-0001").hexdigest().encode(), b'"xy"'),
    ],
)
def test_a_record_that_is_not_to_the_letter_is_refused(old, new):
    data = record_of("c-0001").encode()
    assert old in data
    with pytest.raises(FormatError):
        CaseRecord.parse(data.replace(old, new))


def test_the_roots_have_32_bytes(root):
    assert len(root) == merkle.HASH_BYTES
