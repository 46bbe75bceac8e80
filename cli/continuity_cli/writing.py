"""New files, written whole or not at all; one that stands there already is never overwritten."""

from __future__ import annotations

import os
from contextlib import contextmanager
from typing import IO, TYPE_CHECKING

from continuity.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@contextmanager
def new_file(path: Path) -> Iterator[IO[bytes]]:
    """A new file to be written within, on the disk afterwards; an unfinished one is taken away.

    Raises:
        InputError: Something stands there already, or it cannot be written.
    """
    try:
        target = path.open("xb")
    except FileExistsError:
        raise InputError(f"{path}: something stands there already; name a new file") from None
    except (OSError, ValueError) as error:
        raise _cannot(path, error) from None
    try:
        with target:
            yield target
            try:
                target.flush()
                os.fsync(target.fileno())
            except OSError as error:
                raise _cannot(path, error) from None
    except BaseException:
        path.unlink()
        raise


def write_new(path: Path, data: bytes) -> None:
    """Write a new file.

    Raises:
        InputError: Something stands there already, or it cannot be written.
    """
    with new_file(path) as target:
        target.write(data)


def _cannot(path: Path, error: Exception) -> InputError:
    reason = getattr(error, "strerror", None) or error
    return InputError(f"{path}: cannot be written: {reason}; name another file")
