"""Measure everything, and keep it: `python -m tests.benchmarks`.

Every ratio is measured side by side in one run. Registers of a million entries and more take 20
minutes for each million to make; `python -m tests.benchmarks.days FILE CASES` makes one, once, and
`--ready FOLDER` measures those that lie there: `million.db` (20,280 cases) and `six-million.db`
(100,000). What a run does not measure stays in the page as it was measured before.
"""

from __future__ import annotations

import argparse
import os
import platform
import sqlite3
import tempfile
from datetime import UTC, datetime
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

import cryptography

from tests.benchmarks import answering, appending, days, proving, starting, verifying, weighing
from tests.benchmarks.kept import keep
from tests.benchmarks.measure import table

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from tests.benchmarks.measure import Figure

    Part = Callable[[], Iterable[Figure]]


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("--small", type=int, default=20_000, help="entries of the small register")
    parser.add_argument("--large", type=int, default=100_000, help="entries of the large register")
    parser.add_argument("--ready", type=Path, help="a folder of larger registers, ready made")
    parser.add_argument("--pymerkle", help="an interpreter that has pymerkle, to compare proofs")
    parser.add_argument("--only", action="append", help="only this part; may be repeated")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="continuity-benchmarks-") as folder:
        for name, part in _parts(asked, Path(folder)).items():
            if not asked.only or name in asked.only:
                day, load = f"{datetime.now(UTC):%Y-%m-%d}", os.getloadavg()[0]
                figures = []
                for figure in part():
                    print(table([figure]).splitlines()[-1], flush=True)
                    figures.append(figure)
                keep(name, f"{day} on {_machine()}; load average {load:.1f}", figures)


def _parts(asked: argparse.Namespace, folder: Path) -> dict[str, Part]:
    """Every part that can be measured; a register is made when the first part asks for it."""

    @cache
    def made(cases: int) -> Path:
        return days.make(folder / f"{cases}.db", cases)

    def small() -> Path:
        return made(days.cases_for(asked.small))

    def large() -> Path:
        return made(days.cases_for(asked.large))

    ten = 10
    parts: dict[str, Part] = {
        "appending": lambda: appending.figures(large(), folder),
        "verifying": lambda: verifying.figures(small(), large()),
        "growing": lambda: verifying.growth(small(), large()),
        "proving": lambda: proving.figures(small(), large(), asked.pymerkle, folder),
        "answering": lambda: answering.figures(made(ten), large(), folder),
        "starting": lambda: starting.figures(made(ten), folder),
        "weighing": lambda: weighing.figures(large()),
    }
    for name in ("million", "six-million"):
        ready = asked.ready and asked.ready / f"{name}.db"
        if ready and ready.exists():
            told = name.replace("-", " ")
            parts |= {
                f"growing to a {told}": partial(lambda at: verifying.growth(large(), at), ready),
                f"proving in a {told}": partial(
                    lambda at: proving.figures(small(), at, None, folder), ready
                ),
                f"answering in a {told}": partial(
                    lambda at: answering.figures(made(ten), at, folder), ready
                ),
            }
    return parts


def _machine() -> str:
    names = [
        line.partition(":")[2].strip()
        for line in Path("/proc/cpuinfo").read_text("utf-8").splitlines()
        if line.startswith("model name")
    ]
    return (
        f"{os.cpu_count()} processors, {names[0] if names else platform.machine()}, {platform.system()}"
        f" {platform.release()}, Python {platform.python_version()}, SQLite"
        f" {sqlite3.sqlite_version}, cryptography {cryptography.__version__}"
    )


if __name__ == "__main__":
    main()
