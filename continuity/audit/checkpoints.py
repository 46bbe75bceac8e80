"""Checkpoints against the tree that was built again from the entries' bytes.

Those the register keeps, and those kept outside. A checkpoint is signed by the register key valid
at its size; two that contradict each other, both signed, prove by themselves that somebody with
the register's key showed two registers.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from typing import TYPE_CHECKING

from continuity.audit import anchors
from continuity.audit.report import Anchor, Finding
from continuity.errors import FormatError
from continuity.ledger import note as notes
from continuity.ledger.checkpoint import Checkpoint
from continuity.ledger.keyring import REGISTER_ROLE
from continuity.ledger.note import Note, SignatureError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from continuity.audit.authority import Authority
    from continuity.audit.findings import Findings
    from continuity.audit.trust import Held, Trust
    from continuity.store.protocol import CheckpointRow, Reads


def read_held(trust: Trust) -> tuple[tuple[Held, Note, Checkpoint], ...]:
    """Read the checkpoints that were kept outside.

    Raises:
        FormatError: One is not a checkpoint at all, so it can show nothing.
    """
    read = []
    for held in trust.held:
        note = Note.parse(held.note)
        read.append((held, note, Checkpoint.parse(note.text)))
    return tuple(read)


def brought_along(trust: Trust, held: Iterable[tuple[Held, Note, Checkpoint]]) -> Iterator[str]:
    """What a verdict takes as given beside the register's key, a sentence each."""
    for one, _, checkpoint in held:
        yield f"a checkpoint of size {checkpoint.size} kept by {one.by}"
    for key in trust.witnesses:
        yield f"witness {key.reference}"
    if trust.authorities:
        yield f"{len(trust.authorities)} time-stamping authorities given"


class Checkpoints:
    """Judges checkpoints of one register.

    Args:
        register: The register's id, which must be the checkpoints' origin.
        authority: The register's keys.
        trust: What was given from outside.
        size: How many entries there are.
        roots: The roots built again, by size.
        lost_at: Where the tree could be built no further, if it could not: of larger checkpoints
            nothing can be said.
    """

    def __init__(  # noqa: PLR0917 - all it takes to judge
        self,
        register: str,
        authority: Authority,
        trust: Trust,
        size: int,
        roots: Mapping[int, bytes],
        lost_at: int | None,
    ) -> None:
        self._register = register
        self._authority = authority
        self._trust = trust
        self._size = size
        self._roots = roots
        self._lost_at = size if lost_at is None else lost_at
        self.signed: dict[int, tuple[int, Note]] = {}
        self._sizes: list[int] = []  # those signed, in order

    def kept(self, row: CheckpointRow) -> Iterator[Finding]:
        """Judge one that the register keeps."""
        try:
            note = Note.parse(row.note)
            found = Checkpoint.parse(note.text)
        except (FormatError, TypeError) as error:
            sentence = f"The checkpoint kept of size {row.size} cannot be read: {error}"
            yield Finding("checkpoint-malformed", sentence)
            return
        where = f"The checkpoint of size {found.size}"
        if (found.size, found.root) != (row.size, row.root) or found.origin != self._register:
            yield Finding("checkpoint-malformed", f"{where} is not the one it is kept as.")
            return
        if not self._signed(note, found.size):
            yield Finding("checkpoint-signature", f"{where} bears no valid register key.")
        elif found.size > self._size:
            sentence = f"{where} was signed, and only {self._size} entries are there."
            yield Finding("shorter-than-checkpoint", sentence, self._size)
        elif found.size > self._lost_at:
            return
        elif self._roots.get(found.size) != found.root:
            sentence = f"{where} states another root than its entries have."
            yield Finding("checkpoint-differs", sentence, self.sound_below(found.size))
        else:
            self.signed[found.size] = (found.size, note)
            insort(self._sizes, found.size)

    def held(self, held: Held, note: Note, found: Checkpoint) -> Iterator[Finding | Anchor]:
        """Judge one that was kept outside."""
        where = f"The checkpoint of size {found.size} that {held.by} kept"
        if found.origin != self._register:
            yield Finding("not-the-pinned-register", f"{where} is of register {found.origin}.")
        elif not self._signed(note, found.size):
            yield Finding("checkpoint-signature", f"{where} bears no key of this register.")
        elif found.size > self._size:
            sentence = f"{where} is not reached: only {self._size} entries are there."
            yield Finding("shorter-than-held", sentence, self._size)
        elif found.size > self._lost_at:
            return
        elif self._roots.get(found.size) != found.root:
            first = self.sound_below(found.size)
            yield Finding("rewritten", f"{where} is not continued by this register.", first)
            if found.size in self.signed:
                sentence = f"{where} and the one here are both signed, and contradict each other."
                yield Finding("forked", sentence, first)
        else:
            yield Anchor(found.size, held.how, held.by)

    def judge_all(
        self,
        rows: Iterable[CheckpointRow],
        held: Iterable[tuple[Held, Note, Checkpoint]],
        reads: Reads,
        findings: Findings,
    ) -> Iterator[Anchor]:
        """Judge the checkpoints kept here and outside, and what others said of the sound ones.

        Yields:
            What anchors the record; what does not fit goes into `findings`.
        """
        for row in rows:
            findings.extend(self.kept(row))
        sound = list(self.signed.values())
        for one, note, checkpoint in held:
            for found in self.held(one, note, checkpoint):
                if isinstance(found, Anchor):
                    sound.append((checkpoint.size, note))
                    yield found
                else:
                    findings.add(found)
        for size, note in sound:
            for found in anchors.judge(note, size, reads.cosignatures(size), self._trust):
                if isinstance(found, Anchor):
                    yield found
                else:
                    findings.add(found)

    def sound_below(self, size: int) -> int:
        """The largest sound checkpoint below a size: what was altered stands after it."""
        below = bisect_left(self._sizes, size)
        return self._sizes[below - 1] if below else 0

    def _signed(self, note: Note, size: int) -> bool:
        # Only the keys it claims are looked up: else many keys and many checkpoints would multiply.
        claimed = map(self._authority.find, dict.fromkeys(s.reference for s in note.signatures))
        found = [one for one in claimed if one is not None and one.role == REGISTER_ROLE]
        keys = [one.key for one in found if one.valid_at(size - 1)]
        pin = self._trust.register_key
        if size > self._size and not keys and pin is not None:
            keys = [pin]  # its own key may have been enrolled among the entries that are gone
        try:
            return bool(notes.verify(note, keys))
        except SignatureError:
            return False
