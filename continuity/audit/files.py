"""The files themselves: that nothing stands in them but what a register is made of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.report import Finding
from continuity.errors import DamagedRegisterError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.store.protocol import Reads


def judge_files(reads: Reads, *, rows: bool) -> Iterator[Finding]:
    """What stands in the files that belongs to no register.

    Args:
        reads: The register.
        rows: Go through all tables and indexes as well.
    """
    try:
        for sentence in reads.strangers():
            yield Finding("layout-differs", sentence)
        for sentence in reads.strays() if rows else ():
            yield Finding("table-differs", sentence)
    except DamagedRegisterError as error:
        yield Finding("file-damaged", str(error))
