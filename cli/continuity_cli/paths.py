"""Where the register and the keys lie, when nobody says otherwise."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from continuity.register import Register

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

REGISTER_FILE = "register.db"
KEYS_FOLDER = "keys"


def data_folder() -> Path:
    """The platform's folder for this person's data."""
    from platformdirs import user_data_path  # noqa: PLC0415 - only without a path given

    return user_data_path("continuity", appauthor=False)


@dataclass(frozen=True, slots=True)
class Files:
    """Where a register lies.

    Attributes:
        register: its file.
        guard: the file that holds its last checkpoint in a second place, if the firm keeps one.
        given: whether somebody said where, rather than leaving it to the platform.
    """

    register: Path
    guard: Path | None = None
    given: bool = True

    @classmethod
    def of(cls, register: Path | None, guard: Path | None) -> Files:
        """As given, or in the platform's data folder."""
        return cls(register or data_folder() / REGISTER_FILE, guard, register is not None)


def keys_folder(given: Path | None) -> Path:
    """The folder of key files: as given, or in the platform's data folder."""
    return given or data_folder() / KEYS_FOLDER


@contextmanager
def opened(files: Files) -> Iterator[Register]:
    """The register, open; it must exist, for only `start` makes one.

    Raises:
        RegisterError: it is missing, locked for too long, damaged or newer.
    """
    register = Register.open(files.register, guard=files.guard)
    with register.store:
        yield register
