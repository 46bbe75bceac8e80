"""What every store promises, asked of each of them."""

from __future__ import annotations

from contextlib import suppress
from hashlib import sha256
from itertools import islice

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from continuity.errors import ContinuityError, DamagedRegisterError, InputError, RegisterError
from continuity.ledger import merkle
from continuity.store.memory import MemoryStore
from continuity.store.protocol import (
    CaseHead,
    CheckpointRow,
    Cosignature,
    Head,
    LabelRow,
    Stored,
)
from continuity.store.reads import CHUNK
from continuity.store.sqlite import SqliteStore

ROOT = bytes(range(32))


def everything(store):
    """All that can be read, so that two stores, or two moments, can be compared whole."""
    entries = list(store.scan())
    return {
        "register": store.register,
        "head": store.head(),
        "entries": entries,
        "cases": list(store.cases()),
        "chains": {case.case_id: store.entries(case.case_id) for case in store.cases()},
        "buckets": [store.case_heads_in_bucket(byte) for byte in range(256)],
        "disclosures": [store.disclosures(entry.position) for entry in entries],
        "checkpoints": store.checkpoints(),
        "latest": store.latest_checkpoint(),
        "cosignatures": [store.cosignatures(row.size) for row in store.checkpoints()],
        "labels": [store.label(code) for code in ("L1", "L2", "L3")],
        "nodes": store.read_hashes(
            [
                (level, index)
                for level in range(len(entries).bit_length())
                for index in range(len(entries) >> level)
            ]
        ),
    }


def test_a_new_store_is_empty_and_knows_its_register(store):
    assert store.register == "example-mortuary"
    assert store.head() == Head(0, ())
    assert list(store.scan()) == []
    assert list(store.cases()) == []
    assert store.entries("case-1") == []
    assert store.entry_at(0) is None
    assert store.entry_of_leaf(ROOT) is None
    assert store.case_head("case-1") is None
    assert store.case_by_name("2031-001") is None
    assert store.case_heads_in_bucket(0) == []
    assert store.label("L1") is None
    assert store.disclosures(0) == {}
    assert store.latest_checkpoint() is None
    assert store.checkpoints() == []
    assert store.cosignatures(0) == []
    assert store.integrity() == []
    assert store.sweep() == 0
    store.migrate()
    assert store.schema_version == 1


def test_an_entry_is_kept_to_the_byte_with_its_leaf(store):
    note = bytes(range(256)) * 250
    with store.writing() as pen:
        stored = pen.append(note, "case-1", 0, "received", "2031-001")
    leaf = sha256(b"\x00" + note).digest()
    assert stored == Stored(0, "case-1", 0, "received", note, leaf)
    assert store.entry_at(0) == stored
    assert store.entry_of_leaf(leaf) == stored
    assert store.case_head("case-1") == CaseHead("case-1", "2031-001", 1, leaf, 0)
    assert store.head() == Head(1, (leaf,))


def test_chains_interleave_and_each_stands_in_order(store, fill):
    for _ in range(3):
        fill(store, 1, "case-b")
        fill(store, 2, "case-a")
    assert [(e.position, e.number) for e in store.entries("case-b")] == [(0, 0), (3, 1), (6, 2)]
    assert [e.number for e in store.entries("case-a", 4)] == [4, 5]
    assert [e.position for e in store.scan()] == list(range(9))
    assert [c.case_id for c in store.cases()] == ["case-a", "case-b"]
    last = store.entry_at(8)
    assert store.case_head("case-a") == CaseHead("case-a", None, 6, last.leaf, 8)
    assert store.entry_at(-1) is None
    assert store.entry_at(9) is None


def test_many_cases_stream_out_each_once(store):
    ids = [f"case-{n:04}" for n in range(CHUNK * 2 + 1)]
    with store.writing() as pen:
        for case_id in reversed(ids):
            pen.append(case_id.encode(), case_id, 0, "received")
    assert [case.case_id for case in store.cases()] == ids
    assert [entry.position for entry in store.scan()] == list(range(len(ids)))


def test_buckets_part_the_cases_by_the_digest_of_their_id(store, fill):
    ids = [f"case-{n}" for n in range(300)]
    with store.writing() as pen:
        for case_id in ids:
            pen.append(case_id.encode(), case_id, 0, "received")
    digests = {sha256(case_id.encode()).digest(): case_id for case_id in ids}
    for byte in range(256):
        expected = [digests[d] for d in sorted(digests) if d[0] == byte]
        assert [case.case_id for case in store.case_heads_in_bucket(byte)] == expected
    assert any(d[0] == 255 for d in digests), "the last bucket has no upper neighbour to bound it"


def test_a_scan_ends_where_the_record_ended_when_it_began(store, fill):
    fill(store, 5)
    scan = store.scan(1)
    assert next(scan).position == 1
    fill(store, 3)
    assert [entry.position for entry in scan] == [2, 3, 4]
    assert [entry.position for entry in store.scan(2, 4)] == [2, 3]
    assert [entry.position for entry in store.scan(6, 99)] == [6, 7]


def test_a_scan_left_unfinished_stops_nobody_from_writing(store, fill):
    fill(store, 3)
    scan = store.scan()
    assert len(list(islice(scan, 1))) == 1
    fill(store, 1)
    assert store.erase([0]) == 0
    assert [entry.position for entry in scan] == [1, 2]


@pytest.mark.parametrize("size", [1, 2, 3, 7, 8, 13])
def test_the_tree_beside_the_entries_is_rfc_9162s(store, size):
    with store.writing() as pen:
        leaves = [pen.append(b"%d" % n, "case-1", n, "sighting").leaf for n in range(size)]
    tree = merkle.reader_of(leaves)
    ids = [(level, index) for level in range(size.bit_length()) for index in range(size >> level)]
    assert store.read_hashes(ids) == tree(ids)
    root = merkle.root(size, tree)
    assert merkle.root_of_frontier(store.head().frontier) == root
    for index, leaf in enumerate(leaves):
        proof = merkle.inclusion_proof(index, size, store.read_hashes)
        merkle.verify_inclusion(leaf, index, size, proof, root)


@pytest.mark.parametrize("absent", [(0, 5), (1, 2), (3, 0)])
def test_a_hash_that_is_not_there_is_damage(store, fill, absent):
    fill(store, 5)
    with pytest.raises(DamagedRegisterError, match=f"subtree {absent[1]} at level {absent[0]}"):
        store.read_hashes([(0, 0), absent])


def test_reads_within_a_change_see_it_and_so_does_the_store(store):
    with store.writing() as pen:
        first = pen.append(b"a", "case-1", 0, "received", "2031-001")
        pen.put_disclosure(0, "name", "detail")
        pen.put_label("L1", "case-1", "bag", 1)
        for reads in (pen, store):
            assert reads.head() == Head(1, (first.leaf,))
            assert reads.entry_at(0) == first
            assert reads.case_by_name("2031-001").length == 1
            assert reads.disclosures(0) == {"name": "detail"}
            assert reads.label("L1") == LabelRow("L1", "case-1", "bag", 1)
        assert pen.register == "example-mortuary"
        assert pen.append(b"b", "case-1", 1, "sighting").position == 1


@pytest.mark.parametrize("error", [ValueError, KeyboardInterrupt, SystemExit, InputError])
def test_an_exception_undoes_all_of_a_change(store, fill, error):
    fill(store, 3, detail="kept")
    with store.writing() as pen:
        pen.put_label("L1", "case-1", "bag", 1)
        pen.put_checkpoint(3, ROOT, b"note")
    before = everything(store)

    def change():
        with store.writing() as pen:
            for number in range(3, 9):
                pen.append(b"%d" % number, "case-1", number, "sighting")
            pen.append(b"other", "case-2", 0, "received", "2031-002")
            pen.put_disclosure(9, "name", "gone")
            pen.put_disclosure(0, "name", "overwritten")
            pen.put_label("L2", "case-2", "ring", 1)
            pen.put_label("L1", "case-1", "bag", 2)
            pen.put_checkpoint(9, ROOT, b"note")
            pen.put_cosignature(3, "witness", b"word")
            raise error

    with pytest.raises(error):
        change()
    assert everything(store) == before
    fill(store, 1)
    assert store.head().size == 4


@pytest.mark.parametrize("number", [0, 1, 3, -1])
def test_a_number_that_does_not_follow_is_refused_and_nothing_of_it_stays(store, fill, number):
    fill(store, 2)
    before = everything(store)
    with (
        store.writing() as pen,
        pytest.raises(RegisterError, match=f"numbered {number} does not follow"),
    ):
        pen.append(b"x", "case-1", number, "sighting")
    assert everything(store) == before


def test_a_first_entry_is_numbered_nought(store):
    with pytest.raises(RegisterError, match="numbered 1 does not follow"), store.writing() as pen:
        pen.append(b"x", "case-1", 1, "received")
    assert store.head().size == 0


def test_a_refusal_that_is_caught_leaves_the_rest_of_the_change_sound(store):
    with store.writing() as pen:
        pen.append(b"a", "case-1", 0, "received", "2031-001")
        with pytest.raises(RegisterError):
            pen.append(b"x", "case-1", 5, "sighting")
        with pytest.raises(InputError):
            pen.append(b"y", "case-2", 0, "received", "2031-001")
        pen.append(b"b", "case-1", 1, "sighting")
    assert [entry.note for entry in store.scan()] == [b"a", b"b"]
    assert [case.case_id for case in store.cases()] == ["case-1"]
    assert store.integrity() == []


def test_a_name_belongs_to_one_case(store):
    with store.writing() as pen:
        pen.append(b"a", "case-1", 0, "received", "2031-001")
        pen.append(b"b", "case-2", 0, "received")
        pen.append(b"c", "case-1", 1, "sighting")
    assert store.case_by_name("2031-001").case_id == "case-1"
    assert store.case_head("case-2").name is None
    with (
        pytest.raises(InputError, match="Another case is already named 2031-001"),
        store.writing() as pen,
    ):
        pen.append(b"d", "case-2", 1, "corrected", "2031-001")
    with store.writing() as pen:
        pen.append(b"e", "case-1", 2, "corrected", "2031-009")
        pen.append(b"f", "case-2", 1, "corrected", "2031-001")
        pen.append(b"g", "case-2", 2, "corrected", "2031-001")
    assert store.case_by_name("2031-001").case_id == "case-2"
    assert store.case_by_name("2031-009").case_id == "case-1"


@pytest.mark.parametrize(
    "write",
    [
        lambda pen: pen.append(b"b", "case-1", 1, "sighting"),
        lambda pen: pen.put_disclosure(0, "name", "detail"),
        lambda pen: pen.put_label("L1", "case-1", "bag", 1),
        lambda pen: pen.put_checkpoint(1, ROOT, b"note"),
        lambda pen: pen.put_cosignature(1, "witness", b"word"),
    ],
)
@pytest.mark.parametrize("fails", [False, True])
def test_a_change_that_has_ended_takes_nothing_more(store, fill, write, fails):
    fill(store, 1)
    with suppress(ZeroDivisionError), store.writing() as pen:
        1 // (not fails)
    before = everything(store)
    with pytest.raises(RegisterError, match="begin another"):
        write(pen)
    assert everything(store) == before


@pytest.mark.parametrize(
    "act",
    [
        lambda store: store.writing().__enter__(),
        lambda store: store.erase([0]),
        lambda store: store.sweep(),
        lambda store: store.rebuild(),
    ],
)
def test_one_change_at_a_time(store, act):
    with store.writing() as pen:
        pen.append(b"a", "case-1", 0, "received")
        with pytest.raises(RegisterError, match="still under way"):
            act(store)
        pen.append(b"b", "case-1", 1, "sighting")
    assert store.head().size == 2


def test_a_label_stands_for_one_thing_and_may_be_printed_again(store):
    with store.writing() as pen:
        pen.put_label("L1", "case-1", "bag", 1)
        pen.put_label("L1", "case-1", "bag", 2)
        for other in (("case-2", "bag"), ("case-1", "ring")):
            with pytest.raises(InputError, match="Label L1 already stands for another thing"):
                pen.put_label("L1", *other, 3)
    assert store.label("L1") == LabelRow("L1", "case-1", "bag", 2)
    assert store.label("l1") is None


def test_one_size_has_one_root(store):
    with store.writing() as pen:
        pen.put_checkpoint(7, ROOT, b"first")
        pen.put_checkpoint(7, ROOT, b"again")
        pen.put_checkpoint(3, ROOT, b"smaller")
    with (
        pytest.raises(DamagedRegisterError, match="size 7 with another root"),
        store.writing() as pen,
    ):
        pen.put_checkpoint(7, bytes(32), b"forked")
    small, large = CheckpointRow(3, ROOT, b"smaller"), CheckpointRow(7, ROOT, b"first")
    assert store.checkpoints() == [small, large]
    assert store.latest_checkpoint() == large


def test_others_words_stand_beside_the_checkpoint_they_are_about(store):
    with store.writing() as pen:
        pen.put_checkpoint(7, ROOT, b"note")
        for kind, blob in (
            ("witness", b"2"),
            ("time-stamp", b"t"),
            ("witness", b"1"),
            ("witness", b"2"),
        ):
            pen.put_cosignature(7, kind, blob)
    assert store.cosignatures(7) == [
        Cosignature(7, "time-stamp", b"t"),
        Cosignature(7, "witness", b"1"),
        Cosignature(7, "witness", b"2"),
    ]
    assert store.cosignatures(8) == []
    with pytest.raises(RegisterError, match="No checkpoint of size 8"), store.writing() as pen:
        pen.put_cosignature(8, "witness", b"1")


def test_details_are_kept_by_entry_and_erased_by_entry(store, fill):
    fill(store, 3)
    with store.writing() as pen:
        pen.put_disclosure(0, "name", "n0")
        pen.put_disclosure(0, "born", "b0")
        pen.put_disclosure(1, "name", "n1")
        pen.put_disclosure(2, "name", "n2")
        with pytest.raises(RegisterError, match="position 3 to keep a detail of"):
            pen.put_disclosure(3, "name", "too soon")
    assert list(store.disclosures(0).items()) == [("born", "b0"), ("name", "n0")]
    assert store.erase([0, 2, 0, 99]) == 3
    assert [store.disclosures(n) for n in range(3)] == [{}, {"name": "n1"}, {}]
    assert store.erase([0, 2]) == 0
    assert store.sweep() == 0


def test_projections_are_made_again_from_the_entries(store):
    with store.writing() as pen:
        pen.append(b"a", "case-1", 0, "received", "2031-001")
        pen.append(b"b", "case-2", 0, "received", "2031-002")
        pen.append(b"c", "case-1", 1, "sighting")
        pen.put_label("L1", "case-1", "bag", 1)
    before = everything(store)
    store.rebuild()
    assert everything(store) == before
    store.rebuild([LabelRow("L2", "case-2", "ring", 4)], {"case-2": "2031-007"})
    assert store.label("L1") is None
    assert store.label("L2") == LabelRow("L2", "case-2", "ring", 4)
    assert [(case.name, case.length) for case in store.cases()] == [(None, 2), ("2031-007", 1)]


def test_a_rebuilding_that_fails_changes_nothing(store):
    with store.writing() as pen:
        pen.append(b"a", "case-1", 0, "received", "2031-001")
        pen.put_label("L1", "case-1", "bag", 1)
    before = everything(store)
    with pytest.raises(InputError):
        store.rebuild([LabelRow("L2", "case-1", "bag", 1), LabelRow("L2", "case-1", "ring", 1)], {})
    assert everything(store) == before


CASES = st.sampled_from(["case-1", "case-2", "register"])
ACTS = st.one_of(
    st.tuples(st.just("append"), CASES, st.integers(-1, 1), st.none() | st.sampled_from("AB")),
    st.tuples(st.just("disclose"), st.integers(0, 12), st.sampled_from(["name", "born"])),
    st.tuples(st.just("label"), st.sampled_from(["L1", "L2"]), CASES, st.integers(1, 3)),
    st.tuples(st.just("checkpoint"), st.integers(0, 3), st.sampled_from([ROOT, bytes(32)])),
    st.tuples(st.just("cosign"), st.integers(0, 3), st.binary(max_size=2)),
)
CHANGES = st.lists(
    st.one_of(
        st.tuples(st.lists(ACTS, max_size=8), st.booleans()),
        st.lists(st.integers(0, 9), max_size=3),
    ),
    max_size=8,
)


def perform(pen, act):
    match act:
        case ("append", case_id, off, name):
            case = pen.case_head(case_id)
            number = (case.length if case else 0) + min(0, off)
            pen.append(b"%d" % pen.head().size, case_id, number, "sighting", name)
        case ("disclose", position, field):
            pen.put_disclosure(position, field, f"detail {position}")
        case ("label", code, case_id, number):
            pen.put_label(code, case_id, "bag", number)
        case ("checkpoint", size, root):
            pen.put_checkpoint(size, root, b"note")
        case ("cosign", size, blob):
            pen.put_cosignature(size, "witness", blob)


def history(store, changes):
    """Do all of it, refusals included, and tell what was said."""
    said = []
    for change in changes:
        if isinstance(change, list):
            said.append(store.erase(change))
            continue
        acts, fails = change
        try:
            with store.writing() as pen:
                for act in acts:
                    try:
                        perform(pen, act)
                    except ContinuityError as error:
                        said.append(type(error))
                1 // (not fails)
        except ZeroDivisionError:
            said.append("undone")
    return said


@given(changes=CHANGES)
@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_memory_and_disk_tell_the_same_story(tmp_path_factory, blank, changes):
    in_memory = MemoryStore("example-mortuary")
    told = history(in_memory, changes)
    path = tmp_path_factory.mktemp("story") / "register"
    with SqliteStore.open(blank(path)) as on_disk:
        assert history(on_disk, changes) == told
        assert everything(on_disk) == everything(in_memory)
        assert on_disk.integrity() == []


def test_stored_nodes_are_given_by_level_from_any_index_on(store, fill):
    fill(store, 11)
    for level in (1, 2, 3):
        kept = list(enumerate(store.read_hashes([(level, n) for n in range(11 >> level)])))
        assert list(store.scan_nodes(level)) == kept
        assert list(store.scan_nodes(level, 1)) == kept[1:]
    assert list(store.scan_nodes(4)) == []


def test_labels_are_given_in_order_of_their_codes(store):
    rows = [LabelRow(f"L{n:03}", "case-1", f"thing-{n}", n) for n in range(CHUNK + 3)]
    with store.writing() as pen:
        for row in reversed(rows):
            pen.put_label(row.code, row.case_id, row.thing, row.print)
    assert list(store.labels()) == rows


def test_bucket_roots_are_replaced_and_forgotten_when_projections_are_made_afresh(store):
    assert store.bucket_roots() is None
    with store.writing() as pen:
        pen.put_bucket_roots(3, ROOT * 256)
        pen.put_bucket_roots(5, ROOT[::-1] * 256)
        assert pen.bucket_roots() == (5, ROOT[::-1] * 256)
    assert store.bucket_roots() == (5, ROOT[::-1] * 256)
    store.rebuild()
    assert store.bucket_roots() is None


def test_details_are_counted(store, fill):
    fill(store, 2, detail="text")
    assert store.count_disclosures() == 2
    store.erase([0])
    assert store.count_disclosures() == 1


def test_the_cases_in_care_are_listed_with_where_they_were_opened(store):
    with store.writing() as pen:
        pen.put_in_care("case-2", 7)
        pen.put_in_care("case-1", 3)
        pen.put_in_care("case-1", 3)
        assert pen.in_care() == [("case-1", 3), ("case-2", 7)]
    with store.writing() as pen:
        pen.put_in_care("case-1", None)
        pen.put_in_care("case-9", None)
    assert store.in_care() == [("case-2", 7)]
