"""Times the usual tasks at a real terminal, typed as a scanner types: `python -m tests.station.wedge`.

Each scan is typed a character at a time and ended with Enter; the next begins when its answer
stands on the full screen. So it measures the scanner, the station, the disk and the terminal. How
long a hand takes to aim is not in it, nor how long fingers take at a keypad. All is invented.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

import pexpect

from continuity.store.sqlite import SqliteStore
from tests.station.conftest import REGISTER, furnished

A_CHARACTER: Final = 0.01
"""Seconds from one character to the next, as keyboard scanners commonly type (from memory)."""
TIMES: Final = 3
APART: Final = 2.2
"""Between two tasks: the same scan within two seconds counts once."""

WHERE = "scan where it goes"
TASKS: Final[tuple[tuple[str, tuple[tuple[str, str], ...]], ...]] = (
    ("sign in", (("m1", "scan a label or an act"),)),
    ("bag out of the body, into the tub", (("bag", WHERE), ("tub", "into tub 2026"))),
    ("bag back into the cavity", (("bag", WHERE), ("body", "into body 2026"))),
    ("tub to the cold room", (("tub", WHERE), ("cold-room", "→ cold-room"))),
    (
        "open, with the old seal's number",
        (("OPEN", "the seal you broke"), ("S-881", "scan its label"), ("box", "opened, seal")),
    ),
    (
        "seal, with the seal's number",
        (("SEAL", "of the new seal"), ("S-882", "scan its label"), ("box", "sealed, seal")),
    ),
    ("open", (("OPEN", "the seal you broke"), ("box", "box 2026-0001.8: opened"))),
    ("seal", (("SEAL", "of the new seal"), ("box", "box 2026-0001.8: sealed"))),
    ("rinse", (("RINSE", "scan its label"), ("viscera", "rinsed"))),
    (
        "immerse, with the strength",
        (("IMMERSE", "in per cent"), ("3.7", "scan its label"), ("bag", "formaldehyde 3.7")),
    ),
    (
        "bag back into the cavity, and suture",
        (
            ("bag", WHERE),
            ("body", "into body 2026"),
            ("SUTURE", "scan its label"),
            ("body", "sutured"),
        ),
    ),
    (
        "look at a bag that leaks and smells",
        (("LEAK", "Leak"), ("ODOUR", "Odour"), ("bag", "it leaks and it smells")),
    ),
    (
        "identify the body, two persons",
        (
            ("IDENTIFY", "scan the body's own tag"),
            ("body", "AGREE or DIFFER"),
            ("AGREE", "a second person must sign"),
            ("m2", "its tag agrees"),
        ),
    ),
    ("weigh", (("WEIGH", "type the grams"), ("412", "scan its label"), ("heart", ": 412 g"))),
    (
        "hand over, and who took it signs",
        (
            ("HAND OVER", "scan the things"),
            ("heart", "or more things"),
            ("crematory", "handed over to crematory"),
            ("SIGNED FOR", "scan who signed"),
            ("crematory", "crematory signed"),
        ),
    ),
    (
        "something comes back",
        (
            ("coroner", "came back from coroner"),
            ("sample", "where it was set down"),
            ("table-1", "back from coroner → table-1"),
        ),
    ),
    (
        "closing check of five labels",
        (
            ("CLOSING CHECK", "any label of the case"),
            ("body", "seen: body"),
            ("coffin", "seen: oak coffin"),
            ("tub", "seen: tub"),
            ("kidney", "seen: kidney"),
            ("box", "seen: box"),
        ),
    ),
    ("", (("CANCEL", "closing check of 2026-0001"),)),
    ("", (("bag", WHERE), ("strange-tub", "belongs to case"))),
    ("found so against the rules", (("FOUND", "found so: "),)),
    ("sign in with a PIN of four", (("d1", "type the PIN"), ("4711", "scan a label or an act"))),
)
"""Each task, and its scans with what stands on the screen after each; "" leads to the next."""


def main() -> int:
    """Print a row for each task: scans, and the median of the seconds from first to last."""
    spent: dict[str, list[float]] = {}
    for _ in range(TIMES):
        with TemporaryDirectory() as folder:
            _work(Path(folder), spent)
    sys.stdout.write(f"load {os.getloadavg()[0]:.0f}, {TIMES} times each\n")
    for task, scans in TASKS:
        if task:
            seconds = statistics.median(spent[task])
            sys.stdout.write(
                f"| {task} | {len(scans)} | {seconds:.1f} | {max(spent[task]):.1f} |\n"
            )
    return 0


def _work(folder: Path, spent: dict[str, list[float]]) -> None:
    store = SqliteStore.create(folder / "register.db", REGISTER)
    with store:
        names = furnished(store, folder / "keys").names
    environment = os.environ | {
        "CONTINUITY_REGISTER": str(folder / "register.db"),
        "CONTINUITY_KEYS": str(folder / "keys"),
        "TERM": "xterm-256color",
    }
    child = pexpect.spawn(
        sys.executable,
        ["-m", "continuity_cli", "station"],
        env=environment,
        dimensions=(30, 120),
        encoding="utf-8",
        timeout=20,
    )
    child.delaybeforesend = None
    child.expect("last recorded")
    time.sleep(APART)
    for task, scans in TASKS:
        began = time.perf_counter()
        for name, answer in scans:
            _forget(child)
            for character in names.get(name, name) + "\r":
                child.send(character)
                time.sleep(A_CHARACTER)
            child.expect_exact(answer)
        spent.setdefault(task, []).append(time.perf_counter() - began)
        time.sleep(APART)
    child.close(force=True)


def _forget(child: pexpect.spawn[str]) -> None:
    """What the terminal has shown so far: no earlier answer is to be taken for the next one's."""
    while True:
        try:
            child.read_nonblocking(65536, 0)
        except pexpect.TIMEOUT:
            child.buffer = ""
            return


if __name__ == "__main__":
    sys.exit(main())
