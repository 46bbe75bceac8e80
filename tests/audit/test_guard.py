"""The guard: a register put back from an old copy records nothing until two directors say so."""

from __future__ import annotations

import multiprocessing
import os
from pathlib import Path

import pytest
from invented import (
    DIRECTOR,
    MORTICIAN,
    REGISTER,
    REGISTER_KEY,
    SECOND,
    A,
    Copy,
    Invented,
    key,
    opened,
    size_of,
)

from continuity.audit.guard import Guard
from continuity.care.intent import read_intent
from continuity.care.refusal import RefusedError
from continuity.errors import BehindGuardError, InputError
from continuity.ledger import checkpoint
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.note import Note
from continuity.recording import Signatory
from continuity.register import Register

SIGHTED = {"kind": "sighted", "case": A, "things": [f"{A}.1"]}
ONE = (Signatory("m1", MORTICIAN),)
TWO = (Signatory("d1", DIRECTOR), Signatory("d2", SECOND))


@pytest.fixture
def guard(tmp_path: Path, original: Invented) -> Guard:
    """A guard that holds the second publication's checkpoint."""
    made = Guard(tmp_path / "guard")
    made.lay(original.second)
    return made


@pytest.fixture
def behind(original: Invented, tmp_path: Path, guard: Guard):
    """The register as it was at its first publication, put back."""
    register = opened(original.copy(tmp_path, original.backup).path, guard.path)
    yield register
    register.store.close()


@pytest.fixture
def present(copy: Copy, guard: Guard):
    register = opened(copy.path, guard.path)
    yield register
    register.store.close()


def record(register, by=ONE, **fields):
    return register.record(read_intent(fields), by)


def restored(guard: Guard, register: Register, **changes):
    held = guard.held()
    said = {
        "kind": "register-restored",
        "guard_size": held.size,
        "guard_root": held.root.hex(),
        "size": register.store.head().size,
        "reason": "the disk failed; the backup of the week before was put back",
    }
    return said | changes


def test_a_register_that_continues_its_guard_records_and_moves_it_on(present, guard):
    record(present, **SIGHTED)
    published = present.publish(ONE, REGISTER_KEY)
    assert guard.read() == published.checkpoint.note
    record(present, **SIGHTED)
    signed = present.checkpoint(REGISTER_KEY)
    assert guard.read() == signed.note


def test_behind_its_guard_nothing_is_recorded_or_signed(behind, guard, original):
    size = behind.store.head().size
    for act in (
        lambda: record(behind, **SIGHTED),
        lambda: behind.publish(ONE, REGISTER_KEY),
        lambda: behind.checkpoint(REGISTER_KEY),
    ):
        with pytest.raises(BehindGuardError, match=f"has {size} entries and does not continue"):
            act()
    assert behind.store.head().size == size
    assert guard.read() == original.second


def test_two_directors_may_say_that_it_was_restored(behind, guard):
    record(behind, TWO, **restored(guard, behind))
    record(behind, **SIGHTED)
    published = behind.publish(ONE, REGISTER_KEY)
    assert guard.read() == published.checkpoint.note
    record(behind, **SIGHTED)


@pytest.mark.parametrize("by", [TWO[:1], (*TWO[:1], *ONE)], ids=["one", "one and a mortician"])
def test_fewer_than_two_directors_may_not(behind, guard, by):
    with pytest.raises(RefusedError) as refusal:
        record(behind, by, **restored(guard, behind))
    assert refusal.value.objections[-1].code == "second-director"
    assert refusal.value.objections[-1].sentence.endswith("needs two directors, and 1 signed")


def test_the_entry_must_name_what_the_guard_holds(behind, guard):
    with pytest.raises(InputError, match="not what the guard holds"):
        record(behind, TWO, **restored(guard, behind, guard_size=3))


def test_the_entry_must_name_what_the_copy_holds(behind, guard):
    size = behind.store.head().size
    with pytest.raises(InputError, match=f"size 3: the restored copy holds {size} entries"):
        record(behind, TWO, **restored(guard, behind, size=3))


def test_the_refusal_gives_the_numbers_that_the_entry_needs(behind, guard):
    said = restored(guard, behind)
    with pytest.raises(BehindGuardError) as refusal:
        record(behind, **SIGHTED)
    for name in ("guard_size", "guard_root", "size"):
        assert f"{name} {said[name]}," in str(refusal.value)


def test_beside_its_guard_is_as_bad_as_behind(copy, tmp_path, original):
    """A checkpoint of the same size and another root: somebody else's continuation."""
    other = Checkpoint(REGISTER, size_of(original.second), bytes(32))
    guard = Guard(tmp_path / "beside")
    guard.lay(checkpoint.sign(other, REGISTER_KEY).encode())
    register = opened(copy.path, guard.path)
    with pytest.raises(BehindGuardError):
        record(register, **SIGHTED)
    register.store.close()


def test_a_guard_that_is_gone_is_not_a_guard_that_agrees(copy, tmp_path):
    register = opened(copy.path, tmp_path / "unplugged" / "guard")
    with pytest.raises(BehindGuardError, match="is missing"):
        record(register, **SIGHTED)
    register.store.close()


@pytest.mark.parametrize("content", [b"", b"nonsense", b"\xff" * 100_000])
def test_a_guard_that_cannot_be_read_stops_recording(present, guard, content):
    guard.path.write_bytes(content)
    with pytest.raises(BehindGuardError, match="holds no checkpoint"):
        record(present, **SIGHTED)


def test_a_guard_of_another_register_stops_recording(present, guard, original):
    size, root = size_of(original.second), Checkpoint.parse(Note.parse(original.second).text).root
    other = checkpoint.sign(Checkpoint("other", size, root), key("other", 9)).encode()
    guard.path.write_bytes(other)
    with pytest.raises(BehindGuardError):
        record(present, **SIGHTED)


def test_the_first_checkpoint_begins_the_guard(tmp_path, monkeypatch):
    path, director = tmp_path / "new", Signatory("d1", key("d1", 2))
    register = Register.create(path, "Hollow Lane (invented)", REGISTER, REGISTER_KEY, director)
    register.guard = Guard(tmp_path / "first")
    named = {"kind": "place-named", "place": "table-1", "what": "table", "description": "one"}
    record(register, (director,), **named)
    assert register.guard.read() is None
    note = register.checkpoint(REGISTER_KEY).note
    assert register.guard.read() == note
    register.store.close()


def test_a_guard_is_laid_once(guard, original):
    with pytest.raises(InputError, match="already"):
        guard.lay(original.second)


def test_it_is_moved_on_only_from_what_was_expected(guard, original):
    with pytest.raises(BehindGuardError, match="moved on by another copy"):
        guard.advance(original.first, b"a newer one")
    assert guard.read() == original.second
    guard.advance(original.second, b"a newer one")
    assert guard.read() == b"a newer one"
    guard.advance(original.second, b"a newer one")  # as after a crash between writing and telling


def test_a_crash_while_it_is_written_leaves_the_old_one(guard, original, monkeypatch):
    monkeypatch.setattr(Path, "replace", lambda *_: (_ for _ in ()).throw(OSError(5, "failed")))
    with pytest.raises(BehindGuardError, match="cannot be written"):
        guard.advance(original.second, b"a newer one")
    assert guard.read() == original.second


def test_a_guard_that_lags_after_a_crash_is_moved_on_by_the_next_checkpoint(
    present, guard, original
):
    """The machine stopped between the commit and the guard: the register is ahead of it."""
    unguarded = opened(present.store.path)
    unguarded.publish(ONE, REGISTER_KEY)
    unguarded.store.close()
    record(present, **SIGHTED)
    assert guard.read() == original.second
    signed = present.checkpoint(REGISTER_KEY)
    assert guard.read() == signed.note


def _advance(path: str, old: bytes, new: bytes) -> bool:
    try:
        Guard(Path(path)).advance(old, new)
    except BehindGuardError:
        return False
    return True


def test_of_two_programs_one_moves_it_on(guard, original):
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        jobs = [(os.fspath(guard.path), original.second, b"note %d" % n) for n in range(8)]
        assert sum(pool.starmap(_advance, jobs)) == 1


def test_the_key_must_be_the_registers_own(present):
    with pytest.raises(InputError, match="not this register's present key"):
        present.publish(ONE, key(REGISTER, 50))
