"""A register that cannot be used: one line, status 3, and never a new file."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.e2e.conftest import Installed

UNUSABLE = 3
SIGHTED = ("record", "sighted", "--thing", "2026-0001.1")
COMMANDS = (
    SIGHTED,
    ("case", "2026-0001"),
    ("closing-check", "2026-0001"),
    ("count", "table-1"),
    ("verify",),
)


def files(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*")}


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: words[0])
def test_a_mistyped_path_is_an_error_and_makes_nothing(
    installed: Installed, words: tuple[str, ...]
) -> None:
    before = files(installed.folder)
    ended = installed(*words, "--register", "regster.db")
    assert ended.error == "Nothing stands at regster.db; check the path."
    assert (ended.status, ended.out) == (UNUSABLE, "")
    assert files(installed.folder) == before


def test_without_a_path_the_platforms_folder_is_named(installed: Installed) -> None:
    environment = dict(installed.environment)
    installed.settings["CONTINUITY_REGISTER"] = ""
    ended = installed("case", "2026-0001")
    assert ended.error.startswith(f"Nothing stands at {installed.folder / 'data'}")
    assert ended.status == UNUSABLE
    assert not (installed.folder / "data").exists()
    assert environment["XDG_DATA_HOME"] == str(installed.folder / "data")


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _text(path: Path) -> None:
    path.write_text("a shopping list\n" * 1000)


def _picture(path: Path) -> None:
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(4096))


def _folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


def _another_database(path: Path) -> None:
    path.unlink()
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE shopping (thing)")
        other.commit()


def _truncated(path: Path) -> None:
    with closing(sqlite3.connect(path)) as whole:
        whole.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    path.write_bytes(path.read_bytes()[:5000])


def _newer(path: Path) -> None:
    with closing(sqlite3.connect(path)) as later:
        later.execute("PRAGMA user_version = 999")
        later.commit()


def _without_personal(path: Path) -> None:
    path.with_name("register.db.personal").unlink()


BROKEN: tuple[tuple[Callable[[Path], None], str], ...] = (
    (_empty, "is not a register"),
    (_text, "is not a register or is damaged"),
    (_picture, "is not a register or is damaged"),
    (_folder, "is not a file, so it is no register"),
    (_another_database, "is not a register"),
    (_truncated, "is damaged"),
    (_newer, "has layout 999 and this program knows layouts up to"),
    (_without_personal, "The personal details that belong beside"),
)


@pytest.mark.parametrize(
    ("spoil", "words"), BROKEN, ids=lambda given: getattr(given, "__name__", "")
)
@pytest.mark.parametrize("command", [SIGHTED, ("verify",)], ids=lambda words: words[0])
def test_what_is_no_sound_register_is_told_as_what_it_is(
    installed: Installed, spoil: Callable[[Path], None], words: str, command: tuple[str, ...]
) -> None:
    spoil(installed.register)
    before = files(installed.folder)
    ended = installed(*command)
    assert words in ended.error, ended.error
    assert "register.db" in ended.error
    assert (ended.status, ended.out) == (UNUSABLE, "")
    assert files(installed.folder) <= before | {"register.db-wal", "register.db-shm"}


def test_a_register_that_another_program_holds_is_waited_for_in_vain(
    installed: Installed,
) -> None:
    with closing(sqlite3.connect(installed.register, isolation_level=None)) as holder:
        holder.execute("BEGIN IMMEDIATE")
        ended = installed(*SIGHTED)
        holder.execute("ROLLBACK")
    assert ended.error.startswith(f"Another program is holding {installed.register}; try again")
    assert (ended.status, ended.out) == (UNUSABLE, "")
    assert installed(*SIGHTED).status == 0


def test_a_register_that_is_started_is_not_started_again(installed: Installed) -> None:
    before = installed.register.read_bytes()
    ended = installed(
        "start", "--firm", "F", "--as", "d9", "--no-passphrase", "--keys", installed.folder / "k"
    )
    assert ended.error == f"{installed.register} already exists; choose another path."
    assert ended.status == 2
    assert installed.register.read_bytes() == before
    assert list((installed.folder / "k").iterdir()) == []


def test_a_folder_that_does_not_exist_is_not_made_for_a_register_that_was_named(
    installed: Installed,
) -> None:
    words = ("start", "--firm", "F", "--as", "d9", "--no-passphrase", "--keys", "k")
    ended = installed(*words, "--register", "nowhere/register.db")
    assert ended.error == "nowhere/register.db cannot be made: its folder does not exist."
    assert ended.status == UNUSABLE
    assert not (installed.folder / "nowhere").exists()
    assert list((installed.folder / "k").iterdir()) == []


def test_a_register_can_be_started_where_the_platform_keeps_data(installed: Installed) -> None:
    installed.settings |= {"CONTINUITY_REGISTER": "", "CONTINUITY_KEYS": ""}
    words = ("start", "--firm", "F", "--as", "m1", "--no-passphrase")
    assert installed(*words).status == 0
    data = installed.folder / "data" / "continuity"
    assert files(data) >= {"register.db", "register.db.personal", "keys/m1.key"}
    assert installed("record", "case-opened").status == 0
