"""New files and folders, whole or not at all; what stands there already is never overwritten."""

from __future__ import annotations

import os
import shutil
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import IO, TYPE_CHECKING

from continuity.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator


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


@contextmanager
def new_folder(path: Path) -> Iterator[Path]:
    """A new folder to be filled within, under another name until it is; for its owner alone.

    A program that is killed leaves at worst `<name>.unfinished-…`, never half a folder at `path`.

    Raises:
        InputError: Something stands there already, or it cannot be made.
    """
    if os.path.lexists(path):
        raise InputError(f"{path}: something stands there already; name a new folder")
    try:
        made = Path(tempfile.mkdtemp(prefix=f"{path.name}.unfinished-", dir=path.parent))
    except FileNotFoundError:
        # Not made: the folder of a device that is not connected would come to lie on this disk.
        raise InputError(
            f"{path}: the folder it should lie in does not exist; connect its device, or make it"
            " first"
        ) from None
    except (OSError, ValueError) as error:
        raise _cannot(path, error) from None
    try:
        yield made
        try:
            made.rename(path)
            _flush(path.parent)
        except OSError as error:
            raise _cannot(path, error) from None
    except BaseException:
        shutil.rmtree(made, ignore_errors=True)
        raise


def _flush(folder: Path) -> None:
    if os.name == "posix":
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def _cannot(path: Path, error: Exception) -> InputError:
    reason = getattr(error, "strerror", None) or error
    return InputError(f"{path}: cannot be written: {reason}; name another path")
