"""One SQLite file: opened without ever making one, patient with locks, open to interrupts."""

from __future__ import annotations

import os
import random
import sqlite3
import stat
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from continuity.errors import (
    DamagedRegisterError,
    InputError,
    LockedRegisterError,
    MissingRegisterError,
    RegisterError,
)
from continuity.store import faults

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

LONGEST_PAUSE = 0.01  # seconds between two tries for a lock, for whoever has only begun to wait
IMPATIENCE = 0.05  # seconds of waiting after which the pauses are half as long
STEPS = 20_000  # of SQLite's virtual machine between two looks for an interrupt: a millisecond
OLDEST_SQLITE = (3, 37, 0)  # STRICT tables
LONGEST = 1_000_000  # bytes of a value read from a file: fifteen times the longest a register holds
PAGES_AT_A_TIME = 256  # in a backup, between two looks for an interrupt

# synchronous=FULL makes a commit in WAL mode durable when it returns (sqlite.org/pragma.html);
# fullfsync is what that takes on macOS. The last two distrust the file itself.
_PRAGMAS = (
    "PRAGMA synchronous = FULL",
    "PRAGMA fullfsync = ON",
    "PRAGMA checkpoint_fullfsync = ON",
    "PRAGMA foreign_keys = ON",
    "PRAGMA temp_store = MEMORY",
    "PRAGMA trusted_schema = OFF",
    "PRAGMA cell_size_check = ON",
)


class Database:
    """A connection in autocommit mode that raises nothing but this library's errors.

    Args:
        path: An existing file.
        wait: Seconds to wait for another program's lock.

    Raises:
        MissingRegisterError: Nothing stands at `path`.
        RegisterError: It cannot be opened.
    """

    def __init__(self, path: Path, wait: float) -> None:
        self.path = path
        self.wait = wait
        if sqlite3.sqlite_version_info < OLDEST_SQLITE:
            raise RegisterError(
                f"SQLite {sqlite3.sqlite_version} is too old for {path}; it takes 3.37 or later."
            )
        _must_be_a_file(path)
        try:
            self._connection = sqlite3.connect(
                f"{path.absolute().as_uri()}?mode=rw",
                uri=True,
                timeout=0,  # its own wait takes no interrupt, and favours who comes last
                isolation_level=None,
            )
        except faults.FAULTS as error:
            raise faults.told(error, path) from error
        self._opened = self._file()
        self._connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LONGEST)
        self._connection.setlimit(sqlite3.SQLITE_LIMIT_SQL_LENGTH, LONGEST)
        # A Python function gives a waiting signal its turn; the exception ends the query.
        self._connection.set_progress_handler(lambda: 0, STEPS)
        for pragma in _PRAGMAS:
            self.run(pragma)

    @property
    def in_transaction(self) -> bool:
        """Whether a transaction is open on this connection."""
        return self._connection.in_transaction

    @property
    def connection(self) -> sqlite3.Connection:
        """The connection itself, for libraries that ask for one; use it within `translating`."""
        return self._connection

    @contextmanager
    def translating(self) -> Iterator[None]:
        """Turn SQLite's errors within into this library's."""
        try:
            yield
        except faults.FAULTS as error:
            raise faults.told(error, self.path) from error

    def run(self, sql: str, values: Sequence[Any] = ()) -> sqlite3.Cursor:
        """Run one statement, waiting for locks; the cursor's `rowcount` tells what it changed."""
        try:
            return self._connection.execute(sql, values)
        except faults.FAULTS as error:
            return self._again(sql, values, error)

    def row(self, sql: str, values: Sequence[Any] = ()) -> Any:
        """The first row, or None."""
        try:
            return self.run(sql, values).fetchone()
        except faults.FAULTS as error:
            raise faults.told(error, self.path) from error

    def rows(self, sql: str, values: Sequence[Any] = ()) -> list[Any]:
        """All rows."""
        try:
            return self.run(sql, values).fetchall()
        except faults.FAULTS as error:
            raise faults.told(error, self.path) from error

    def begin(self) -> None:
        """Take the write lock.

        Raises:
            RegisterError: Another file stands at the path than the one that was opened, so that
                nobody else would ever see what is written here.
        """
        self.run("BEGIN IMMEDIATE")
        if self._file() != self._opened:
            self.roll_back()
            raise RegisterError(
                f"{self.path} was moved or replaced while it was in use, and nothing was recorded; "
                "find out which file is the register, and open it again."
            )

    def roll_back(self) -> None:
        """Undo what is open, if anything is."""
        if self._connection.in_transaction:
            self.run("ROLLBACK")

    @contextmanager
    def writing(self) -> Iterator[None]:
        """A transaction that holds the write lock from its beginning."""
        try:
            self.begin()
            yield
            self.run("COMMIT")
        except BaseException:
            self.roll_back()
            raise

    def shed(self) -> None:
        """Rewrite the file and empty its write-ahead log, so that deleted bytes are gone.

        PRAGMA secure_delete is not enough: it leaves the copies of rows that a split page moved.

        Raises:
            LockedRegisterError: Somebody reads an older state, whose bytes must stay till then.
        """
        self.run("VACUUM")
        checkpoint = "PRAGMA wal_checkpoint(TRUNCATE)"
        if not self.row(checkpoint)[0] or not all(self.row(checkpoint)[0] for _ in self._tries()):
            return
        raise LockedRegisterError(
            f"What was deleted may still lie in {self.path}-wal, because another program is "
            "reading; do this again when it is done."
        )

    def look(self) -> None:
        """See the file from here on as it stands at this moment, whatever others write."""
        self.run("BEGIN")
        self.row("SELECT 1 FROM sqlite_schema")

    def copy_to(self, target: Path) -> None:
        """Copy this file over the empty file at `target`, as it stood when last looked at."""
        with self.translating():
            copy = sqlite3.connect(f"{target.absolute().as_uri()}?mode=rw", uri=True)
            try:
                self._connection.backup(
                    copy, pages=PAGES_AT_A_TIME, progress=lambda *_: None, sleep=LONGEST_PAUSE
                )
            finally:
                copy.close()

    def close(self) -> None:
        """Close the file."""
        with self.translating():
            self._connection.close()

    def _file(self) -> tuple[int, int] | None:
        """Which file stands at the path."""
        try:
            state = self.path.stat()
        except OSError:
            return None
        return state.st_dev, state.st_ino

    def _tries(self) -> Iterator[None]:
        """Pauses, for as long as a lock may be waited for.

        They are left to chance, so that nobody always comes at the wrong moment, and grow shorter,
        so that who has waited longest tries most often: the lock goes round.
        """
        began = time.monotonic()
        while (waited := time.monotonic() - began) < self.wait:
            longest = LONGEST_PAUSE / (1 + waited / IMPATIENCE)
            time.sleep(random.uniform(0, min(longest, self.wait - waited)))  # noqa: S311 - no secret
            yield

    def _again(self, sql: str, values: Sequence[Any], error: Exception) -> sqlite3.Cursor:
        """Run a statement again while another program's lock is all that stops it."""
        for _ in self._tries() if faults.is_lock(error) else ():
            try:
                return self._connection.execute(sql, values)
            except faults.FAULTS as another:
                error = another
                if not faults.is_lock(error):
                    break
        raise faults.told(error, self.path) from error


def make_file(path: Path) -> None:
    """Make an empty file that only its owner may read.

    Raises:
        InputError: Something already stands at `path`.
        RegisterError: It cannot be made.
    """
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except FileExistsError as error:
        raise InputError(f"{path} already exists; choose another path.") from error
    except FileNotFoundError as error:
        raise RegisterError(f"{path} cannot be made: its folder does not exist.") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise RegisterError(f"{path} cannot be made: {reason}.") from error


def remove_file(path: Path) -> None:
    """Remove a file of ours with what SQLite lays beside it."""
    for name in (path.name, f"{path.name}-wal", f"{path.name}-shm", f"{path.name}-journal"):
        path.with_name(name).unlink(missing_ok=True)


def _must_be_a_file(path: Path) -> None:
    try:
        mode = path.stat().st_mode
    except (FileNotFoundError, NotADirectoryError, ValueError) as error:
        raise MissingRegisterError(f"Nothing stands at {path}; check the path.") from error
    except OSError as error:
        raise RegisterError(f"{path} cannot be looked at: {error.strerror}.") from error
    if not stat.S_ISREG(mode):
        raise DamagedRegisterError(f"{path} is not a file, so it is no register; check the path.")
