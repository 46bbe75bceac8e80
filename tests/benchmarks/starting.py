"""Cold starts of the command, against a bare interpreter with what it cannot do without."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from continuity.ledger.keys import save_private
from tests.benchmarks.days import MORTICIAN, last_case
from tests.benchmarks.measure import Figure, programs, seconds

if TYPE_CHECKING:
    from collections.abc import Iterator

ROUNDS = 15
IMPORTS = "import click, sqlite3, cryptography"


def figures(ten: Path, folder: Path) -> Iterator[Figure]:
    copy, keys = folder / "starting.db", folder / "starting-keys"
    for suffix in ("", ".personal"):
        shutil.copyfile(f"{ten}{suffix}", f"{copy}{suffix}")
    keys.mkdir()
    save_private(MORTICIAN.key, keys / "m1.key", None)
    continuity, case = str(Path(sys.executable).parent / "continuity"), last_case(10)
    commands = {
        "--help": ["--help"],
        "record sighted": ["record", "sighted", "--thing", f"{case}.1", "--scanned"],
        "case": ["case", case],
        "closing-check": ["closing-check", case],
    }
    bare, *ours = programs(
        ROUNDS,
        [sys.executable, "-c", IMPORTS],
        *([continuity, *arguments] for arguments in commands.values()),
        CONTINUITY_REGISTER=str(copy),
        CONTINUITY_KEYS=str(keys),
        CONTINUITY_PERSON="m1",
        # As where it is installed: compiled once, whatever this environment says.
        PYTHONDONTWRITEBYTECODE="",
        PYTHONPYCACHEPREFIX=str(folder / "bytecode"),
    )
    for name, cost in zip(commands, ours, strict=True):
        yield Figure(
            f"`continuity {name}` from start to end, processor",
            seconds(cost.cpu),
            f"`{IMPORTS}` {seconds(bare.cpu)}",
            cost.cpu / bare.cpu,
        )
