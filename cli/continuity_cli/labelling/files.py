"""Label files: written whole beside their place first, and put into it only when all is recorded.

In which order, and why. A print that hangs on a bag and that the register does not know would be a
label that nobody can read; a print that the register knows and that was never made only has to be
made again. So: draw (what cannot be drawn is never recorded), write and flush to a temporary name,
record, then rename. A crash

- before the entry leaves nothing but a temporary file, whose code the register does not know;
- between the entry and the rename leaves an entry without a file, and the earlier print, still on
  the bag, void: the station says `superseded`, and printing again makes the next print;
- after the rename leaves all of it.
"""

from __future__ import annotations

import os
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from continuity.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping


@contextmanager
def ready(contents: Mapping[Path, bytes]) -> Iterator[None]:
    """Have files ready on the disk while their entries are written; then put them in their place.

    What stood there before is replaced. If what is done within fails, nothing is left behind. Only
    their owner may read them: a decedent's tag bears a name.

    Raises:
        InputError: a file cannot be written.
    """
    made: dict[Path, Path] = {}
    try:
        try:
            for path, content in contents.items():
                made[path] = _write(path, content)
        except OSError as error:
            raise InputError(f"{path}: cannot be written: {error.strerror}") from None
        yield
        try:
            for path, temporary in list(made.items()):
                temporary.replace(path)
                del made[path]
                _flush(path.parent)
        except OSError as error:
            raise InputError(
                f"{path}: recorded, and cannot be put in its place ({error.strerror}); print again"
            ) from None
    finally:
        for temporary in made.values():
            temporary.unlink(missing_ok=True)


def _write(path: Path, content: bytes) -> Path:
    descriptor, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise
    return Path(name)


def _flush(folder: Path) -> None:
    if os.name == "posix":
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
