"""Deeds become intents of the kinds that UNDO may strike, and of no other."""

from __future__ import annotations

import ast
from inspect import getsource

from continuity.care import entries
from continuity_cli.station import intents


def test_undo_knows_every_kind_that_a_deed_becomes() -> None:
    """What it does not know it would leave standing after a restart."""
    functions = (n for n in ast.parse(getsource(intents)).body if isinstance(n, ast.FunctionDef))
    words = {n.value for f in functions for n in ast.walk(f) if isinstance(n, ast.Constant)}
    made = words & set(entries.KINDS) - {"corrected"}
    assert made == intents.KINDS, "list in `intents.KINDS` what a deed becomes"
