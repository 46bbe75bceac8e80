"""Files made to do harm: the audit answers, or says the file is damaged; it never crashes."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import replace

import pytest
from invented import (
    DIRECTOR,
    MORTICIAN,
    PINNED,
    REGISTER,
    REGISTER_KEY,
    A,
    opened,
    size_of,
    start,
)

from continuity.audit.authority import fold_authority
from continuity.audit.entries import EntryChecker
from continuity.audit.report import CODES
from continuity.audit.walk import Keys
from continuity.care.intent import read_intent
from continuity.errors import FormatError, RegisterError
from continuity.ledger.chain import read_entry, sign_entry
from continuity.ledger.keys import SigningKey
from continuity.ledger.note import Note
from continuity.recording import Signatory
from continuity.store.sqlite import SqliteStore


@pytest.mark.parametrize("seed", range(60))
def test_random_damage_to_the_file_never_goes_unseen_nor_crashes(copy, seed):
    """Bits are flipped anywhere in the file: pages, indexes, headers, entries."""
    chance = random.Random(seed)
    data = bytearray(copy.path.read_bytes())
    for _ in range(chance.choice((1, 3, 50))):
        data[chance.randrange(100, len(data))] ^= 1 << chance.randrange(8)
    copy.path.write_bytes(data)
    try:
        report = copy.verify(PINNED)
    except RegisterError:
        return
    assert set(report.codes) <= CODES.keys()
    if report.sound:  # then nothing that is evidence was touched
        assert report.sound_to == report.size


@pytest.mark.parametrize("column", ["case_id", "number", "kind", "note", "leaf"])
@pytest.mark.parametrize("value", ["NULL", "'text'", "x'00'", "1.5", "-1", "9223372036854775807"])
def test_any_value_in_any_column(copy, column, value):
    """The tables' own types are dropped first, as whoever owns the file can."""
    copy.sql("CREATE TABLE bare AS SELECT * FROM entry", counted=False)
    for statement in (
        "DROP TABLE entry",
        "ALTER TABLE bare RENAME TO entry",
        "CREATE INDEX entry_leaf ON entry (leaf)",
        f"UPDATE entry SET {column} = {value} WHERE position = 20",
    ):
        copy.sql(statement, counted=False)
    try:
        report = copy.verify(PINNED)
    except RegisterError:
        return
    assert not report.sound
    assert report.sound_to <= 20


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET case_id = hex(zeroblob(1000000)) WHERE position = 20",
        "UPDATE checkpoint SET note = zeroblob(2000000) WHERE size = 36",
        "INSERT INTO cosignature VALUES (36, 'cosignature', zeroblob(2000000))",
        "UPDATE head SET frontier = zeroblob(2000000)",
        "UPDATE case_head SET name = hex(zeroblob(1000000)) WHERE name = '2031-0001'",
        "UPDATE label SET thing = hex(zeroblob(1000000))",
    ],
)
def test_a_value_longer_than_any_recorded_is_not_read(copy, statement):
    """Not even into memory: SQLite itself is told how long a value may be."""
    copy.sql(statement)
    try:
        report = copy.verify(PINNED)
    except RegisterError as error:
        assert "too big" in str(error)  # noqa: PT017 - either answer will do
        return
    assert "file-damaged" in report.codes


def test_a_longer_note_than_an_entry_may_be_is_named_where_it_lies(copy):
    copy.sql("UPDATE entry SET note = zeroblob(2000000) WHERE position = 20")
    report = copy.verify(PINNED)
    assert report.findings[0].position == 20
    assert "entry-malformed" in report.codes


def test_an_index_that_hides_a_revocation(copy):
    """Keys are found through an index before anything is read; what it hides is missed."""
    with SqliteStore.open(copy.path) as store:
        own = store.entries("register")
        rows = [r for r in own if r.kind in ("register-started", "key-enrolled")]
        authority, _ = fold_authority(rows)
        revoked = next(row for row in store.scan() if row.kind == "key-revoked")
        (checked,) = EntryChecker(store, authority).check([revoked])
        assert [code for code, _ in Keys(authority).accept(checked)] == ["keys-broken"]


def test_a_thousand_keys_cost_no_more_than_their_number(tmp_path):
    """Twice as many take about twice as long, not four times."""
    with SqliteStore.create(tmp_path / "keys", REGISTER) as store:
        start(store)
        plain = read_entry(store.entry_at(3).note)[0]
        head, rows = store.case_head("register"), []
        number, previous = head.length, head.head
        with store.writing() as pen:
            for n in range(1200):
                fresh = SigningKey.from_seed(f"p{n}", n.to_bytes(32))
                details = {"key": str(fresh.verify_key), "person": f"p{n}", "role": "assistant"}
                entry = replace(
                    plain,
                    number=number + n,
                    previous=previous,
                    details=details,
                    signers=(DIRECTOR.reference, fresh.reference),
                )
                note = sign_entry(entry, (DIRECTOR, fresh))
                rows.append(pen.append(note, "register", entry.number, entry.kind))
                previous = rows[-1].leaf
        first = [store.entry_at(n) for n in range(4)]

    def cost(count):
        begun = time.process_time()
        authority, findings = fold_authority([*first, *rows[:count]])
        assert len(authority.enrolments) == count + 5
        assert findings == []
        return time.process_time() - begun

    assert cost(1200) < 3 * cost(600) + 0.1


def test_the_same_position_asked_a_thousand_times_is_read_once(copy, original):
    """Whatever its author claims to have seen, an entry costs a bounded number of hashes."""
    note = copy.note(copy.positions(A)[-1])
    entry = read_entry(note)[0]
    far = replace(entry.seen, size=10**15)
    forged = sign_entry(replace(entry, seen=far), (MORTICIAN,))
    copy.put(copy.positions(A)[-1], forged)
    assert "seen-differs" in copy.verify(PINNED).codes


def test_a_checkpoint_given_that_is_none_is_the_callers_error(copy):
    for note in (b"", b"nonsense", copy.note(3)):
        with pytest.raises(FormatError):
            copy.verify(PINNED, since=note)


def test_since_a_checkpoint_that_is_not_this_registers(copy, original):
    note = Note.parse(original.first)
    later = original.first.replace(b"\n14\n", b"\n14000\n")
    assert later != original.first
    assert "checkpoint-signature" in copy.verify(PINNED, since=later).codes
    root = note.text.split(b"\n")[2]
    other = original.first.replace(root, b"A" * 43 + b"=")
    report = copy.verify(PINNED, since=other)
    assert "checkpoint-signature" in report.codes
    assert not report.sound


def test_since_a_checkpoint_the_old_part_is_held_to_it(copy, original):
    """What new entries rest on is proved by the trusted tree, so tampering below them shows."""
    for position in copy.positions(A)[:4]:
        fresh = copy.note(position).replace(b'"m1"', b'"d1"', 1)
        copy.sql("UPDATE entry SET note = ? WHERE position = ?", fresh, position)
    report = copy.verify(PINNED, since=original.first)
    assert not report.sound
    assert report.start == size_of(original.first)


SLEEPER = """
import sys
sys.path[:0] = {path!r}
from invented import PINNED
from continuity.audit.verify import verify
from continuity.store.sqlite import SqliteStore
if __name__ == "__main__":
    with SqliteStore.open({register!r}) as store:
        while True:
            verify(store, PINNED, processes=2, progress=lambda *_: print("going", flush=True))
"""


@pytest.mark.skipif(os.name != "posix", reason="signals")
def test_it_can_be_interrupted_within_a_second_and_leaves_no_process(copy, tmp_path):
    script = tmp_path / "run.py"
    script.write_text(SLEEPER.format(path=sys.path, register=str(copy.path)))
    running = subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    assert running.stdout.readline() == b"going\n"
    begun = time.monotonic()
    os.killpg(running.pid, signal.SIGINT)  # as a terminal does: to all of them
    _, errors = running.communicate(timeout=20)
    assert time.monotonic() - begun < 2
    assert errors.count(b"Traceback") <= 1  # this process's own; the others say nothing
    assert b"KeyboardInterrupt" in errors
    while time.monotonic() - begun < 10 and _any_left(running.pid):
        time.sleep(0.05)
    assert not _any_left(running.pid)


def _any_left(group):
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return False
    return True


def test_a_writer_at_work_does_not_disturb_it(copy, original):
    """What is recorded meanwhile is left for the next audit."""
    register = opened(copy.path)
    sighting = read_intent({"kind": "sighted", "case": A, "things": [f"{A}.1"]})
    by = [Signatory("m1", MORTICIAN)]
    recorded = []

    def meanwhile(done, size):
        if not recorded:
            recorded.append(register.record(sighting, by))
            register.publish(by, REGISTER_KEY)

    report = copy.verify(PINNED, progress=meanwhile)
    register.store.close()
    assert recorded
    assert report.findings == ()
    assert report.size == original.size
    assert copy.verify(PINNED).size > original.size
