"""Makes hidden characters visible, so that what a reader sees is what was recorded.

Control characters, marks that turn the direction of writing, and characters without width are
shown by their code points. The page's script holds the same list and compares (Unicode TR 36,
section 2; UTS 39).
"""

from __future__ import annotations

import re

HIDDEN = re.compile(
    "[\x00-\x1f\x7f-\x9f\xad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f"
    "\u200b-\u200f\u2028-\u202e\u2060-\u206f\u3164\ufeff\uffa0\ufff0-\ufffb"
    "\ufffe\uffff\U000e0000-\U000e0fff]"
)


def visible(text: str, kept: str = "") -> str:
    """The text with every hidden character as `⟨U+202E⟩`, but for those kept."""
    return HIDDEN.sub(lambda m: m[0] if m[0] in kept else f"⟨U+{ord(m[0]):04X}⟩", text)
