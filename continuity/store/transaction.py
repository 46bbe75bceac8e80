"""Writing to a register in SQLite: one change, whole or not at all."""

# ruff: noqa: D102 - the protocol says what each method promises

from __future__ import annotations

from hashlib import sha256

from continuity.errors import DamagedRegisterError, InputError, RegisterError
from continuity.ledger import merkle
from continuity.store.protocol import Head, Stored, Transaction
from continuity.store.reads import SqliteReads


class SqliteTransaction(SqliteReads, Transaction):
    """One change; made by `SqliteStore.writing`, dead when that ends."""

    _ended = False
    _torn = False  # a write stopped halfway, so nothing of this transaction may be committed
    _position: Head | None = None

    def append(
        self, note: bytes, case_id: str, number: int, kind: str, name: str | None = None
    ) -> Stored:
        self._must_be_whole()
        head = self._position or self.head()
        position = head.size
        leaf = merkle.leaf_hash(note)
        nodes, frontier = merkle.completed_nodes(position, leaf, head.frontier)
        if name is not None:
            self._name_must_be_free(name, case_id)
        self._torn = True
        self._move_case_head(case_id, number, leaf, position)
        if name is not None:
            self._main.run("UPDATE case_head SET name = ? WHERE case_id = ?", (name, case_id))
        self._main.run(
            "INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?)",
            (position, case_id, number, kind, note, leaf),
        )
        for node in nodes:
            self._main.run("INSERT INTO node VALUES (?, ?, ?)", node)
        self._main.run("UPDATE head SET size = ?, frontier = ?", (position + 1, b"".join(frontier)))
        self._position = Head(position + 1, tuple(frontier))
        self._torn = False
        return Stored(position, case_id, number, kind, note, leaf)

    def put_disclosure(self, position: int, field: str, text: str) -> None:
        self._must_be_whole()
        leaf = self._main.row("SELECT leaf FROM entry WHERE position = ?", (position,))
        if leaf is None:
            raise RegisterError(
                f"No entry stands at position {position} to keep a detail of; append it first."
            )
        self._torn = True
        if not self._personal.in_transaction:
            self._personal.begin()
        self._personal.run(
            "INSERT OR REPLACE INTO disclosure VALUES (?, ?, ?)", (*leaf, field, text)
        )
        self._torn = False

    def put_label(self, code: str, case_id: str, thing: str, print_number: int) -> None:
        self._must_be_whole()
        changed = self._main.run(
            "INSERT INTO label VALUES (?, ?, ?, ?) "
            "ON CONFLICT (code) DO UPDATE SET print = excluded.print "
            "WHERE case_id = excluded.case_id AND thing = excluded.thing",
            (code, case_id, thing, print_number),
        ).rowcount
        if not changed:
            raise InputError(f"Label {code} already stands for another thing; use another label.")

    def put_checkpoint(self, size: int, root: bytes, note: bytes) -> None:
        self._must_be_whole()
        kept = self._main.row("SELECT root FROM checkpoint WHERE size = ?", (size,))
        if kept is None:
            self._main.run("INSERT INTO checkpoint VALUES (?, ?, ?)", (size, root, note))
        elif kept[0] != root:
            raise DamagedRegisterError(
                f"{self._main.path} already holds a checkpoint of size {size} with another root; "
                "have the register audited before going on."
            )

    def put_bucket_roots(self, size: int, roots: bytes) -> None:
        self._must_be_whole()
        self._main.run("INSERT OR REPLACE INTO case_index VALUES (1, ?, ?)", (size, roots))

    def put_in_care(self, case_id: str, opened: int | None) -> None:
        self._must_be_whole()
        if opened is None:
            self._main.run("DELETE FROM in_care WHERE case_id = ?", (case_id,))
        else:
            self._main.run("INSERT OR REPLACE INTO in_care VALUES (?, ?)", (case_id, opened))

    def put_cosignature(self, size: int, kind: str, blob: bytes) -> None:
        self._must_be_whole()
        if self._main.row("SELECT 1 FROM checkpoint WHERE size = ?", (size,)) is None:
            raise RegisterError(f"No checkpoint of size {size} is kept here to put a word to.")
        self._main.run("INSERT OR IGNORE INTO cosignature VALUES (?, ?, ?)", (size, kind, blob))

    def begin(self) -> None:
        """Take the pen."""
        self._main.begin()

    def commit(self) -> None:
        """Make it all durable."""
        self._must_be_whole()
        # The personal file first. Two files in WAL mode cannot be committed as one
        # (sqlite.org/lang_attach.html), and if the machine stops between the two commits, a detail
        # without its entry is harmless - `sweep` removes it, nothing reads it - while an entry
        # without its detail would be a loss.
        if self._personal.in_transaction:
            self._personal.run("COMMIT")
        self._main.run("COMMIT")

    def end(self) -> None:
        """Undo what was not committed, and refuse any further writing."""
        self._ended = True
        self._personal.roll_back()
        self._main.roll_back()

    def _must_be_whole(self) -> None:
        if self._ended or self._torn:
            raise RegisterError(
                f"The change to {self._main.path} has ended or failed and cannot be added to; "
                "begin another."
            )

    def _move_case_head(self, case_id: str, number: int, leaf: bytes, position: int) -> None:
        changed = self._main.run(
            "UPDATE case_head SET length = length + 1, head = ?, position = ? "
            "WHERE case_id = ? AND length = ?",
            (leaf, position, case_id, number),
        ).rowcount
        if changed:
            return
        if number or self.case_head(case_id):
            self._torn = False  # nothing was written
            raise RegisterError(
                f"An entry numbered {number} does not follow on the last of case {case_id}; "
                "read the case again."
            )
        digest = sha256(case_id.encode()).digest()
        self._main.run(
            "INSERT INTO case_head VALUES (?, ?, NULL, 1, ?, ?)", (case_id, digest, leaf, position)
        )

    def _name_must_be_free(self, name: str, case_id: str) -> None:
        bearer = self.case_by_name(name)
        if bearer and bearer.case_id != case_id:
            raise InputError(f"Another case is already named {name}; choose another name.")
