"""Publishing: the case index and the checkpoint that covers it."""

from __future__ import annotations

import pytest
from invented import MORTICIAN, PINNED, REGISTER_KEY, A, B, C, opened

from continuity.care.intent import read_intent
from continuity.care.refusal import RefusedError
from continuity.errors import DamagedRegisterError, InputError
from continuity.ledger import caseindex, checkpoint
from continuity.ledger.chain import read_entry
from continuity.publishing import NO_INDEX, _last_index, bucket_records, case_index, sign_tree
from continuity.recording import Signatory
from continuity.store.memory import MemoryStore

ONE = (Signatory("m1", MORTICIAN),)


@pytest.fixture
def register(copy):
    again = opened(copy.path)
    yield again
    again.store.close()


def whole_index(store):
    """The index built from nothing."""
    return tuple(caseindex.bucket_root(bucket_records(store, b)) for b in range(256))


def test_the_index_covers_every_case_and_the_registers_own_chain(register):
    published = register.publish(ONE, REGISTER_KEY)
    act, row = published.index.act, published.checkpoint
    assert (act.count, act.size, row.size) == (5, row.size - 1, register.store.head().size)
    found = checkpoint.open(row.note, REGISTER_KEY.verify_key)
    assert (found.origin, found.size, found.root) == (register.id, row.size, row.root)


def test_only_what_changed_is_hashed_again_and_the_root_is_the_same(register, monkeypatch):
    register.publish(ONE, REGISTER_KEY)
    sighted = {"kind": "sighted", "case": C, "things": [f"{C}.1"]}
    register.record(read_intent(sighted), ONE)
    counted = []
    plain = caseindex.bucket_root
    with monkeypatch.context() as patch:
        patch.setattr(caseindex, "bucket_root", lambda rows: counted.append(1) or plain(rows))
        index = case_index(register.store)
    # C's bucket and that of the index's own chain, to which the last one was written.
    assert len(counted) == 2
    assert index.roots == whole_index(register.store)
    assert index.count == 5


def test_kept_roots_that_are_not_those_published_are_not_used(register, copy):
    copy.sql("UPDATE case_index SET roots = zeroblob(8192)")
    index = case_index(register.store)
    assert index.roots == whole_index(register.store)
    for wrong in ("UPDATE case_index SET roots = x'00'", "UPDATE case_index SET size = 3"):
        copy.sql(wrong)
        assert case_index(register.store).roots == whole_index(register.store)
    copy.sql("DELETE FROM case_index")
    assert case_index(register.store).roots == whole_index(register.store)


def test_roots_kept_beside_an_entry_that_is_no_index_are_not_used(register, copy):
    """The kind that a row is filed under can lie, and its bytes can rot."""
    register.publish(ONE, REGISTER_KEY)
    copy.sql("UPDATE case_index SET size = 5")
    copy.sql("UPDATE entry SET kind = 'cases-indexed' WHERE position = 5")
    assert case_index(register.store).roots == whole_index(register.store)
    copy.sql("UPDATE entry SET note = x'00' WHERE position = 5")
    assert _last_index(register.store) == NO_INDEX


def test_a_case_proves_its_last_entry_by_the_published_index(register):
    register.publish(ONE, REGISTER_KEY)
    stored = register.store.entry_at(register.store.head().size - 1)
    root = bytes.fromhex(read_entry(stored.note)[0].details["root"])
    for name in (A, B, C):
        head = register.store.case_by_name(name)
        bucket = bucket_records(register.store, caseindex.bucket_of(head.case_id))
        # The register's own chain has gone on since, by the entry that holds this very root.
        roots = case_roots_then(register.store)
        proof = caseindex.prove(head.case_id, bucket, roots)
        caseindex.verify_case(head.case_id, head.length, head.head, proof, root)


def case_roots_then(store):
    size, joined = store.bucket_roots()
    assert size == store.head().size - 1
    return [joined[n : n + 32] for n in range(0, len(joined), 32)]


def test_the_same_tree_is_signed_once(register):
    first = register.checkpoint(REGISTER_KEY)
    assert register.checkpoint(REGISTER_KEY) == first
    assert register.store.checkpoints()[-1] == first


def test_who_publishes_must_be_one_who_may(register):
    witness = REGISTER_KEY
    with pytest.raises(InputError, match="not enrolled"):
        register.publish([Signatory("x", witness)], REGISTER_KEY)
    with pytest.raises((RefusedError, InputError)):
        register.publish([], REGISTER_KEY)


def test_nothing_is_published_by_halves(register, monkeypatch):
    size = register.store.head().size

    def fail(*_):
        raise DamagedRegisterError("the disk failed")

    monkeypatch.setattr("continuity.publishing.sign_tree", fail)
    with pytest.raises(DamagedRegisterError):
        register.publish(ONE, REGISTER_KEY)
    assert register.store.head().size == size
    monkeypatch.undo()
    register.publish(ONE, REGISTER_KEY)


@pytest.mark.parametrize(
    ("sql", "why"),
    [
        ("UPDATE case_head SET length = 9 WHERE name = '2031-0001'", "not what its entries say"),
        ("DELETE FROM case_head WHERE name = '2031-0002'", "not what its entries say"),
        ("UPDATE node SET hash = zeroblob(32) WHERE level = 1 AND position = 19", "altered"),
        ("UPDATE entry SET leaf = randomblob(32) WHERE position = 39", "altered"),
        ("UPDATE head SET frontier = zeroblob(length(frontier))", "altered"),
        ("UPDATE node SET hash = zeroblob(32) WHERE level = 5 AND position = 0", "was signed"),
    ],
)
def test_what_rotted_on_the_disk_is_not_signed(register, copy, sql, why):
    copy.sql(sql)
    with pytest.raises(DamagedRegisterError, match=why):
        register.publish(ONE, REGISTER_KEY)


def test_an_empty_store_has_nothing_to_sign():
    store = MemoryStore("empty")
    assert case_index(store) == NO_INDEX
    with store.writing() as pen, pytest.raises(InputError, match="nothing to sign"):
        sign_tree(pen, REGISTER_KEY)


def test_a_published_register_is_sound(register, copy):
    register.publish(ONE, REGISTER_KEY)
    register.checkpoint(REGISTER_KEY)
    assert copy.verify(PINNED).findings == ()
