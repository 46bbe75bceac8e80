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
STEPS = {
    "beside the bare one, pydantic with one model built": (
        "from pydantic import BaseModel, Field; M = type('M', (BaseModel,), {}); M()"
    ),
    "beside it, the modules of `continuity record`, no kind of entry read yet": (
        "from continuity_cli.main import run; import continuity_cli.commands.record"
    ),
    "beside those, the models of the register's own chain and of one whole case": (
        "from continuity.register import Register; import os;"
        " Register.open(os.environ['CONTINUITY_REGISTER']).case('{case}')"
    ),
}
WHY = (
    "the lines before it in the table itemise it: pydantic alone takes more than everything in the"
    " bare start, so that no command that reads an entry can be within twice; making our modules'"
    " dataclasses and models takes the next part; and judging an act takes the whole case, so each kind of entry met in it is a model that pydantic builds, a millisecond"
    " each and another to define. No passphrase is asked in this measurement: unlocking a key adds"
    " what its derivation is set to cost."
)


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
    scripts = [IMPORTS]
    for step in STEPS.values():
        scripts.append(f"{scripts[-1]}; {step.replace('{case}', case)}")
    bare, *costs = programs(
        ROUNDS,
        *([sys.executable, "-c", f"{script}; import gc; gc.freeze()"] for script in scripts),
        *([continuity, *arguments] for arguments in commands.values()),
        CONTINUITY_REGISTER=str(copy),
        CONTINUITY_KEYS=str(keys),
        CONTINUITY_PERSON="m1",
        # As where it is installed: compiled once, whatever this environment says.
        PYTHONDONTWRITEBYTECODE="",
        PYTHONPYCACHEPREFIX=str(folder / "bytecode"),
    )
    steps, ours = costs[: len(STEPS)], costs[len(STEPS) :]
    for what, before, after in zip(STEPS, [bare, *steps], steps, strict=False):
        yield Figure(f"a start: {what}", seconds(after.cpu - before.cpu), "")
    for name, cost in zip(commands, ours, strict=True):
        yield Figure(
            f"`continuity {name}` from start to end, processor",
            seconds(cost.cpu),
            f"`{IMPORTS}` {seconds(bare.cpu)}",
            cost.cpu / bare.cpu,
            2.0 if name.startswith("record") else None,
            WHY,
        )
