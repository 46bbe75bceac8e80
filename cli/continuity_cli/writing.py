"""New files, written whole or not at all; one that stands there already is never overwritten."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from continuity.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path


def write_new(path: Path, data: bytes) -> None:
    """Write a new file, on the disk when this returns; one that was not finished is taken away.

    Raises:
        InputError: Something stands there already, or it cannot be written.
    """
    try:
        target = path.open("xb")
    except FileExistsError:
        raise InputError(f"{path}: something stands there already; name a new file") from None
    except OSError as error:
        raise InputError(f"{path}: {error.strerror}") from None
    try:
        with target:
            target.write(data)
            target.flush()
            os.fsync(target.fileno())
    except BaseException:
        path.unlink()
        raise
