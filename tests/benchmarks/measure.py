"""Measuring several deeds side by side, and telling what came out."""

from __future__ import annotations

import os
import resource
import subprocess
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Any

Deed = Callable[[], Any]


@dataclass(frozen=True)
class Cost:
    """What several rounds took, in seconds.

    Attributes:
        cpu: The median on the processor.
        wall: The median on the wall.
        undisturbed: On the wall, what nine rounds in ten took longer than: on a machine that does
            other work as well, this is nearest to what the deed takes by itself.
    """

    cpu: float
    wall: float
    undisturbed: float


def _cost(times: Sequence[tuple[float, float]]) -> Cost:
    walls = sorted(wall for _, wall in times)
    return Cost(median(cpu for cpu, _ in times), median(walls), walls[len(walls) // 10])


@dataclass(frozen=True)
class Figure:
    """One line of the table.

    Attributes:
        what: What was measured.
        ours: The figure itself, with its unit.
        beside: What it is measured against, with its unit.
        ratio: Ours over the other; None where there is no other.
        target: The greatest ratio wanted (the least, if `at_least`); None where none is set.
        why: What keeps it from its target, if it misses.
        at_least: The ratio is a gain.
        note: What whoever reads the table should know of it.
    """

    what: str
    ours: str
    beside: str
    ratio: float | None = None
    target: float | None = None
    why: str = ""
    at_least: bool = False
    note: str = ""

    @property
    def missed(self) -> bool:
        if self.ratio is None or self.target is None:
            return False
        return self.ratio < self.target if self.at_least else self.ratio > self.target


def side_by_side(rounds: int, *deeds: Deed) -> list[Cost]:
    """Do each deed once a round, in turn, so that all of them meet the same machine."""
    spent: list[list[tuple[float, float]]] = [[] for _ in deeds]
    for _ in range(rounds):
        for deed, times in zip(deeds, spent, strict=True):
            cpu, wall = time.process_time(), time.perf_counter()
            deed()
            times.append((time.process_time() - cpu, time.perf_counter() - wall))
    return [_cost(times) for times in spent]


def programs(rounds: int, *commands: Sequence[str], **environment: str) -> list[Cost]:
    """The same for whole programs, each in a process of its own."""
    env = os.environ | environment

    def program(command: Sequence[str]) -> tuple[float, float]:
        before, wall = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
        done = subprocess.run(command, env=env, stdout=subprocess.DEVNULL, check=False)
        assert done.returncode in {0, 1}, command  # a closing check that is not clear says 1
        after, end = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
        user, system = after.ru_utime - before.ru_utime, after.ru_stime - before.ru_stime
        return user + system, end - wall

    spent = [[program(command) for command in commands] for _ in range(rounds + 1)][1:]
    return [_cost(times) for times in zip(*spent, strict=True)]


def seconds(value: float) -> str:
    """A time in the unit that suits it."""
    if value >= 1:
        return f"{value:.2f} s"
    return f"{value * 1e3:.2f} ms" if value >= 1e-3 else f"{value * 1e6:.0f} µs"


def table(figures: Sequence[Figure]) -> str:
    """The figures as a table in Markdown."""
    lines = ["| what | ours | beside | ratio | target | |", "|---|---|---|---|---|---|"]
    for f in figures:
        ratio = "" if f.ratio is None else f"{f.ratio:.2f}"
        sign = "≥" if f.at_least else "≤"
        target = "" if f.target is None else f"{sign} {f.target:g}"
        word = "" if f.target is None or f.ratio is None else "missed" if f.missed else "met"
        lines.append(f"| {f.what} | {f.ours} | {f.beside} | {ratio} | {target} | {word} |")
    return "\n".join(lines)
