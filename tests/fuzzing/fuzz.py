"""Spoils sound input for as long as asked: `python -m tests.fuzzing.fuzz` (make fuzz).

With atheris, if it is installed, the inputs are led by what code they reach; else they are left to
chance. Each target runs in a process of its own, which ends at the first input that breaks it,
hangs it, or lets its memory grow beyond what it began with; the input is then laid into `found`,
where it is a test from then on.
"""

from __future__ import annotations

import argparse
import random
import re
import resource
import signal
import subprocess
import sys
import time
from collections import deque
from hashlib import sha256
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

FOUND = Path(__file__).with_name("found")
MAY_GROW = 64  # megabytes above what the process holds once it is warm
TOLD = re.compile("inputs in|number_of_executed|slowest_unit|peak_rss")
WARM_UP = 500  # inputs, until what is imported when first used is there


def main() -> int:
    """Fuzz every target, or those named, and tell how each fared."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("targets", nargs="*")
    parser.add_argument("--seconds", type=float, default=30, help="for each target")
    parser.add_argument("--seed", type=int, default=int(time.time()))
    parser.add_argument("--chance", action="store_true", help="without atheris, even if it is here")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    parser.add_argument("--corpus", type=Path, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.one:
        return _one(asked.one, asked.seconds, asked.seed, asked.corpus)
    from tests.fuzzing.targets import TARGETS  # noqa: PLC0415 - the others load it instrumented

    led = find_spec("atheris") is not None and not asked.chance
    print(f"{'led by coverage (atheris)' if led else 'left to chance'}, seed {asked.seed}")
    failed = []
    for name in asked.targets or TARGETS:
        words = ["--one", name, "--seconds", str(asked.seconds), "--seed", str(asked.seed)]
        with TemporaryDirectory() as corpus:
            words += ["--corpus", corpus] if led else []
            failed += [name] * _broke(words)
    print(f"failed: {', '.join(failed)}" if failed else "nothing was broken")
    return bool(failed)


def _broke(words: list[str]) -> bool:
    """Fuzz one target in a process of its own, and pass on what matters of all that it says."""
    begun = [sys.executable, "-m", "tests.fuzzing.fuzz", *words]
    with subprocess.Popen(begun, stdout=subprocess.PIPE, stderr=subprocess.STDOUT) as process:
        last: deque[str] = deque(maxlen=60)
        for line in process.stdout or ():
            last.append(line.decode(errors="replace").rstrip())
            if TOLD.search(last[-1]):
                print(f"{words[1]:16} {last[-1]}", flush=True)
    if process.returncode:
        print("\n".join(last))
    return bool(process.returncode)


class Fed:
    """Feeds one target, and watches what it costs."""

    def __init__(self, name: str) -> None:
        from tests.fuzzing.targets import TARGETS, feed  # noqa: PLC0415 - see `main`

        self.name, self._feed, self._target = name, feed, TARGETS[name]
        self.sound = list(self._target.sound())
        self.longest = self._target.longest
        self._count, self._began, self._held = 0, time.monotonic(), 0
        self._slowest = 0.0
        signal.signal(signal.SIGALRM, _hangs)

    def __call__(self, data: bytes) -> None:
        """Feed one input; what breaks the target is kept."""
        data = data[: self.longest]
        began = time.monotonic()
        signal.setitimer(signal.ITIMER_REAL, 10 * self._target.seconds)
        try:
            self._feed(self.name, data)
        except Exception:
            folder = FOUND / self.name
            folder.mkdir(parents=True, exist_ok=True)
            (folder / sha256(data).hexdigest()[:16]).write_bytes(data)
            raise
        finally:
            signal.setitimer(signal.ITIMER_REAL, 0)
        self._slowest = max(self._slowest, time.monotonic() - began)
        self._count += 1
        if self._count == WARM_UP:
            self._held = _held()
        elif self._count > WARM_UP and _held() - self._held > MAY_GROW:
            raise MemoryError(f"{self.name} holds {_held()} MB, and began with {self._held}")

    def report(self) -> None:
        """Tell how much was fed, how fast, and what it cost."""
        took = time.monotonic() - self._began
        print(
            f"{self._count} inputs in {took:.0f} s,"
            f" slowest {1000 * self._slowest:.0f} ms, {_held()} MB"
            f" (+{_held() - (self._held or _held())})",
            flush=True,
        )


def _hangs(*_: Any) -> None:
    raise TimeoutError("it goes on and on")


def _held() -> int:
    """The most memory this process has held, in megabytes."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def _one(name: str, seconds: float, seed: int, corpus: Path | None) -> int:
    if corpus:
        return _led(name, seconds, seed, corpus)
    from tests.fuzzing.spoiling import spoilt  # noqa: PLC0415 - see `main`

    fed, chance = Fed(name), random.Random(seed)
    until = time.monotonic() + seconds
    try:
        while time.monotonic() < until:
            fed(spoilt(fed.sound, chance, fed.longest))
    finally:
        fed.report()
    return 0


def _led(name: str, seconds: float, seed: int, corpus: Path) -> int:
    import atheris  # noqa: PLC0415 - not everywhere

    with atheris.instrument_imports(include=["continuity", "continuity_cli", "continuity_labels"]):
        fed = Fed(name)
    from tests.fuzzing.spoiling import spoilt  # noqa: PLC0415 - see `main`

    def mutate(data: bytes, longest: int, its_seed: int) -> bytes:
        chance = random.Random(its_seed)
        if chance.random() < 0.5:
            return atheris.Mutate(data, longest)
        return spoilt([data, chance.choice(fed.sound)], chance, longest)

    for data in fed.sound:
        (corpus / sha256(data).hexdigest()[:16]).write_bytes(data)
    flags = [f"-max_total_time={int(seconds)}", f"-seed={seed % 2**32}", "-print_final_stats=1"]
    flags += [f"-max_len={fed.longest}", "-rss_limit_mb=0", "-timeout=60"]
    atheris.Setup([sys.argv[0], str(corpus), *flags], fed, custom_mutator=mutate)
    atheris.Fuzz()  # ends the process itself
    return 0


if __name__ == "__main__":
    sys.exit(main())
