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


def word(text: str, width: int) -> list[str]:
    """A word in large letters: each block two columns wide where that fits, else one.

    Args:
        text: capitals and spaces; others are left out.
        width: columns there are.
    """
    letters = [_LETTERS[letter].split() for letter in text.upper() if letter in _LETTERS]
    rows = [".".join(letter[row] for letter in letters) for row in range(HEIGHT)]
    across = 2 if 2 * len(rows[0]) <= width else 1
    return ["".join(("█" if dot == "#" else " ") * across for dot in row) for row in rows]


def shape(tone: Tone) -> list[str]:
    """The shape of an answer, ten columns wide; no two are alike in outline."""
    rows = _SHAPES[tone]
    return [
        "".join(_HALVES[upper + lower] for upper, lower in zip(above, below, strict=True))
        for above, below in zip(rows[::2], rows[1::2], strict=True)
    ]
