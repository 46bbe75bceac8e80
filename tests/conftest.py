"""What every test may ask for."""

from __future__ import annotations

import json
import os
import signal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from collections.abc import Callable

# Timings differ from machine to machine and say nothing about a property.
settings.register_profile("continuity", deadline=None, database=None, print_blob=True)
settings.load_profile("continuity")

# A run in a shell's background ignores interrupts, and so would every program the tests start.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def vectors() -> Callable[[str], Any]:
    """Reads a file of published test values from the folder that CONTINUITY_VECTORS names."""
    folder = os.environ.get("CONTINUITY_VECTORS")
    if not folder:
        pytest.skip("CONTINUITY_VECTORS is not set: it names the folder of published test values")
    return lambda name: json.loads(Path(folder, name).read_text(encoding="utf-8"))
