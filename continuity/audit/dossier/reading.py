"""Reads a dossier's file, page or machine part alone, and verifies it.

A hostile file is refused or found wanting; it never crashes this, nor costs more than time in
proportion to its length, which is capped.
"""

from __future__ import annotations

from os import fstat
from typing import TYPE_CHECKING

from continuity.audit.dossier.checking import check
from continuity.audit.dossier.page import CLOSES, OPENS, write_page
from continuity.audit.dossier.story import TooLargeError
from continuity.audit.dossier.what import MAX_BYTES, Dossier
from continuity.audit.version import made_with
from continuity.errors import FormatError, InputError
from continuity.ledger import canonical

if TYPE_CHECKING:
    from pathlib import Path

    from continuity.audit.dossier.verdict import Report
    from continuity.audit.trust import Trust

MAX_FILE_BYTES = 4 * MAX_BYTES
"""Longest file read, in bytes: a page holds each entry twice, and words about it."""

_LESS_THAN = b"\\u003c"


def is_dossier(path: Path) -> bool:
    """Whether a file begins as a dossier's does: as a page, or as a machine part alone.

    Raises:
        InputError: It cannot be read.
    """
    try:
        with path.open("rb") as file:
            return file.read(64).lstrip().startswith((b"<", b"{"))
    except OSError as error:
        raise InputError(f"{path}: {error.strerror}") from None


def read_file(path: Path) -> bytes:
    """Read a dossier's file.

    Raises:
        InputError: It cannot be read, or is too long.
    """
    try:
        with path.open("rb") as file:
            length = fstat(file.fileno()).st_size
            data = file.read(MAX_FILE_BYTES + 1) if length <= MAX_FILE_BYTES else None
    except OSError as error:
        raise InputError(f"{path}: {error.strerror}") from None
    if data is None or len(data) > MAX_FILE_BYTES:
        raise InputError(f"{path}: longer than {MAX_FILE_BYTES} bytes; no dossier is")
    return data


def read_dossier(data: bytes) -> Dossier:
    """Find the machine part in a file's bytes, and read it; nothing is verified.

    Raises:
        FormatError: The file holds no machine part, more than one, or one not to the letter.
    """
    if not data.lstrip().startswith(b"<"):
        return Dossier.decode(data.strip())
    _, found, rest = data.partition(OPENS)
    if not found or OPENS in rest:
        raise FormatError("The page holds no machine part, or more than one.")
    inside, closed, _ = rest.partition(CLOSES)
    if not closed:
        raise FormatError("The page's machine part does not end.")
    value = canonical.parse(inside, max_bytes=MAX_BYTES)
    if not isinstance(value, dict):
        raise FormatError("The page's machine part is not an object.")
    dossier = Dossier.of(value)
    if dossier.encode().replace(b"<", _LESS_THAN) != inside:
        raise FormatError("The page's machine part is not in canonical form.")
    return dossier


def verify(data: bytes, trust: Trust | None = None) -> Report:
    """Verify a dossier's bytes: its machine part, and that the page around it says the same.

    Args:
        data: The file's bytes.
        trust: The keys and authorities the reader had from elsewhere; None: none at all.

    Raises:
        FormatError: The bytes are no dossier that this program knows.
    """
    dossier = read_dossier(data)
    report = check(dossier, trust)
    if data.lstrip().startswith(b"<"):
        _compare_page(data, dossier, report)
    return report


def _compare_page(data: bytes, dossier: Dossier, report: Report) -> None:
    """Make the page anew from its machine part; not one byte may differ.

    Whoever alters a page can name another version as its maker, too. What such a page says is
    therefore never taken for compared.
    """
    if not report.sound:
        return  # what is not sound is not told again, and its page cannot be right
    try:
        again = write_page(dossier)
    except TooLargeError as error:
        report.add("page-too-large", str(error))
        return
    except (FormatError, RecursionError) as error:
        report.add("act-unreadable", str(error) or "An entry is nested too deeply.")
        return
    if again == data:
        return
    if dossier.made_with == made_with():
        report.add(
            "page-differs",
            "The page is not the one that its machine part makes: its words are not to be relied"
            f" on. It says that it was made with {dossier.made_with}, which is this program's"
            " version, too; only an unreleased build of that version could tell otherwise.",
        )
        return
    report.add(
        "page-of-another-version",
        f"The page says that it was made with {dossier.made_with}, and this is {made_with()}, which"
        " tells it in other words: nobody can tell from here which were altered and which are that"
        " version's. Read what this one tells (--tell-anew FILE), or verify it with that version.",
    )
