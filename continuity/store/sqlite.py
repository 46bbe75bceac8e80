"""A register in two SQLite files: the record, and beside it the personal details.

Two files, because details must be erasable to the last byte and the record must never be rewritten.
"""

# ruff: noqa: D102 - the protocol says what each method promises

from __future__ import annotations

from contextlib import closing, contextmanager
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Self

from continuity.errors import DamagedRegisterError, MissingRegisterError, RegisterError
from continuity.store import schema, soundness
from continuity.store.database import Database, make_file, remove_file
from continuity.store.protocol import Store
from continuity.store.reads import SqliteReads
from continuity.store.transaction import SqliteTransaction

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping

    from continuity.store.protocol import Head, LabelRow

WAIT = 10.0  # seconds


def personal_path(path: Path) -> Path:
    """Where the personal details of the register at `path` lie."""
    return path.with_name(f"{path.name}.personal")


class SqliteStore(SqliteReads, Store):
    """A register on this machine's disk; see `protocol.Store` for what each method promises.

    Use it in the thread that opened it.
    """

    schema_version = schema.VERSION
    _transaction: SqliteTransaction | None = None

    @classmethod
    def open(cls, path: Path | str, *, wait: float = WAIT) -> Self:
        """Open an existing register, bringing an older layout up to this version's.

        Args:
            path: The register's file; its personal details lie at `personal_path(path)`.
            wait: Seconds to wait for another program's lock before giving up.

        Raises:
            MissingRegisterError: One of the two files is not there.
            DamagedRegisterError: They are not a register's, or contradict themselves.
            NewerRegisterError: A later version of this program laid them out.
            LockedRegisterError: Another program held them for longer than `wait`.
            RegisterError: They cannot be used for another reason.
        """
        path = Path(path)
        main = Database(path, wait)
        schema.check(main, schema.REGISTER)
        try:
            personal = Database(personal_path(path), wait)
        except MissingRegisterError as error:
            raise MissingRegisterError(
                f"The personal details that belong beside {path} are missing; restore "
                f"{personal_path(path)} from the same backup."
            ) from error
        personal.run("PRAGMA secure_delete = ON")
        schema.check(personal, schema.PERSONAL)
        head = main.row("SELECT register FROM head")
        if head is None or personal.row("SELECT register FROM owner") != head:
            raise DamagedRegisterError(
                f"{personal.path} belongs to another register than {path}; restore the two files "
                "from the same backup."
            )
        store = cls(main, personal, head[0])
        store.migrate()
        return store

    @classmethod
    def create(cls, path: Path | str, register: str, *, wait: float = WAIT) -> Self:
        """Make a new, empty register; the only way one comes into being.

        Raises:
            InputError: Something already stands at the path of one of its two files.
            RegisterError: They cannot be made.
        """
        path = Path(path)
        with _made(path, personal_path(path)):
            for place, layout in (
                (personal_path(path), schema.PERSONAL),
                (path, schema.REGISTER),
            ):
                database = Database(place, wait)
                schema.lay_out(database, layout, register)
                database.close()
            return cls.open(path, wait=wait)

    @property
    def path(self) -> Path:
        """The register's file."""
        return self._main.path

    @contextmanager
    def writing(self) -> Iterator[SqliteTransaction]:
        self._must_not_be_writing()
        transaction = SqliteTransaction(self._main, self._personal, self._register)
        self._transaction = transaction
        try:
            transaction.begin()
            yield transaction
            transaction.commit()
        finally:
            self._transaction = None
            transaction.end()

    def erase(self, positions: Iterable[int], fields: Collection[str] = ()) -> int:
        # Orphans too: one may hold the very words that are to go.
        erased = self._delete(positions, fields)
        self._personal.shed()
        return erased

    def sweep(self) -> int:
        swept = self._delete(())
        if swept:
            self._personal.shed()
        return swept

    def rebuild(
        self,
        labels: Iterable[LabelRow] | None = None,
        names: Mapping[str, str] | None = None,
    ) -> None:
        with self.writing() as transaction:
            kept = {case.case_id: case.name for case in self.cases()} if names is None else names
            heads = self._main.rows(soundness.CASE_HEADS)
            self._main.run("DELETE FROM case_head")
            self._main.run("DELETE FROM case_index")
            for case_id, length, _, leaf, position in heads:
                digest = sha256(case_id.encode()).digest()
                self._main.run(
                    "INSERT INTO case_head VALUES (?, ?, ?, ?, ?, ?)",
                    (case_id, digest, kept.get(case_id), length, leaf, position),
                )
            if labels is not None:
                self._main.run("DELETE FROM label")
                for row in labels:
                    transaction.put_label(row.code, row.case_id, row.thing, row.print)

    def integrity(self) -> list[str]:
        return soundness.problems(self._main, self._personal)

    def backup(self, target: Path | str) -> Head:
        self._must_not_be_writing()
        target = Path(target)
        with _made(target, personal_path(target)):
            with self._at_one_moment() as (main, personal):
                main.copy_to(target)
                personal.copy_to(personal_path(target))
            with type(self).open(target, wait=self._main.wait) as copy:
                return soundness.copied(copy)

    def migrate(self) -> None:
        for database, layout in (
            (self._main, schema.REGISTER),
            (self._personal, schema.PERSONAL),
        ):
            schema.bring_up(database, layout)

    def close(self) -> None:
        self._main.close()
        self._personal.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exception: object) -> None:
        self.close()

    @contextmanager
    def _at_one_moment(self) -> Iterator[tuple[Database, Database]]:
        """Both files seen as they are at one moment, while others go on writing.

        Nobody writes either without the record's lock: under it the two belong together. An
        erasure that fell between two copies would leave entries whose details are gone unerased.
        """
        wait = self._main.wait
        with (
            closing(Database(self.path, wait)) as main,
            closing(Database(self._personal.path, wait)) as personal,
        ):
            self._main.begin()
            try:
                main.look()
                personal.look()
            finally:
                self._main.roll_back()
            yield main, personal

    def _delete(self, positions: Iterable[int], fields: Collection[str] = ()) -> int:
        self._must_not_be_writing()
        # The record's lock comes first, as in every writing, so that no other program stands
        # between committing a detail and committing the entry it belongs to.
        with self._main.writing(), self._personal.writing():
            orphans = [
                leaf
                for leaf in self._personal.rows("SELECT DISTINCT leaf FROM disclosure")
                if self._main.row("SELECT 1 FROM entry WHERE leaf = ?", leaf) is None
            ]
            delete = "DELETE FROM disclosure WHERE leaf = ?"
            erased = sum(self._personal.run(delete, leaf).rowcount for leaf in orphans)
            if fields:
                delete += f" AND field IN ({', '.join('?' * len(fields))})"
            for position in set(positions):
                for leaf in self._main.rows(
                    "SELECT leaf FROM entry WHERE position = ?", (position,)
                ):
                    erased += self._personal.run(delete, (*leaf, *fields)).rowcount
            return erased

    def _must_not_be_writing(self) -> None:
        if self._transaction is not None:
            raise RegisterError(f"A change to {self.path} is still under way; end it first.")


@contextmanager
def _made(*paths: Path) -> Iterator[None]:
    """Make empty files to be filled within, and leave none of them behind a failure."""
    made: list[Path] = []
    try:
        for path in paths:
            make_file(path)
            made.append(path)
        yield
    except BaseException:
        for path in made:
            remove_file(path)
        raise
