"""Letters and shapes to be read at two metres: drawn here in blocks, in no typeface.

Five rows of a full-screen terminal of 24 rows are a fifth of its height: about 55 mm on a screen
27 cm high. ISO 9241-303 prefers characters of 20 to 22 minutes of arc, 12 to 13 mm at two metres
[from memory]; an ordinary line of the same terminal has 11 mm.
"""

from __future__ import annotations

from typing import Final

from continuity_cli.station.answer import Tone

HEIGHT: Final = 5
"""Rows of a letter and of a shape."""

_LETTERS: Final = {
    "A": ".##. #..# #### #..# #..#",
    "B": "###. #..# ###. #..# ###.",
    "C": ".### #... #... #... .###",
    "D": "###. #..# #..# #..# ###.",
    "E": "#### #... ###. #... ####",
    "F": "#### #... ###. #... #...",
    "G": ".### #... #.## #..# .###",
    "H": "#..# #..# #### #..# #..#",
    "I": "### .#. .#. .#. ###",
    "J": "..## ...# ...# #..# .##.",
    "K": "#..# #.#. ##.. #.#. #..#",
    "L": "#... #... #... #... ####",
    "M": "#...# ##.## #.#.# #...# #...#",
    "N": "#...# ##..# #.#.# #..## #...#",
    "O": ".##. #..# #..# #..# .##.",
    "P": "###. #..# ###. #... #...",
    "Q": ".##. #..# #..# #.## .###",
    "R": "###. #..# ###. #.#. #..#",
    "S": ".### #... .##. ...# ###.",
    "T": "##### ..#.. ..#.. ..#.. ..#..",
    "U": "#..# #..# #..# #..# .##.",
    "V": "#...# #...# #...# .#.#. ..#..",
    "W": "#...# #...# #.#.# ##.## #...#",
    "X": "#..# #..# .##. #..# #..#",
    "Y": "#...# .#.#. ..#.. ..#.. ..#..",
    "Z": "#### ..#. .#.. #... ####",
    " ": ".. .. .. .. ..",
}

_SHAPES: Final = {
    Tone.READY: (  # an open frame, as a viewfinder has
        "###....###",
        "#........#",
        "#........#",
        "..........",
        "....##....",
        "....##....",
        "..........",
        "#........#",
        "#........#",
        "###....###",
    ),
    Tone.GO_ON: (  # an arrow
        "....##....",
        "....###...",
        "....####..",
        "#########.",
        "##########",
        "##########",
        "#########.",
        "....####..",
        "....###...",
        "....##....",
    ),
    Tone.RECORDED: (  # a tick
        ".........#",
        "........##",
        ".......###",
        "......###.",
        "#....###..",
        "##..###...",
        "######....",
        ".####.....",
        "..##......",
        "..........",
    ),
    Tone.CLEAR: (  # a tick in a ring
        "..######..",
        ".##....##.",
        "##.....###",
        "#.....##.#",
        "#.#..##..#",
        "#.####...#",
        "#..##....#",
        "##......##",
        ".##....##.",
        "..######..",
    ),
    Tone.REFUSED: (  # a cross
        "##......##",
        "###....###",
        ".###..###.",
        "..######..",
        "...####...",
        "...####...",
        "..######..",
        ".###..###.",
        "###....###",
        "##......##",
    ),
    Tone.WRONG_CASE: (  # an octagon, struck through
        "..######..",
        ".########.",
        "##########",
        "##########",
        "#........#",
        "#........#",
        "##########",
        "##########",
        ".########.",
        "..######..",
    ),
    Tone.DROPPED: (  # an hourglass
        "##########",
        ".#......#.",
        "..######..",
        "...####...",
        "....##....",
        "....##....",
        "...#..#...",
        "..#.##.#..",
        ".########.",
        "##########",
    ),
}

_HALVES: Final = {"..": " ", "#.": "▀", ".#": "▄", "##": "█"}


def word(text: str, width: int, *, tall: bool = True) -> list[str]:
    """A word in large letters: each block two columns wide where that fits, else one.

    Two words stand one below the other rather than small: the loudest refusal has two.

    Args:
        text: capitals and spaces; others are left out.
        width: columns there are.
        tall: whether there is height for two.
    """
    for parts in ([text], text.split()) if tall else ([text],):
        rows = [_dots(part) for part in parts]
        if 2 * max(len(row[0]) for row in rows) <= width:
            return [_drawn(row, 2) for each in _spaced(rows) for row in each]
    return [_drawn(row, 1) for row in _dots(text)]


def _dots(text: str) -> list[str]:
    letters = [_LETTERS[letter].split() for letter in text.upper() if letter in _LETTERS]
    return [".".join(letter[row] for letter in letters) for row in range(HEIGHT)]


def _spaced(words: list[list[str]]) -> list[list[str]]:
    """An empty row between one word and the next."""
    first, *rest = words
    return [first, *(["", *word] for word in rest)]


def _drawn(dots: str, across: int) -> str:
    return "".join(("█" if dot == "#" else " ") * across for dot in dots)


def shape(tone: Tone) -> list[str]:
    """The shape of an answer, ten columns wide; no two are alike in outline."""
    rows = _SHAPES[tone]
    return [
        "".join(_HALVES[upper + lower] for upper, lower in zip(above, below, strict=True))
        for above, below in zip(rows[::2], rows[1::2], strict=True)
    ]
