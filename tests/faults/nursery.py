"""Children that begin at once: one process has everything imported, and forks for each job.

Run as a program it is that process: it is sent jobs over a socket, each with the end of a pipe
into which the child tells, line by line, what it has done.
"""

from __future__ import annotations

import json
import os
import select
import signal
import socket
import subprocess
import sys
import time
import traceback
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]
LONGEST = 65_536


@dataclass
class Child:
    """One job under way.

    Attributes:
        handle: the process itself, where a number could by now be another's (pidfd_open).
        pipe: what it tells comes out of this.
        told: what it has told.
    """

    handle: int
    pipe: IO[bytes]
    told: list[Any] = field(default_factory=list)
    _rest: bytes = b""

    def listen(self, until: float) -> bool:
        """Take in what the child tells, until a moment or its end; whether it still lives."""
        while (left := until - time.monotonic()) > 0:
            if select.select([self.pipe], [], [], left)[0] and not self._take():
                return False
        return True

    def kill(self) -> list[Any]:
        """Kill it, if it still lives, and give all that it told before."""
        with suppress(ProcessLookupError):
            signal.pidfd_send_signal(self.handle, signal.SIGKILL)
        return self.finish()

    def finish(self, within: float = 60) -> list[Any]:
        """Wait for its end, and give all that it told; half a line is none."""
        assert not self.listen(time.monotonic() + within), f"it goes on after {within} s"
        self.pipe.close()
        os.close(self.handle)
        return self.told

    def next(self, within: float = 60) -> Any:
        """The next thing it tells."""
        known = len(self.told)
        deadline = time.monotonic() + within
        lives = True
        while len(self.told) == known:
            assert time.monotonic() < deadline, "it tells nothing"
            assert lives, f"it has ended, and told {self.told}"
            lives = self.listen(min(deadline, time.monotonic() + 0.005))
        return self.told[known]

    def _take(self) -> bool:
        data = os.read(self.pipe.fileno(), LONGEST)
        *lines, self._rest = (self._rest + data).split(b"\n")
        self.told += map(json.loads, lines)
        return bool(data)


class Nursery:
    """The process that has children.

    Args:
        environment: variables set for it besides those of this process.
    """

    def __init__(self, **environment: str) -> None:
        if not hasattr(os, "pidfd_open"):
            pytest.skip("NOT TRIED: killing exactly one's own child takes Linux's pidfd_open")
        self._socket, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        self._children: list[Child] = []
        with theirs:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "tests.faults.nursery", str(theirs.fileno())],
                cwd=ROOT,
                env={**os.environ, **environment},
                pass_fds=[theirs.fileno()],
            )

    def start(self, job: str, *given: Any) -> Child:
        """Begin a job: a function of `tests.faults.deeds`, called with what tells, and this."""
        reading, writing = os.pipe()
        try:
            message = json.dumps([job, *given], default=os.fspath).encode()
            socket.send_fds(self._socket, [message], [writing])
        finally:
            os.close(writing)
        handle = os.pidfd_open(int(self._socket.recv(LONGEST)))
        child = Child(handle, os.fdopen(reading, "rb", buffering=0))
        self._children.append(child)
        return child

    def run(self, job: str, *given: Any, within: float = 60) -> list[Any]:
        """Do a job to its end, and give what it told."""
        return self.start(job, *given).finish(within)

    def clear(self) -> None:
        """Kill what a test that failed has left behind."""
        while self._children:
            child = self._children.pop()
            if not child.pipe.closed:
                child.kill()

    def close(self) -> None:
        """End it."""
        self._socket.close()
        self._process.wait(10)


def _jobs(ours: socket.socket) -> Iterator[tuple[list[Any], int]]:
    while True:
        message, descriptors, _, _ = socket.recv_fds(ours, LONGEST, 1)
        if not message:
            return
        yield json.loads(message), descriptors[0]


def _serve(descriptor: int) -> None:
    from tests.faults import deeds  # noqa: PLC0415 - the process that asks needs none of it

    with socket.socket(fileno=descriptor) as ours:
        for (job, *given), pipe in _jobs(ours):
            with suppress(ChildProcessError):
                while os.waitpid(-1, os.WNOHANG)[0]:
                    pass
            pid = os.fork()
            if not pid:
                ours.close()
                _work(getattr(deeds, job), given, pipe)
            os.close(pipe)
            ours.send(str(pid).encode())


def _work(deed: Any, given: list[Any], pipe: int) -> None:
    def tell(answer: Any) -> None:
        line = json.dumps(answer, default=str).encode() + b"\n"
        while line:
            line = line[os.write(pipe, line) :]

    status = 1
    try:
        deed(tell, *given)
        status = 0
    except BaseException:  # noqa: BLE001 - it ends here, and is told
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


if __name__ == "__main__":
    _serve(int(sys.argv[1]))
