"""The table of survivors: its rows are counted, its reasons are written by hand and kept."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

OPEN = "not looked into"
MODULE = re.compile(r"^\| (?P<file>\S+\.py) \| (?P<counts>.*) \|$", re.MULTILINE)
SURVIVOR = re.compile(r"^\| `(?P<name>.*)` \| (?P<reason>.*) \|$", re.MULTILINE)
HEAD = """# Mutants that survive

Written by `make mutants`, module by module, but for the reasons, which are kept when it is written
again. `mutants.py` says what is changed, and what is left alone.

| module | killed | which | when |
|---|---:|---|---|
"""
SECTION = "## "


@dataclass(frozen=True)
class Row:
    """What became of one mutant."""

    file: Path
    line: int
    place: str
    before: str
    after: str
    survived: bool

    @property
    def name(self) -> str:
        """The mutant in a line of the table, without the line's number, which changes."""
        said = f"{self.place}: {self.before} → {self.after}"
        return said.replace("|", "¦").replace("`", "'")


def tally(rows: list[Row], name: str) -> str:
    """How many were killed."""
    killed = sum(not row.survived for row in rows)
    return f"{name:44}{killed:5} of {len(rows):<5}{killed / max(1, len(rows)):7.1%}"


def write(path: Path, rows: list[Row], which: str) -> None:
    """Write one module anew; the others stay, and a mutant that survived before keeps its reason."""
    old = path.read_text("utf-8") if path.exists() else ""
    counts = {m["file"]: m["counts"] for m in MODULE.finditer(old)}
    sections = dict(part.split("\n", 1) for part in old.split("\n" + SECTION)[1:])
    file = str(rows[0].file)
    reasons = {m["name"]: m["reason"] for m in SURVIVOR.finditer(sections.pop(file, ""))}
    killed = sum(not row.survived for row in rows)
    share = f"{killed} of {len(rows)}, {killed / len(rows):.1%}"
    counts[file] = f"{share} | {which} | {datetime.now(UTC):%Y-%m-%d}"
    names = [row.name for row in sorted(rows, key=lambda r: r.line) if row.survived]
    if names:
        table = [f"| `{name}` | {reasons.get(name, OPEN)} |" for name in names]
        sections[file] = "\n".join(["", "| survivor | reason |", "|---|---|", *table]) + "\n"
    listed = "".join(f"| {name} | {counts[name]} |\n" for name in sorted(counts))
    told = "".join(f"\n{SECTION}{name}\n{sections[name]}" for name in sorted(sections))
    path.write_text(HEAD + listed + told, "utf-8")
