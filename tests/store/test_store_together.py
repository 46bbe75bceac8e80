"""Several programs on one register, and programs that stop in the middle."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing, contextmanager
from itertools import pairwise
from pathlib import Path

import pytest

from continuity.ledger import merkle
from continuity.store.sqlite import SqliteStore, personal_path

WRITER = Path(__file__).with_name("writer.py")


def ready(path, case_id, count, *fatal):
    writer = subprocess.Popen(
        [sys.executable, WRITER, path, case_id, str(count), *fatal],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert writer.stdout.readline() == "ready\n"
    return writer


def go(writer):
    writer.stdin.write("\n")
    writer.stdin.flush()


def start(path, case_id, count, *fatal):
    writer = ready(path, case_id, count, *fatal)
    go(writer)
    return writer


def receipts(output):
    """What a writer was told before it ended; its last line may be cut off."""
    return [
        (int(position), bytes.fromhex(leaf))
        for position, leaf in (line.split() for line in output.splitlines(keepends=True)[:-1])
    ]


def check_whole(store):
    """No gap, no fork, nothing between the tables, every detail in its place."""
    entries = list(store.scan())
    tree = merkle.TreeBuilder()
    for position, entry in enumerate(entries):
        assert entry.position == position
        assert entry.leaf == merkle.leaf_hash(entry.note)
        assert store.disclosures(position) == {"name": f"detail of {position}"}
        tree.append(entry.leaf)
    assert store.head().frontier == tree.frontier
    for case in store.cases():
        assert [e.number for e in store.entries(case.case_id)] == list(range(case.length))
    assert merkle.root(len(entries), store.read_hashes) == tree.root()
    assert store.integrity() == []
    return entries


def test_two_programs_write_one_record(path, blank):
    blank(path)
    writers = [ready(path, case_id, 25) for case_id in ("case-1", "case-2")]
    for writer in writers:
        go(writer)
    told = []
    for writer in writers:
        output, _ = writer.communicate(timeout=60)
        assert writer.returncode == 0
        told += [tuple(line.split()) for line in output.splitlines()]
    with SqliteStore.open(path) as store:
        entries = check_whole(store)
        assert sorted(told) == sorted((str(e.position), e.leaf.hex()) for e in entries)
        lengths = {case.case_id: case.length for case in store.cases()}
        authors = [entry.note.split()[2] for entry in store.entries("shared")]
    assert lengths == {"case-1": 25, "case-2": 25, "shared": 50}
    changes = sum(before != after for before, after in pairwise(authors))
    assert changes > 1, "the two took turns, or nothing was tried"


@pytest.mark.parametrize("after", [1, 7, 30])
def test_a_program_killed_loses_nothing_it_was_told_is_kept(path, blank, after):
    blank(path)
    writer = start(path, "case-1", 10_000)
    told = [writer.stdout.readline() for _ in range(after)]
    writer.kill()
    told.append(writer.stdout.read())
    assert writer.wait() == -signal.SIGKILL
    writer.stdout.close()
    writer.stdin.close()
    with SqliteStore.open(path) as store:
        entries = check_whole(store)
        kept = receipts("".join(told) + "\n")
        assert len(kept) >= after
        assert kept == [(e.position, e.leaf) for e in entries[: len(kept)]]
        assert len(entries) - len(kept) in (0, 1)


@pytest.mark.parametrize(
    ("fatal", "entries", "orphans"),
    [
        ("record UPDATE case_head", 0, 0),
        ("record INSERT INTO entry", 0, 0),
        ("record UPDATE head", 0, 0),
        ("personal INSERT", 0, 0),
        ("personal COMMIT", 0, 0),
        ("record COMMIT", 0, 1),
    ],
)
def test_a_power_cut_anywhere_in_a_change_leaves_all_of_it_or_none(
    path, blank, fatal, entries, orphans
):
    blank(path)
    writer = start(path, "case-1", 1, fatal)
    assert writer.communicate(timeout=30)[0] == ""
    assert writer.returncode == 9
    with SqliteStore.open(path) as store:
        assert len(check_whole(store)) == entries
        assert store._personal.row("SELECT count(*) FROM disclosure") == (orphans,)
        with store.writing() as pen:
            # Another entry takes the position; the orphan never passes for one of its details.
            pen.append(b"another", "case-9", 0, "received")
        assert store.disclosures(0) == {}
        assert store.sweep() == orphans
        assert store._personal.rows("SELECT * FROM disclosure") == []
        assert store.sweep() == 0


def test_sweeping_waits_for_a_change_under_way(path, blank):
    """Its details are committed a moment before its entry, and are no orphans."""
    blank(path)
    writer = start(path, "case-1", 20)
    swept = 0
    with SqliteStore.open(path) as store:
        while writer.poll() is None:
            swept += store.sweep()
            time.sleep(0.005)
        writer.communicate()
        assert swept == 0
        assert len(check_whole(store)) == 40


def test_the_register_is_copied_while_it_is_written(path, blank, tmp_path):
    blank(path)
    writer = start(path, "case-1", 60)
    writer.stdout.readline()
    with SqliteStore.open(path) as store:
        for number in range(3):
            store.backup(tmp_path / f"copy-{number}")
        still_writing = writer.poll() is None
        writer.communicate(timeout=60)
        original = check_whole(store)
    assert still_writing, "the copies were made while it wrote, or nothing was tried"
    lengths = []
    for number in range(3):
        with SqliteStore.open(tmp_path / f"copy-{number}") as copy:
            entries = check_whole(copy)
            assert entries == original[: len(entries)]
            lengths.append(len(entries))
            copy.sweep()
            check_whole(copy)
    assert lengths == sorted(lengths)
    assert lengths[0] > 0


@contextmanager
def interrupted(after):
    timer = threading.Timer(after, os.kill, (os.getpid(), signal.SIGINT))
    timer.start()
    try:
        yield
    finally:
        timer.join()


def test_an_interrupt_ends_a_long_query_within_a_second(on_disk):
    began = time.monotonic()
    with pytest.raises(KeyboardInterrupt), interrupted(0.2):
        on_disk._main.rows(
            "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT max(i) FROM n"
        )
    assert time.monotonic() - began < 1
    assert on_disk.head().size == 0


def test_an_interrupt_ends_the_wait_for_a_lock_within_a_second(path, blank):
    blank(path)
    began = time.monotonic()
    with (
        closing(sqlite3.connect(path, isolation_level=None)) as other,
        SqliteStore.open(path, wait=20) as store,
    ):
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(KeyboardInterrupt), interrupted(0.2):
            store.writing().__enter__()
        assert time.monotonic() - began < 1.5
        other.execute("ROLLBACK")
        with store.writing() as pen:
            pen.append(b"a", "case-1", 0, "received")


def test_an_ordinary_append_takes_six_statements(on_disk, fill):
    """What it costs is measured against a bare insert, so nothing creeps in unseen."""
    fill(on_disk, 4)
    statements = []
    on_disk._main.connection.set_trace_callback(statements.append)
    on_disk._personal.connection.set_trace_callback(statements.append)
    fill(on_disk, 1)
    on_disk._main.connection.set_trace_callback(None)
    assert [" ".join(sql.split()[:3]) for sql in statements] == [
        "BEGIN IMMEDIATE",
        "SELECT case_id, name,",  # the test's own question
        "SELECT size, frontier",
        "UPDATE case_head SET",
        "INSERT INTO entry",
        "UPDATE head SET",
        "COMMIT",
    ]


@pytest.mark.parametrize(
    ("question", "index"),
    [
        (lambda store: store.entries("case-1", 3), "(case_id=? AND number>?)"),
        (lambda store: store.entry_of_leaf(bytes(32)), "entry_leaf (leaf=?)"),
        (lambda store: store.case_heads_in_bucket(255), "(digest>? AND digest<?)"),
        (lambda store: store.case_by_name("2031-001"), "(name=?)"),
        (lambda store: store.case_head("case-1"), "PRIMARY KEY (case_id=?)"),
        (lambda store: next(store.cases(), None), "PRIMARY KEY (case_id>?)"),
        (lambda store: next(store.scan(1, 3), None), "PRIMARY KEY (rowid>? AND rowid<?)"),
        (lambda store: store.read_hashes([(1, 0)]), "PRIMARY KEY (level=? AND position=?)"),
        (lambda store: store.label("L1"), "PRIMARY KEY (code=?)"),
    ],
)
def test_every_question_has_its_index(on_disk, fill, question, index):
    fill(on_disk, 2)
    statements = []
    on_disk._main.connection.set_trace_callback(statements.append)
    question(on_disk)
    on_disk._main.connection.set_trace_callback(None)
    plan = [row[3] for sql in statements for row in on_disk._main.rows(f"EXPLAIN QUERY PLAN {sql}")]
    assert any(step.endswith(index) for step in plan), plan
    assert not any(step.startswith("SCAN") for step in plan), plan


def test_details_lie_beside_the_register(path):
    assert personal_path(path) == path.with_name("register.personal")
