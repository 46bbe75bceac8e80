"""Register: the one door through which anything is recorded or read.

What is acknowledged is on the disk.
"""

# Whoever scans at a door waits for this module: what recording does not need is imported where it
# is used.

from __future__ import annotations

import secrets
from contextlib import contextmanager
from typing import TYPE_CHECKING, Self

from continuity.care.acts.house import RegisterRestored, RegisterStarted
from continuity.care.entries import ERASING
from continuity.care.refusal import RefusedError
from continuity.care.things import case_of
from continuity.chains import Chains
from continuity.clock import now as the_hour
from continuity.errors import InputError, MissingRegisterError, RegisterError
from continuity.ledger.keyring import REGISTER_CASE
from continuity.recording import Receipt, Recorder, Signatory, Stamp
from continuity.store.sqlite import WAIT, SqliteStore

__all__ = ["Receipt", "RefusedError", "Register", "Signatory", "new_register_id"]

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
    from datetime import datetime
    from pathlib import Path

    from continuity.audit.guard import Guard
    from continuity.care.case import Case
    from continuity.care.closing import Verdict
    from continuity.care.counting import Count
    from continuity.care.findings.base import Neighbour
    from continuity.care.house import House
    from continuity.care.intent import Intent
    from continuity.care.plan import Task
    from continuity.care.records import Event
    from continuity.ledger.keys import SigningKey
    from continuity.publishing import Published
    from continuity.store.protocol import CheckpointRow, Store, Transaction


def new_register_id() -> str:
    """A register's id: 128 random bits under the program's own name."""
    return f"continuity-register/{secrets.token_hex(16)}"


class Register:
    """A register that is open. Use it in the thread that opened it.

    Args:
        store: where it is kept.
        clock: what tells the hour; None asks the system.
        guard: holds its last checkpoint in a second place; behind or beside it nothing is recorded.
    """

    def __init__(
        self,
        store: Store,
        clock: Callable[[], datetime] | None = None,
        guard: Guard | None = None,
    ) -> None:
        self.store = store
        self.guard = guard
        self._clock = clock or the_hour
        self._chains = Chains()

    @classmethod
    def start(
        cls,
        store: Store,
        firm: str,
        register_key: SigningKey,
        director: Signatory,
        clock: Callable[[], datetime] | None = None,
    ) -> Self:
        """Write a new register's first entry: its own key and its first director's.

        Raises:
            InputError: the store already holds entries.
        """
        register = cls(store, clock)
        act = RegisterStarted(
            firm=firm,
            register_key=str(register_key.verify_key),
            key=str(director.key.verify_key),
            person=director.person,
            role="director",
        )
        with store.writing() as pen:
            if pen.head().size:
                raise InputError("this register has already been started")
            recorder = Recorder(pen, register._chains, register._clock, set())
            now = recorder.now()
            keys = (register_key, director.key)
            recorder.write(REGISTER_CASE, act, Stamp(now, now, director.person, keys))
        return register

    @classmethod
    def create(
        cls,
        path: Path | str,
        firm: str,
        register_id: str,
        register_key: SigningKey,
        director: Signatory,
    ) -> Self:
        """Make the files of a new register and start it.

        Raises:
            InputError: something already stands at the path.
        """
        return cls.start(SqliteStore.create(path, register_id), firm, register_key, director)

    @classmethod
    def open(cls, path: Path | str, *, wait: float = WAIT, guard: Path | None = None) -> Self:
        """Open a register that exists.

        Args:
            path: the register's file.
            wait: seconds to wait for another program's lock.
            guard: the file that holds its last checkpoint in a second place, if the firm keeps one.

        Raises:
            RegisterError: it is missing, locked for too long, damaged or newer.
        """
        store = SqliteStore.open(path, wait=wait)
        if not store.head().size:
            store.close()
            raise MissingRegisterError(f"{path}: the register was never started; remove the files")
        if guard is None:
            return cls(store)
        from continuity.audit.guard import Guard  # noqa: PLC0415 - see above

        return cls(store, guard=Guard(guard))

    @property
    def id(self) -> str:
        """The register's id, which is its checkpoints' origin too."""
        return self.store.register

    def house(self, known_until: datetime | None = None) -> House:
        """Places, holders, persons, keys and policy, now or as known at a moment."""
        return self._chains.house(self.store, known_until)

    def case(
        self,
        number: str,
        *,
        known_until: datetime | None = None,
        happened_until: datetime | None = None,
    ) -> Case:
        """A case as it is, as the register knew it at a moment, or as it was at one.

        Raises:
            InputError: there is no such case.
        """
        return self._chains.by_number(self.store, number).at(known_until, happened_until)

    def case_numbers(self) -> list[str]:
        """The numbers of all cases, for a program that goes through them."""
        return sorted(head.name for head in self.store.cases() if head.name)

    def next_case_number(self, year: int) -> str:
        """A free one of a year's running numbers, `YEAR-NNNN`; the next, if none was left out."""
        free = 1
        while self.store.case_by_name(f"{year}-{free:04d}"):
            free *= 2
        taken = free // 2  # the last number known to be taken, or 0; what is free is above it
        while free - taken > 1:
            middle = (free + taken) // 2
            if self.store.case_by_name(f"{year}-{middle:04d}"):
                taken = middle
            else:
                free = middle
        return f"{year}-{free:04d}"

    def entries(self, number: str) -> list[Event]:
        """Every entry of a case in the order of its chain, struck ones too.

        Raises:
            InputError: there is no such case.
        """
        return list(self._chains.by_number(self.store, number).events)

    def thing_of_label(self, code: str) -> str | None:
        """The thing a label's code stands for, whether or not that print is still in force."""
        row = self.store.label(code)
        return row.thing if row else None

    def closing_check(
        self,
        number: str,
        *,
        known_until: datetime | None = None,
        happened_until: datetime | None = None,
    ) -> Verdict:
        """The closing check of a case, now or at a moment.

        Raises:
            InputError: there is no such case.
        """
        from continuity.care import closing  # noqa: PLC0415 - see above

        case = self.case(number, known_until=known_until, happened_until=happened_until)
        house = self.house(known_until)
        now = happened_until or known_until or self._clock()
        alike = self.alike(number, known_until=known_until, happened_until=happened_until)
        return closing.check(case, house.policy, now, house=house, neighbours=alike)

    def alike(
        self,
        number: str,
        *,
        known_until: datetime | None = None,
        happened_until: datetime | None = None,
    ) -> tuple[Neighbour, ...]:
        """The other cases in care whose decedent has the same or a similar name; most alike first.

        Of a moment it tells who was in care then. A name erased since is compared no more.

        Raises:
            InputError: there is no such case.
        """
        from continuity.neighbours import neighbours  # noqa: PLC0415 - see above

        until = {"known_until": known_until, "happened_until": happened_until}
        return neighbours(self._chains, self.store, number, **until)

    def plan(
        self,
        number: str,
        *,
        known_until: datetime | None = None,
        happened_until: datetime | None = None,
    ) -> tuple[Task, ...]:
        """The care steps a case asks for, now or at a moment; the next one first.

        Raises:
            InputError: there is no such case.
        """
        from continuity.care.plan import plan  # noqa: PLC0415 - see above

        case = self.case(number, known_until=known_until, happened_until=happened_until)
        now = happened_until or known_until or self._clock()
        return plan(case, self.house(known_until).policy, now)

    def count(self, place: str, seen: Collection[str]) -> dict[str, Count]:
        """Compare what was scanned at a place with what each case records there, by its number.

        Raises:
            InputError: a thing that was scanned is of no case here.
        """
        from continuity.care.counting import count  # noqa: PLC0415 - see above

        cases = {}
        for thing in seen:
            case = cases[case_of(thing)] = self.case(case_of(thing))
            if thing not in case.things:
                raise InputError(f"thing {thing}: no such thing in this register; check the label")
            if thing in case.associated:
                cases[case.associated[thing]] = self.case(case.associated[thing])
        for case_id, _ in self.store.in_care():
            case = self._chains.by_id(self.store, case_id).case
            cases[case.number] = case
        return count(cases.values(), place, seen)

    def personal_details(self, number: str) -> dict[int, dict[str, str]]:
        """A case's personal details that are kept, by entry number and field.

        Raises:
            InputError: there is no such case.
        """
        chain = self._chains.by_number(self.store, number)
        entries = self.store.entries(chain.case_id)
        kept = {
            stored.number: self._chains.details(self.store, stored, event.act)
            for stored, event in zip(entries, chain.events, strict=False)
        }
        return {number: details for number, details in kept.items() if details}

    def record(self, intent: Intent, signatories: Sequence[Signatory]) -> Receipt:
        """Judge an intent, and record it on the disk.

        Args:
            intent: what to record.
            signatories: who records it, first; and whoever must sign as well.

        Raises:
            InputError: it names what this register does not know, or a time that has not come.
            RefusedError: a rule of care speaks against it; nothing was recorded.
            RegisterError: the register cannot be used; nothing was recorded.
        """
        return self.record_all([intent], signatories)[0]

    def record_all(
        self, intents: Iterable[Intent], signatories: Sequence[Signatory]
    ) -> list[Receipt]:
        """Record several intents in one transaction: all of them, or none.

        What an erasure names is deleted after that; see `erase` for what it may then raise.
        """
        receipts = []
        with self._recording() as (pen, recorder):
            for intent in intents:
                self._check_guard(pen, intent)
                receipts.append(recorder.record(intent, signatories))
        for number in dict.fromkeys(r.case for r in receipts if r.act.kind == ERASING and r.case):
            try:
                self.erase(number)
            except RegisterError as error:
                error.args = (f"The erasure stands recorded and must be made good: {error}",)
                raise
        return receipts

    def erase(self, number: str) -> int:
        """Delete the personal details that a case's entries say are erased.

        Recording such an entry does so. Again is harmless: it finishes what a crash broke off, and
        erases anew what a restored backup brought back.

        Returns:
            How many details were deleted.

        Raises:
            InputError: there is no such case.
            LockedRegisterError: the entry stands, and another program's reading kept the details'
                bytes on the disk; call this again.
        """
        chain = self._chains.by_number(self.store, number)
        positions = [stored.position for stored in self.store.entries(chain.case_id)]
        deleted = 0
        for event in chain.events:
            if event.act.kind == ERASING:
                named = event.act.entries or range(event.number)
                earlier = [positions[n] for n in named if 0 <= n < event.number]
                deleted += self.store.erase(earlier, event.act.fields)
        return deleted

    def publish(self, signatories: Sequence[Signatory], register_key: SigningKey) -> Published:
        """Record the case index, and sign the checkpoint that covers it.

        Args:
            signatories: the person or station that publishes.
            register_key: the register's own key.

        Raises:
            InputError: the key is not the register's.
            RefusedError: the signatories may not publish.
            BehindGuardError: the register is behind its guard, or the guard could not be moved on.
            RegisterError: the register cannot be used; nothing was signed.
        """
        from continuity import publishing  # noqa: PLC0415 - see above

        self._must_be_own(register_key)
        with self._recording() as (pen, recorder):
            held = self.guard.check(pen) if self.guard else None
            published = publishing.publish(pen, recorder, signatories, register_key)
        self._advance_guard(held, published.checkpoint.note)
        return published

    def checkpoint(self, register_key: SigningKey) -> CheckpointRow:
        """Sign the tree as it is, without a case index; raises what `publish` does."""
        from continuity import publishing  # noqa: PLC0415 - see above

        self._must_be_own(register_key)
        with self.store.writing() as pen:
            held = self.guard.check(pen) if self.guard else None
            signed = publishing.sign_tree(pen, register_key)
        self._advance_guard(held, signed.note)
        return signed

    @contextmanager
    def _recording(self) -> Iterator[tuple[Transaction, Recorder]]:
        touched: set[str] = set()
        try:
            with self.store.writing() as pen:
                yield pen, Recorder(pen, self._chains, self._clock, touched)
        except BaseException:
            self._chains.forget(touched)
            raise

    def _check_guard(self, pen: Transaction, intent: Intent) -> None:
        """A register behind its guard records nothing but that it was restored, by two."""
        act = intent.act
        if isinstance(act, RegisterRestored):
            size = pen.head().size
            if act.size != size:
                raise InputError(f"size {act.size}: the restored copy holds {size} entries; say so")
            if self.guard is not None:
                self.guard.check_named(act.guard_size, act.guard_root)
        elif self.guard is not None:
            self.guard.check(pen)

    def _advance_guard(self, held: bytes | None, note: bytes) -> None:
        # After the commit: a guard ahead of what is on the disk would lock a sound register out. If
        # the machine stops in between, the guard lags by one checkpoint, and the next moves it on.
        if self.guard is not None:
            self.guard.advance(held, note)

    def _must_be_own(self, register_key: SigningKey) -> None:
        if str(register_key.verify_key) != self.house().register_key:
            raise InputError(f"key {register_key.reference}: not this register's present key")
