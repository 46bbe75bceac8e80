"""Which codeword each module of a symbol belongs to: for damaging a stated share of them.

ISO/IEC 18004: codewords run in two-module columns from the right, upward and downward in turn,
around the function patterns; the column of the vertical timing pattern is passed over.
"""

from __future__ import annotations

from typing import Final

from continuity_labels.errors import LabelError

_TIMING: Final = 6
_FINDER: Final = 9
_VERSIONS: Final = range(2, 7)


def codeword_map(side: int) -> dict[tuple[int, int], int]:
    """The codeword number of each module that carries one, by row and column.

    Args:
        side: modules in the symbol's side, 25 to 41 (versions 2 to 6: one alignment pattern, no
            version information).

    Raises:
        LabelError: the version is outside 2 to 6.
    """
    version, rest = divmod(side - 17, 4)
    if rest or version not in _VERSIONS:
        raise LabelError(f"a symbol of {side} modules is not of version 2 to 6.")
    cells: list[tuple[int, int]] = []
    upward = True
    for right in (*range(side - 1, _TIMING, -2), *range(_TIMING - 1, 0, -2)):
        rows = range(side - 1, -1, -1) if upward else range(side)
        cells += [
            (row, column)
            for row in rows
            for column in (right, right - 1)
            if not _is_function(row, column, side)
        ]
        upward = not upward
    whole = len(cells) // 8 * 8
    return {cell: place // 8 for place, cell in enumerate(cells[:whole])}


def _is_function(row: int, column: int, side: int) -> bool:
    """Finder, separator, format, timing or alignment pattern."""
    far = side - _FINDER + 1
    near_row, near_column = row < _FINDER, column < _FINDER
    if (near_row and near_column) or (near_row and column >= far) or (row >= far and near_column):
        return True
    if _TIMING in {row, column}:
        return True
    centre = side - 7
    return abs(row - centre) <= 2 and abs(column - centre) <= 2  # noqa: PLR2004
