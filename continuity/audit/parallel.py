"""Work on all of the machine's processors, in order, with little of it held at once."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections import deque
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Any, Self, TypeVar

from continuity.store.sqlite import SqliteStore

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from concurrent.futures import Future

    from continuity.audit.authority import Authority
    from continuity.store.protocol import Reads, Store

WORTH_IT = 20_000
"""Fewer entries than this are done before other processes have started."""

AHEAD = 4
"""Jobs handed out beyond those done, for each process."""

Job = TypeVar("Job")
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Desk:
    """What one process works with: the register, opened by itself, and its keys."""

    reads: Reads
    authority: Authority


class Workers:
    """Processes that check parts of a register; with one, this process does it.

    Args:
        store: The open register. Each process opens it again.
        authority: Its keys.
        entries: How many entries there are to check.
        processes: How many; None takes as many as the machine has, where it is worth it.
    """

    def __init__(
        self, store: Store, authority: Authority, entries: int, processes: int | None
    ) -> None:
        if processes is None:
            processes = _processors() if entries >= WORTH_IT else 1
        self.desk = Desk(store, authority)
        self._count = processes
        self._pool: ProcessPoolExecutor | None = None
        if processes > 1 and isinstance(store, SqliteStore):
            # A forked child would share this one's open database; a spawned one opens its own.
            context = multiprocessing.get_context("spawn")
            given = (os.fspath(store.path), authority)
            self._pool = ProcessPoolExecutor(processes, context, _begin, given)

    @property
    def alone(self) -> bool:
        """Whether there is no other process."""
        return self._pool is None

    def map(self, work: Callable[[Desk, Job], Result], jobs: Iterable[Job]) -> Iterator[Result]:
        """Do each job, and give the results in the jobs' order; here, if nobody else can.

        `work` must be a function of a module, so that another process finds it by its name.
        """
        if self._pool is None:
            for job in jobs:
                yield work(self.desk, job)
            return
        left = iter(jobs)
        waiting = deque((job, self._hand_out(work, job)) for job in self._some(left))
        while waiting:
            job, future = waiting.popleft()
            try:
                found = future.result() if future else work(self.desk, job)
            except BrokenProcessPool:
                found = work(self.desk, job)
            yield found
            waiting.extend((job, self._hand_out(work, job)) for job in islice(left, 1))

    def _some(self, jobs: Iterator[Job]) -> Iterator[Job]:
        return islice(jobs, AHEAD * self._count)

    def _hand_out(self, work: Callable[[Desk, Job], Result], job: Job) -> Future[Result] | None:
        """Give a job to another process; None once one was killed, for want of memory say."""
        try:
            return self._pool.submit(_do, work, job) if self._pool else None
        except BrokenProcessPool:
            return None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exception: object) -> None:
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)


_desk: Desk


def _begin(path: str, authority: Authority) -> None:
    global _desk  # noqa: PLW0603 - what one process works with for as long as it lives
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the process that asked sees to interrupts
    _desk = Desk(SqliteStore.open(path), authority)


def _do(work: Callable[[Desk, Any], Any], job: Any) -> Any:
    return work(_desk, job)


def _processors() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
