"""Checking entries on all of the machine's processors, in order, with few held at once."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections import deque
from concurrent.futures import Future, ProcessPoolExecutor
from typing import TYPE_CHECKING

from continuity.audit.entries import EntryChecker
from continuity.errors import DamagedRegisterError
from continuity.store.sqlite import SqliteStore

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.audit.authority import Authority
    from continuity.audit.entries import Checked
    from continuity.store.protocol import Reads, Store

RANGE = 512
"""Entries checked at a stretch: some 60 ms, so that an interrupt is not kept waiting."""

WORTH_IT = 20_000
"""Fewer entries than this are done before other processes have started."""

_checker: EntryChecker
_store: SqliteStore


def all_checked(
    store: Store, authority: Authority, start: int, stop: int, processes: int | None = None
) -> Iterator[Checked]:
    """Check the entries from `start` up to `stop`, in order; ends early where none are left.

    Raises:
        DamagedRegisterError: The tables cannot be read as a register's.
        RegisterError: They cannot be read.
    """
    if processes is None:
        processes = _processors() if stop - start >= WORTH_IT else 1
    if processes < 2 or not isinstance(store, SqliteStore):  # noqa: PLR2004 - one is this one
        checker = EntryChecker(store, authority)
        for begin in range(start, stop, RANGE):
            found = _check(store, checker, begin, min(begin + RANGE, stop))
            yield from found
            if not found:
                return
        return
    yield from _on_many(store, authority, start, stop, processes)


def _on_many(
    store: SqliteStore, authority: Authority, start: int, stop: int, processes: int
) -> Iterator[Checked]:
    pool = ProcessPoolExecutor(
        processes,
        # A forked child would share this one's open database; a spawned one opens its own.
        multiprocessing.get_context("spawn"),
        _begin,
        (os.fspath(store.path), authority),
    )
    begins = iter(range(start, stop, RANGE))
    waiting: deque[Future[list[Checked]]] = deque()
    try:
        for begin in begins:
            waiting.append(pool.submit(_check_range, begin, min(begin + RANGE, stop)))
            if len(waiting) > 4 * processes:
                found = waiting.popleft().result()
                yield from found
                if not found:
                    return
        while waiting:
            yield from waiting.popleft().result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _check(reads: Reads, checker: EntryChecker, begin: int, end: int) -> list[Checked]:
    try:
        return list(checker.check(reads.scan(begin, end)))
    except (TypeError, ValueError, AttributeError) as error:
        raise DamagedRegisterError(
            f"The entries from position {begin} on are not laid out as a register's ({error})."
        ) from error


def _begin(path: str, authority: Authority) -> None:
    global _checker, _store  # noqa: PLW0603 - what one process works with for as long as it lives
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the process that asked sees to interrupts
    _store = SqliteStore.open(path)
    _checker = EntryChecker(_store, authority)


def _check_range(begin: int, end: int) -> list[Checked]:
    return _check(_store, _checker, begin, end)


def _processors() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
