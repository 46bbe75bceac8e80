"""Files that may not be used, are held, or are not what they were: one line, and exit 3."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from continuity.store.sqlite import SqliteStore
from tests.faults.firm import Firm
from tests.faults.test_disk import one_line

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tests.faults.nursery import Nursery

SIGHTED = ["record", "sighted", "--thing", "2026-0001.1", "--as", "m1"]
READING = (
    ["case", "2026-0001"],
    ["closing-check", "2026-0001"],
    ["custody", "2026-0001"],
    ["plan", "2026-0001"],
    ["verify"],
)
NOBODY = 65534


@pytest.fixture
def shared(template: Firm) -> Iterator[Firm]:
    """A firm whose folder anybody may enter, and whose keys are nobody's."""
    if os.geteuid():
        pytest.skip("NOT TRIED: only root can become another user")
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        firm = template.copy(Path(name, "firm"))
        for path in (firm.folder, *firm.folder.rglob("*")):
            os.chown(path, NOBODY, NOBODY)
        yield firm
        firm.folder.chmod(0o755)


def allow(firm: Firm, folder: int, file: int) -> None:
    for path in firm.folder.glob("register.db*"):
        path.chmod(file)
    firm.folder.chmod(folder)


@pytest.mark.parametrize("modes", [(0o755, 0o444), (0o555, 0o444)], ids=["file", "folder too"])
def test_what_may_only_be_read_is_not_written(
    modes: tuple[int, int], nursery: Nursery, shared: Firm
) -> None:
    before = shared.size()
    allow(shared, *modes)
    for words in (SIGHTED, ["count", "table-1", "2026-0001.1", "--as", "m1"]):
        ((status, out, err, _),) = nursery.run("prepare", shared.folder, words, "as_nobody", None)
        assert "give this account leave" in one_line(status, err) or "needs leave" in err
        assert out == ""
    allow(shared, 0o755, 0o600)
    assert shared.size() == before


@pytest.mark.parametrize("words", [SIGHTED, *READING], ids=lambda words: words[0])
@pytest.mark.parametrize("modes", [(0o755, 0o000), (0o000, 0o600)], ids=["file", "folder"])
def test_what_may_not_be_read_is_not_called_missing_or_damaged(
    words: list[str], modes: tuple[int, int], nursery: Nursery, shared: Firm
) -> None:
    allow(shared, *modes)
    ((status, out, err, _),) = nursery.run("prepare", shared.folder, words, "as_nobody", None)
    if modes[0]:
        assert "leave" in one_line(status, err)
    else:
        assert "Permission denied" in one_line(status, err) or "keys" in err
    assert out == ""


def test_leave_taken_away_while_a_program_records_ends_the_next_one_only(
    nursery: Nursery, shared: Firm
) -> None:
    child = nursery.start("append", shared.folder, 1)
    child.next()
    allow(shared, 0o755, 0o000)
    known = len(child.told)
    child.listen(time.monotonic() + 0.05)
    assert len(child.told) > known, "its file is open, and stays so"
    ((status, _, err, _),) = nursery.run("prepare", shared.folder, SIGHTED, "as_nobody", None)
    one_line(status, err)
    told = child.kill()
    allow(shared, 0o755, 0o600)
    leaves = shared.leaves()
    assert all(leaves[position] == leaf for position, leaf in told)
    assert shared.verify().sound


@pytest.mark.parametrize("lock", ["IMMEDIATE", "EXCLUSIVE"])
def test_a_register_held_by_another_program_is_waited_for_and_then_told(
    lock: str, nursery: Nursery, firm: Firm
) -> None:
    before = firm.size()
    holder = nursery.start("hold", firm.folder, lock)
    holder.next()
    ((status, out, err, took),) = nursery.run("prepare", firm.folder, SIGHTED, "impatient", 0.4)
    assert "Another program is holding" in one_line(status, err)
    assert out == ""
    assert 0.4 < took < 1.5
    # In WAL mode whoever reads waits for nobody.
    ((status, out, _, _),) = nursery.run("command", firm.folder, ["case", "2026-0001"])
    assert (status, "2026-0001.4" in out) == (0, True)
    holder.kill()
    ((status, *_),) = nursery.run("command", firm.folder, SIGHTED)
    assert status == 0
    assert firm.size() == before + 1


def moved(firm: Firm, name: str) -> None:
    for path in firm.folder.glob(f"{name}*"):
        path.rename(firm.folder / f"moved-{path.name}")


def replaced(firm: Firm, name: str) -> None:
    """Put a copy of the file in its place, as restoring a backup does."""
    path = firm.folder / name
    with tempfile.TemporaryDirectory(dir=firm.folder) as elsewhere:
        with SqliteStore.open(firm.path) as store:
            store.backup(Path(elsewhere, "register.db"))
        Path(elsewhere, name).replace(path)


def removed(firm: Firm, name: str) -> None:
    (firm.folder / name).unlink()


@pytest.mark.parametrize("how", [moved, replaced, removed], ids=lambda how: how.__name__)
@pytest.mark.parametrize("name", ["register.db", "register.db.personal"])
def test_nothing_is_acknowledged_that_went_into_a_file_no_longer_in_its_place(
    how: Callable[[Firm, str], None], name: str, nursery: Nursery, firm: Firm
) -> None:
    child = nursery.start("stay_open", firm.folder)
    assert child.next()[0] == "done"
    how(firm, name)
    firm.folder.with_name("go").touch()
    outcome, status, sentence = child.next()
    child.finish()
    assert (outcome, status) == ("error", 3)
    assert f"{firm.folder / name} was moved or replaced while it was in use" in sentence
    assert "\n" not in sentence


@pytest.mark.parametrize("words", [SIGHTED, *READING], ids=lambda words: words[0])
def test_a_file_overwritten_under_an_older_copy_is_found_or_is_whole(
    words: list[str], nursery: Nursery, firm: Firm
) -> None:
    """Somebody copies a backup over the file, and its write-ahead log still lies there."""
    old = firm.path.read_bytes()
    child = nursery.start("append", firm.folder, 1, "m1", 120)
    child.next()
    child.kill()
    assert firm.folder.joinpath("register.db-wal").exists()
    firm.path.write_bytes(old)
    ((status, _, err, _),) = nursery.run("command", firm.folder, words)
    if status == 3:
        one_line(status, err)
    else:
        assert status in (0, 1), err
        assert firm.verify().sound


@pytest.mark.parametrize("words", [SIGHTED, *READING], ids=lambda words: words[0])
@pytest.mark.parametrize("what", ["nothing", "folder", "text", "fifo"])
def test_what_is_no_register_is_told_so(
    what: str, words: list[str], nursery: Nursery, firm: Firm
) -> None:
    for path in firm.folder.glob("register.db*"):
        path.unlink()
    if what == "folder":
        firm.path.mkdir()
    elif what == "text":
        firm.path.write_text("minutes of a meeting\n" * 500)
    elif what == "fifo":
        os.mkfifo(firm.path)
    ((status, out, err, _),) = nursery.run("command", firm.folder, words)
    one_line(status, err)
    assert str(firm.path) in err
    assert out == ""


def test_a_copy_of_the_two_files_alone_is_a_register(firm: Firm, tmp_path: Path) -> None:
    """Nothing that counts lies only in what SQLite keeps beside them once it is closed."""
    firm.sighted()
    copy = Firm(tmp_path / "copy")
    copy.folder.mkdir()
    for name in ("register.db", "register.db.personal"):
        shutil.copy(firm.folder / name, copy.folder)
    assert copy.leaves() == firm.leaves()
