"""The guard: the last signed checkpoint in a second place, best on another device.

A copy of the register put back from an old backup looks sound by itself. Held against its guard it
shows: it is behind it, or beside it. Such a register records nothing until two directors say in an
entry that it was restored, and from which state.
"""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

from continuity.errors import BehindGuardError, ContinuityError, FormatError, InputError
from continuity.ledger import merkle
from continuity.ledger.chain import read_entry
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.keyring import REGISTER_CASE
from continuity.ledger.note import Note

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from continuity.store.protocol import Reads

MAX_GUARD_BYTES = 65_535

RESTORED = "register-restored"
"""The kind of entry that lets a register go on beside its guard."""


class Guard:
    """The file that holds the last signed checkpoint of one register.

    Args:
        path: The file the firm chose. Beside it lies an empty `<name>.lock`.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._agreed: bytes | None = None

    def read(self) -> bytes | None:
        """Give the checkpoint's note, or None where there is no file yet.

        Raises:
            BehindGuardError: The file cannot be read.
        """
        try:
            with self.path.open("rb") as file:
                return file.read(MAX_GUARD_BYTES)
        except FileNotFoundError:
            return None
        except OSError as error:
            raise BehindGuardError(
                f"The guard {self.path} cannot be read ({error.strerror}); connect its device."
            ) from None

    def check(self, reads: Reads) -> bytes | None:
        """Make sure that the register continues the checkpoint held; give that checkpoint's note.

        Raises:
            BehindGuardError: It is behind it or beside it and no entry says that it was restored,
                or the guard is missing or unreadable.
        """
        note = self.read()
        if note is None:
            if reads.latest_checkpoint() is not None:
                raise BehindGuardError(
                    f"The guard {self.path} is missing; connect its device, or lay it anew after"
                    " an audit."
                )
            return None
        if note != self._agreed:
            held = self._parse(note)
            if not _continues(reads, held) and not _restored(reads, held):
                size = reads.head().size
                raise BehindGuardError(
                    f"The register has {size} entries and does not continue the checkpoint of"
                    f" {held.size} that its guard {self.path} holds: use the newer copy, or let two"
                    " directors record that this one was restored (register-restored: guard_size"
                    f" {held.size}, guard_root {held.root.hex()}, size {size}, and a reason)."
                )
            self._agreed = note
        return note

    def held(self) -> Checkpoint:
        """Give the checkpoint held.

        Raises:
            BehindGuardError: There is none, or it cannot be read.
        """
        note = self.read()
        if note is None:
            raise BehindGuardError(f"The guard {self.path} is missing.")
        return self._parse(note)

    def check_named(self, size: int, root: str) -> None:
        """Make sure that whoever says a copy was restored names the very checkpoint held.

        Raises:
            InputError: It is another.
            BehindGuardError: There is none, or it cannot be read.
        """
        held = self.held()
        if (size, root) != (held.size, held.root.hex()):
            raise InputError("guard_size, guard_root: they are not what the guard holds")

    def advance(self, expected: bytes | None, note: bytes) -> None:
        """Put a newer checkpoint in the place of the one expected there, on the disk.

        Raises:
            BehindGuardError: Another one lies there: somebody else keeps this register as well.
        """
        with _locked(self.path):
            found = self.read()
            if found not in (expected, note):
                raise BehindGuardError(
                    f"The guard {self.path} was moved on by another copy of this register; stop,"
                    " and find out which copy is in use."
                )
            self._write(note)
        self._agreed = note

    def lay(self, note: bytes) -> None:
        """Begin a guard where there is none, with a register's present checkpoint.

        Raises:
            InputError: There is one already.
            FormatError: The note is not a checkpoint.
        """
        Checkpoint.parse(Note.parse(note).text)
        with _locked(self.path):
            if self.read() is not None:
                raise InputError(f"A guard lies at {self.path} already.")
            self._write(note)

    def _parse(self, note: bytes) -> Checkpoint:
        try:
            return Checkpoint.parse(Note.parse(note).text)
        except FormatError as error:
            raise BehindGuardError(
                f"The guard {self.path} holds no checkpoint ({error}); restore the file."
            ) from None

    def _write(self, note: bytes) -> None:
        fresh = self.path.with_name(f"{self.path.name}.new")
        try:
            with fresh.open("wb") as file:
                file.write(note)
                file.flush()
                os.fsync(file.fileno())
            fresh.replace(self.path)  # whole or not at all: a crash leaves the old or the new one
            _flush_folder(self.path)
        except OSError as error:
            raise BehindGuardError(
                f"The guard {self.path} cannot be written ({error.strerror}); connect its device."
            ) from None


def _continues(reads: Reads, held: Checkpoint) -> bool:
    if held.origin != reads.register or held.size > reads.head().size:
        return False
    try:
        return merkle.root(held.size, reads.read_hashes) == held.root
    except ContinuityError:
        return False


def _restored(reads: Reads, held: Checkpoint) -> bool:
    """Whether an entry says that the register was restored from this very state."""
    own = reads.entries(REGISTER_CASE)
    for row in (row for row in own if row.kind == RESTORED):
        details = read_entry(row.note)[0].details
        if (details.get("guard_size"), details.get("guard_root")) == (held.size, held.root.hex()):
            return held.origin == reads.register
    return False


@contextmanager
def _locked(path: Path) -> Iterator[None]:
    """Keep other programs from reading and writing the guard between our reading and writing."""
    try:
        descriptor = os.open(path.with_name(f"{path.name}.lock"), os.O_RDWR | os.O_CREAT, 0o600)
    except OSError as error:
        raise BehindGuardError(
            f"The guard {path} cannot be locked ({error.strerror}); connect its device."
        ) from None
    try:
        _lock(descriptor)
        yield
    finally:
        os.close(descriptor)  # lets go of the lock as well


if sys.platform == "win32":
    import msvcrt

    def _lock(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_LOCK, 1)
else:
    import fcntl

    def _lock(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX)


def _flush_folder(path: Path) -> None:
    if os.name != "posix":
        return
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
