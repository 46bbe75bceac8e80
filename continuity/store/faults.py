"""The one place where SQLite's errors become sentences a person at work can act on."""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING

from continuity.errors import (
    ContinuityError,
    DamagedRegisterError,
    InputError,
    LockedRegisterError,
    RegisterError,
)

if TYPE_CHECKING:
    from pathlib import Path

PRIMARY = 0xFF  # the low byte of an extended result code (sqlite.org/rescode.html)

_DAMAGED = {
    sqlite3.SQLITE_CORRUPT,
    sqlite3.SQLITE_NOTADB,
    sqlite3.SQLITE_CONSTRAINT,
    sqlite3.SQLITE_TOOBIG,  # a longer value than any that was recorded
}
_LOCKED = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_SENTENCES = {
    sqlite3.SQLITE_READONLY: "{path} cannot be written: the file, its folder or the disk is "
    "read-only; give this account leave to write there.",
    sqlite3.SQLITE_FULL: "The disk that holds {path} is full and nothing more was recorded; make "
    "room and record it again.",
    sqlite3.SQLITE_IOERR: "The disk that holds {path} failed while it was read or written "
    "({error}); check the disk before recording more.",
    sqlite3.SQLITE_CANTOPEN: "{path} cannot be opened: this account needs leave to read and write "
    "the file and its folder.",
    sqlite3.SQLITE_PERM: "{path} may not be used by this account; give it leave to read and write "
    "the file.",
}
# What SQLite says, under its general code, of a file laid out otherwise than a register.
_FOREIGN = ("no such table", "no such column", "no such index", "Could not decode to UTF-8")

# What comes out of `sqlite3`: beside its own errors, those of values it has no form for, and of
# damaged names that it cannot even quote.
FAULTS = (sqlite3.Error, OverflowError, UnicodeError)


def is_lock(error: Exception) -> bool:
    """Whether waiting may help."""
    return getattr(error, "sqlite_errorcode", 0) & PRIMARY in _LOCKED


def told(error: Exception, path: Path) -> ContinuityError | KeyboardInterrupt:
    """What to raise in an SQLite error's place.

    Args:
        error: One of `FAULTS`.
        path: The file it came from.
    """
    if isinstance(error, (OverflowError, UnicodeEncodeError)):
        return InputError(f"A value given cannot be kept in or sought in {path}: {error}.")
    code = getattr(error, "sqlite_errorcode", 0) & PRIMARY
    if code == sqlite3.SQLITE_INTERRUPT:
        # Nobody but the progress handler interrupts, and it does so for a pending signal alone.
        return KeyboardInterrupt()
    if code in _LOCKED:
        return LockedRegisterError(f"Another program is holding {path}; try again when it is done.")
    if code in _DAMAGED or isinstance(error, UnicodeDecodeError) or str(error).startswith(_FOREIGN):
        return DamagedRegisterError(
            f"{path} is not a register or is damaged ({error}); restore it from a backup."
        )
    sentence = _SENTENCES.get(code, "{path} cannot be used: {error}.")
    return RegisterError(sentence.format(path=path, error=error))
