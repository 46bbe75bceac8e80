"""Changes the care modules in one small place after the other, and tells which no test notices.

    python -m tests.mutation                        every mutant (make mutants)
    python -m tests.mutation findings closing       of some modules or folders
    python -m tests.mutation --sample 300 --seed 1  so many, drawn by chance

What has been read stands in one process, from which a fork is made for each mutant: there the one
function gets its changed code, and those tests are run that execute a changed line. What stands
outside of functions, or runs while the tests are still being collected, is read afresh, with all
the tests, in a process of its own.
"""

from __future__ import annotations

import argparse
import gc
import importlib
import os
import pickle
import random
import resource
import sys
import time
from collections import Counter, deque
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from types import CodeType, FunctionType
from typing import TYPE_CHECKING

import coverage
import pytest

from tests.mutation.mutants import Mutant, mutants
from tests.mutation.survivors import Row, tally, write

if TYPE_CHECKING:
    from collections.abc import Iterator

CARE = Path("continuity/care")
TESTS = "tests/care"
SECONDS, SECONDS_AFRESH = 20, 60  # of a processor's time; what takes longer never ends
BYTES = 3 << 30


@dataclass(frozen=True)
class Job:
    """One mutant to be tried, in a fork or afresh."""

    file: Path
    number: int | None
    mutant: Mutant | None
    afresh: bool


@dataclass
class Ran:
    """Which tests ran each line of each file, what ran before them, how long each test took."""

    lines: dict[str, dict[int, list[str]]] = field(default_factory=dict)
    read: dict[str, set[int]] = field(default_factory=dict)
    seconds: dict[str, float] = field(default_factory=dict)


class Hunt:
    """Runs in place of pytest's own loop over the collected tests."""

    def __init__(self, asked: argparse.Namespace) -> None:
        self.asked = asked
        self.rows: list[Row] = []
        self.killers: Counter[str] = Counter()
        self.reading = _coverage()
        self.reading.start()

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Try the mutants one after the other."""
        self.items = {item.nodeid: item for item in session.items}
        self.session = session
        files = [f for f in sorted(CARE.rglob("*.py")) if _is_asked(f, self.asked.modules)]
        self.functions = _functions(files)
        self.reading.stop()
        self.ran = self._watch()
        data = self.reading.get_data()
        self.ran.read = {f: set(data.lines(f) or ()) for f in data.measured_files()}
        print(f"{len(self.items)} tests, {sum(self.ran.seconds.values()):.0f} s")
        gc.freeze()
        controls = [Job(f, None, None, afresh=True) for f in files[:1]]
        if not all(survived for _, survived in self._try(controls)):
            pytest.exit("the tests fail with nothing changed, when read afresh", 1)
        jobs = [
            Job(f, n, m, afresh=self._is_read_first(f, m))
            for f in files
            for n, m in enumerate(mutants(f.read_text("utf-8")))
        ]
        if self.asked.sample:
            jobs = sorted(
                random.Random(self.asked.seed).sample(jobs, min(self.asked.sample, len(jobs))),
                key=jobs.index,
            )
        left = Counter(job.file for job in jobs)
        for job, survived in self._try(jobs):
            m = job.mutant
            self.rows.append(Row(job.file, m.lines[0], m.place, m.before, m.after, survived))
            if survived:
                print(f"{job.file}:{m.lines[0]}: {m.place}: {m.before}  ->  {m.after}", flush=True)
            left[job.file] -= 1
            if not left[job.file]:
                self._tell([row for row in self.rows if row.file == job.file])
        return True

    def _tell(self, rows: list[Row]) -> None:
        """A module is done with."""
        print(tally(rows, str(rows[0].file)), flush=True)
        if self.asked.write:
            some = f"a sample, seed {self.asked.seed}" if self.asked.sample else "all"
            write(self.asked.write, rows, some)

    def _try(self, jobs: list[Job]) -> Iterator[tuple[Job, bool]]:
        """Each mutant, and whether it survived; in the order in which they are done with."""
        waiting = deque(jobs)
        here, self.there = os.pipe()
        os.set_blocking(here, False)
        running: dict[int, Job] = {}
        while waiting or running:
            while waiting and len(running) < self.asked.processes:
                job = waiting.popleft()
                pid = os.fork()
                if pid == 0:
                    self._child(job)
                running[pid] = job
            pid, status = os.wait()
            with suppress(BlockingIOError):
                self.killers.update(os.read(here, 1 << 16).decode().splitlines())
            yield running.pop(pid), status == 0

    def _child(self, job: Job) -> None:
        """Try one mutant, and end: with 0 if every test passes."""
        try:
            limit = SECONDS_AFRESH if job.afresh else SECONDS
            resource.setrlimit(resource.RLIMIT_CPU, (limit, limit))
            resource.setrlimit(resource.RLIMIT_AS, (BYTES, BYTES))
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
            nothing = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nothing, 1)
            os.dup2(nothing, 2)
            if job.afresh:
                number = "" if job.number is None else job.number
                os.environ["CONTINUITY_MUTANT"] = f"{_module(job.file)}:{number}"
                words = ["-x", "-p", "tests.mutation.planted", TESTS]
                os.execv(sys.executable, [sys.executable, "-m", "pytest", *words])  # noqa: S606
            for function in self._function(job.file, job.mutant):
                function.__code__ = _code(job.file, job.mutant)
            os._exit(self._fails(self._chosen(job.file, job.mutant)))
        except BaseException:  # noqa: BLE001 - whatever happens here, the mutant brought it about
            os._exit(1)

    def _fails(self, chosen: list[str]) -> bool:
        for name, after in zip(chosen, [*chosen[1:], None], strict=True):
            self._run(name, after)
            if self.session.testsfailed:
                os.write(self.there, f"{name}\n".encode())
                return True
        return False

    def _run(self, name: str, after: str | None) -> None:
        item = self.items[name]
        item.config.hook.pytest_runtest_protocol(
            item=item, nextitem=self.items[after] if after else None
        )

    def _chosen(self, file: Path, mutant: Mutant) -> list[str]:
        """The tests that run a changed line: first those that killed most, then the quickest."""
        first, last = mutant.lines
        lines = self.ran.lines.get(str(file.resolve()), {})
        names = {n for line in range(first, last + 1) for n in lines.get(line, ())} - {""}
        return sorted(names, key=lambda n: (-self.killers[n], self.ran.seconds[n]))

    def _is_read_first(self, file: Path, mutant: Mutant) -> bool:
        """Whether something could have been worked out from the unchanged code already."""
        first, last = mutant.lines
        read = self.ran.read.get(str(file.resolve()), set())
        return self._function(file, mutant) is None or bool(read & set(range(first, last + 1)))

    def _watch(self) -> Ran:
        """Run every test once, in a fork that leaves no trace but what it tells."""
        here, there = os.pipe()
        pid = os.fork()
        if pid == 0:
            ran = Ran()
            seen = _coverage()
            seen.start()
            names = list(self.items)
            for name, after in zip(names, [*names[1:], None], strict=True):
                seen.switch_context(name)
                begun = time.process_time()
                self._run(name, after)
                ran.seconds[name] = time.process_time() - begun
            seen.stop()
            data = seen.get_data()
            ran.lines = {f: data.contexts_by_lineno(f) for f in data.measured_files()}
            with os.fdopen(there, "wb") as out:
                pickle.dump(None if self.session.testsfailed else ran, out)
            os._exit(0)
        os.close(there)
        with os.fdopen(here, "rb") as told:
            ran = pickle.load(told)  # noqa: S301 - from this process's own fork
        os.waitpid(pid, 0)
        if ran is None:
            pytest.exit("the tests fail with nothing changed: run them", 1)
        return ran

    def _function(self, file: Path, mutant: Mutant) -> list[FunctionType] | None:
        return self.functions.get((str(file.resolve()), mutant.head))


def _coverage() -> coverage.Coverage:
    return coverage.Coverage(data_file=None, include=[f"{CARE}/*"], messages=False)


def _is_asked(file: Path, modules: list[str]) -> bool:
    names = {file.stem, *file.relative_to(CARE).parts, str(file.relative_to(CARE))}
    return not modules or bool(names & set(modules))


def _module(file: Path) -> str:
    return ".".join(file.with_suffix("").parts).removesuffix(".__init__")


def _functions(files: list[Path]) -> dict[tuple[str, int], list[FunctionType]]:
    """The functions of these files, by file and first line."""
    for file in files:
        importlib.import_module(_module(file))
    found: dict[tuple[str, int], list[FunctionType]] = {}
    for thing in gc.get_objects():
        if isinstance(thing, FunctionType):
            code = thing.__code__
            found.setdefault((code.co_filename, code.co_firstlineno), []).append(thing)
    return found


def _code(file: Path, mutant: Mutant) -> CodeType:
    """The changed code of the function that a mutant changes."""
    tree = mutant.planted(file.read_text("utf-8"))
    waiting = [compile(tree, str(file.resolve()), "exec", dont_inherit=True)]
    while waiting:
        code = waiting.pop()
        if code.co_firstlineno == mutant.head and code.co_name in mutant.place.split("."):
            return code
        waiting += [c for c in code.co_consts if isinstance(c, CodeType)]
    raise LookupError(mutant.place)


def main() -> int:
    """Try the mutants asked for, and tell how many were killed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("modules", nargs="*", help="names of modules or folders; else all")
    parser.add_argument("--sample", type=int, help="so many, drawn by chance")
    parser.add_argument("--seed", type=int, default=int(time.time()))
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--write", type=Path, help="the table of survivors, kept with its reasons")
    asked = parser.parse_args()
    hunt = Hunt(asked)
    begun = time.monotonic()
    status = pytest.main(["-p", "no:terminalreporter", TESTS], plugins=[hunt])
    if status or not hunt.rows:
        return 1
    print(f"{tally(hunt.rows, 'all')}; {time.monotonic() - begun:.0f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
