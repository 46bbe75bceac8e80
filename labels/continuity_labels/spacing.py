"""How words stand beside each other; apart from the typefaces, which are slow to load."""

from __future__ import annotations

from typing import Final

NO_BREAK: Final = "\u00a0"
"""Holds two words together on one line."""

BETWEEN: Final = "·"
"""Stands between two phrases on one line, and is dropped where the line ends."""
