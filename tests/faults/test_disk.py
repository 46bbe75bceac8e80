"""A disk that fails at each single call: one line, exit 3, and a register that is whole.

`failing.c` stands between the program and the system, and lets the n-th write, flush or truncation
of a register's files fail, or kills the program in its place.
"""

from __future__ import annotations

import errno
import json
import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.faults.deeds import ACTS, READ, SYNC, TRUNCATE, WRITE
from tests.faults.nursery import Nursery

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tests.faults.firm import Firm

SHIM = Path(__file__).with_name("failing.c")
ALL = WRITE | SYNC | TRUNCATE
REMARKS = {"disclosure-orphan", "disclosure-erased-kept"}
EVERY = 1 if os.environ.get("CONTINUITY_KILLS") else 9  # of the calls, in `make test`

SAID = {
    errno.EIO: ("failed while it was read or written",),
    errno.ENOSPC: ("is full and nothing more was recorded", "failed while it was read or written"),
}
"""SQLite tells a full disk only where it writes; where it truncates or flushes, that it failed."""


@pytest.fixture(scope="module")
def failing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Nursery]:
    """Where children are born whose disk can be made to fail."""
    compiler = shutil.which("gcc") or shutil.which("cc")
    if compiler is None:
        pytest.skip("NOT TRIED: a C compiler is needed to let the disk fail")
    library = tmp_path_factory.mktemp("shim") / "failing.so"
    flags = ["-shared", "-fPIC", "-O1", "-Wall", "-Wextra", "-Werror"]
    subprocess.run([compiler, *flags, "-o", library, SHIM, "-ldl"], check=True)
    nursery = Nursery(LD_PRELOAD=str(library))
    yield nursery
    nursery.close()


def one_line(status: int, err: str) -> str:
    """What a command said when it could not look."""
    assert status == 3, (status, err)
    assert err.startswith("continuity: ")
    assert err.count("\n") == 1, err
    assert "Traceback" not in err
    return err


@pytest.mark.parametrize("error", [errno.EIO, errno.ENOSPC], ids=["failed", "full"])
@pytest.mark.parametrize("act", ACTS)
def test_whichever_call_fails_nothing_is_told_that_is_not_so(
    act: str, error: int, failing: Nursery, another: Callable[[], Firm]
) -> None:
    firm = another()
    before = firm.size()
    ((calls, done, _), _, _) = failing.run("faulty", firm.folder, act, ALL, 0, 0, error)
    assert done == "done"
    entries = (firm.size() - before) // 2  # the act was done twice
    assert calls > 2
    failed = 0
    for spared in range(0, calls, EVERY):
        firm = another()
        given = [firm.folder, act, ALL, spared, 1, error]
        (_, outcome, *first), kept, again = failing.run("faulty", *given)
        if outcome == "error":
            failed += 1
            status, sentence = first
            assert status == 3
            assert "\n" not in sentence
            assert any(words in sentence for words in SAID[error]), sentence
        assert again[0] == "done"
        assert not (kept and act == "erase" and outcome == "done"), (spared, kept)
        report = firm.verify()
        assert report.sound, (spared, report.findings)
        assert set(report.codes) <= REMARKS
        # An erasure can fail behind its entry; then it is the same act's second entry.
        stands_anyway = outcome == "done" or "stands recorded" in first[1]
        assert firm.size() - before == entries * (1 + stands_anyway)
    assert failed, "no failure was noticed, so nothing was tried"


@pytest.mark.parametrize("act", ACTS)
def test_a_program_that_dies_at_any_call_leaves_all_of_an_act_or_nothing(
    act: str, failing: Nursery, another: Callable[[], Firm]
) -> None:
    firm = another()
    before = firm.size()
    ((calls, *_), _, _) = failing.run("faulty", firm.folder, act, ALL, 0, 0, 0)
    entries = (firm.size() - before) // 2
    for spared in range(0, calls, EVERY):
        firm = another()
        assert failing.run("faulty", firm.folder, act, ALL, spared, 1, 0) == []
        report = firm.verify()
        assert report.sound, (spared, report.findings)
        assert set(report.codes) <= REMARKS
        assert firm.size() - before in (0, entries)
        firm.sighted()


def test_an_entry_whose_flush_failed_is_whole_if_a_later_program_finds_it(
    failing: Nursery, firm: Firm
) -> None:
    """The bytes were written, only not flushed: after a kill they may count, or may not."""
    before = firm.size()
    ((*_, status, sentence),) = failing.run("flush_fails_and_killed", firm.folder)
    assert status == 3
    assert "nothing" not in sentence
    assert firm.size() - before in (0, 2)
    assert firm.verify().sound
    firm.sighted()


@pytest.mark.parametrize(
    ("words", "calls", "error"),
    [
        (["record", "sighted", "--thing", "2026-0001.1", "--as", "m1"], WRITE, errno.ENOSPC),
        (["record", "sighted", "--thing", "2026-0001.1", "--as", "m1"], SYNC, errno.EIO),
        (["count", "table-1", "2026-0001.1", "--as", "m1"], WRITE, errno.EDQUOT),
        (["label", "2026-0001.3", "--as", "m1", "-o", "label.png"], SYNC, errno.EIO),
        (["backup", "copy"], WRITE, errno.ENOSPC),
        (["backup", "copy"], SYNC, errno.EIO),
        (["backup", "copy"], READ, errno.EIO),
        (["case", "2026-0001"], READ, errno.EIO),
        (["closing-check", "2026-0001"], READ, errno.EIO),
        (["verify"], READ, errno.EIO),
    ],
    ids=lambda given: given[0] if isinstance(given, list) else str(given),
)
def test_every_command_ends_in_one_line(
    words: list[str],
    calls: int,
    error: int,
    failing: Nursery,
    firm: Firm,
) -> None:
    before = firm.size()
    words = [str(firm.folder / word) if word in ("label.png", "copy") else word for word in words]
    given = [calls, 0, 1000, error]
    ((status, out, err, _),) = failing.run("prepare", firm.folder, words, "failing_disk", given)
    one_line(status, err)
    assert out == ""
    assert firm.size() == before
    assert firm.verify().codes == ()
    assert not [file for made in ("*.png", "copy*") for file in firm.folder.glob(made)]


def test_a_disk_that_fails_while_it_is_read_is_not_called_unsound(
    failing: Nursery, another: Callable[[], Firm]
) -> None:
    """Whether verify could not look, or looked and found it wanting, is never the same answer."""
    firm = another()
    (told,) = failing.run(
        "prepare", firm.folder, ["verify", "--json"], "failing_disk", [8, 0, 0, 5]
    )
    assert told[0] == 0
    for spared in (1, 3, 6, 12, 20):
        given = [READ, spared, 1000, errno.EIO]
        ((status, out, err, _),) = failing.run(
            "prepare", firm.folder, ["verify", "--json"], "failing_disk", given
        )
        if status:
            assert (status, out) == (3, ""), (spared, out)
            # SQLite holds a page that the disk would not give for one that is damaged.
            assert re.search("failed while it was read|or is damaged", one_line(status, err))
        else:
            assert json.loads(out)["sound"]


@pytest.mark.parametrize("way", ["small_files", "small_disk"])
def test_a_disk_or_a_quota_that_is_full_is_told_and_nothing_told_before_is_lost(
    way: str, nursery: Nursery, firm: Firm
) -> None:
    told = nursery.run("until_full", firm.folder, way)
    if told == ["not permitted"]:
        pytest.skip("NOT TRIED: this account may not mount a small file system")
    *done, refused, again, after = told
    assert len(done) > 3
    assert all(outcome == "done" for outcome, *_ in done)
    assert refused[:2] == ["error", 3]
    assert "The disk that holds" in refused[2]
    assert "\n" not in refused[2]
    assert again[0] == "done", "there was room again"
    leaves, sound, codes, problems = after
    acknowledged = [ack for _, ack in (*done, again)]
    assert all(leaves[position] == leaf for position, leaf in acknowledged)
    assert len(leaves) == again[1][0] + 1
    assert (sound, problems) == (True, [])
    assert set(codes) <= REMARKS
