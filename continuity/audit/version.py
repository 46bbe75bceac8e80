"""Which program tells: a page or a receipt names it, for another version may tell otherwise."""

from __future__ import annotations

from importlib.metadata import version


def made_with() -> str:
    """The program's name and version, as dossiers and receipts give it."""
    return f"continuity {version('continuity')}"
