"""Text from entries, shown so that it can do nothing to whoever reads it.

What an entry says was typed by somebody else. Control characters drive terminals, bidirectional
controls make a line read other than it is (Unicode Technical Report 36, section 2.6), and a line
end can feign another line; all of them are shown as escapes.
"""

from __future__ import annotations

_JOINERS = "\u200c\u200d"
"""Zero-width joiner and non-joiner: without them names in several scripts are misspelt."""

_NAMED = {"\n": "\\n", "\r": "\\r", "\t": "\\t"}


def harmless(text: object) -> str:
    r"""The text in one line, each character that does not print as its escape, as in `\u202e`."""
    line = str(text)
    return line if line.isprintable() else "".join(map(_shown, line))


def _shown(character: str) -> str:
    code = ord(character)
    if character.isprintable() or character in _JOINERS:
        return character
    if character in _NAMED:
        return _NAMED[character]
    if _is_space(code):
        return " "
    if code <= 0xFF:  # noqa: PLR2004 - two hexadecimal digits
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code <= 0xFFFF else f"\\U{code:08x}"  # noqa: PLR2004 - four digits


def _is_space(code: int) -> bool:
    """Whether it is a space of another width than usual (Unicode category Zs)."""
    return code in {0xA0, 0x1680, 0x202F, 0x205F, 0x3000} or 0x2000 <= code <= 0x200A  # noqa: PLR2004
