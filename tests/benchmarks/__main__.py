"""Measure everything, print the table, and keep it: `python -m tests.benchmarks`.

Every ratio is measured side by side in one run. `--large 1000000` or more takes its time: about
20 minutes for each million entries to make, and as long to verify.
"""

from __future__ import annotations

import argparse
import os
import platform
import sqlite3
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import cryptography

from continuity.store.sqlite import SqliteStore
from tests.benchmarks import answering, appending, days, proving, starting, verifying, weighing
from tests.benchmarks.measure import Figure, seconds, table

if TYPE_CHECKING:
    from collections.abc import Iterator

FIGURES = Path(__file__).with_name("FIGURES.md")


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("--small", type=int, default=20_000, help="entries of the small register")
    parser.add_argument("--large", type=int, default=100_000, help="entries of the large register")
    parser.add_argument("--pymerkle", help="an interpreter that has pymerkle, to compare proofs")
    parser.add_argument("--only", action="append", help="only this part; may be repeated")
    parser.add_argument("--write", type=Path, default=FIGURES, help="where to keep the table")
    asked = parser.parse_args()
    load = os.getloadavg()[0]
    with tempfile.TemporaryDirectory(prefix="continuity-benchmarks-") as folder:
        figures = list(_measure(asked, Path(folder)))
    text = _page(figures, load)
    print(text)
    if not asked.only:
        asked.write.write_text(text, "utf-8")


def _measure(asked: argparse.Namespace, folder: Path) -> Iterator[Figure]:
    ten, small, large = (folder / f"{name}.db" for name in ("ten", "small", "large"))
    cases = days.cases_for(asked.large)
    days.make(ten, 10)
    days.make(small, days.cases_for(asked.small))
    began = time.process_time()
    days.make(large, cases)
    each = (time.process_time() - began) / asked.large
    sizes = " and ".join(f"{_size(path):,}" for path in (small, large))
    yield Figure(f"registers of {sizes} entries made, each entry", seconds(each), "")
    parts = {
        "appending": lambda: appending.figures(large, cases, folder),
        "verifying": lambda: verifying.figures(small, large),
        "proving": lambda: proving.figures(small, large, asked.pymerkle, folder),
        "answering": lambda: answering.figures(ten, large, cases, folder),
        "starting": lambda: starting.figures(ten, folder),
        "weighing": lambda: weighing.figures(large),
    }
    for name, part in parts.items():
        if not asked.only or name in asked.only:
            for figure in part():
                print(table([figure]).splitlines()[-1], flush=True)
                yield figure


def _size(path: Path) -> int:
    with SqliteStore.open(path) as store:
        return store.head().size


PAGE = """# Figures

Written by `make bench`; do not edit. Each ratio was measured side by side in one run, and is of
medians. *Processor* is time on a processor, *elapsed* is time on the wall: on a machine that does
other work as well, the first is the steadier; *undisturbed* is what nine rounds in ten took longer
than.

Measured {day:%Y-%m-%d} on {machine}; load average at the beginning {load:.1f}.

{table}

The append's elapsed lines are the disk's as much as ours. Where a durable commit takes some 4 ms, as
on a busy disk, they are near 1 and say little; on the same machine with its disk quiet (0.4 to 0.7
ms for the bare commit) they were 2.0 to 2.7 and missed the target. The processor line is what stays.

## What misses its target, and why

{missed}
"""


def _page(figures: list[Figure], load: float) -> str:
    missed = [f"- **{f.what}** ({f.ratio:.2f}): {f.why}" for f in figures if f.missed]
    return PAGE.format(
        day=datetime.now(UTC),
        machine=_machine(),
        load=load,
        table=table(figures),
        missed="\n".join(missed) or "Nothing.",
    )


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
