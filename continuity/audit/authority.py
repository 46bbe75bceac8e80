"""Who may sign at which position, as an audit reads it from the register's own chain.

The keys are folded first, from every entry of the register's own chain that changes them; whether
each of those entries truly stands where it claims is found out when all entries are gone through.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from continuity.audit.report import Finding, own_word
from continuity.errors import FormatError
from continuity.ledger.chain import check_signatures, read_entry
from continuity.ledger.keyring import (
    KEY_KINDS,
    REGISTER_CASE,
    REGISTER_ROLE,
    Enrolment,
    Keyring,
    KeyringError,
)
from continuity.ledger.keys import VerifyKey

if TYPE_CHECKING:
    from collections.abc import Iterable

    from continuity.audit.trust import Trust
    from continuity.store.protocol import Reads, Stored


@dataclass(frozen=True)
class Authority:
    """Every key of a register with the positions it is valid at; small enough to hand around.

    Attributes:
        enrolments: The keys, in the order in which they were enrolled.
        read: Positions of the entries that were looked at for it.
    """

    enrolments: tuple[Enrolment, ...]
    read: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        by_reference = {one.key.reference: one for one in self.enrolments}
        object.__setattr__(self, "_by_reference", by_reference)

    def find(self, reference: str) -> Enrolment | None:
        """Give what is known of a key."""
        found: Enrolment | None = self._by_reference.get(reference)  # type: ignore[attr-defined]
        return found

    def register_keys(self) -> tuple[Enrolment, ...]:
        """The keys that sign checkpoints, in order."""
        return tuple(one for one in self.enrolments if one.role == REGISTER_ROLE)

    def __reduce__(self) -> tuple[object, ...]:
        # Public keys cannot be pickled; their texts can, and another process reads them again.
        rows = tuple(
            (str(one.key), one.person, one.role, one.since, one.until, one.suspect_since)
            for one in self.enrolments
        )
        return _again, (rows,)


def _again(
    rows: Iterable[tuple[str, str, str, int, int | None, int | None]],
) -> Authority:
    return Authority(tuple(Enrolment(VerifyKey.parse(vkey), *rest) for vkey, *rest in rows))  # type: ignore[arg-type]


def read_authority(reads: Reads) -> tuple[Authority, list[Finding]]:
    """Fold the register's keys, and tell which entries changed them as they may not."""
    return fold_authority(reads.entries(REGISTER_CASE))


def fold_authority(rows: Iterable[Stored]) -> tuple[Authority, list[Finding]]:
    """Fold the keys of entries in the order of their positions; `read_authority` finds them.

    Which entries change keys is read from their bytes: the kind a row is filed under can lie.
    """
    keyring = Keyring()
    findings = []
    read = set()
    for row in rows:
        read.add(row.position)
        try:
            entry, note = read_entry(row.note)
            if entry.kind not in KEY_KINDS:
                continue
            check_signatures(entry, note, keyring.keys_for(row.position, entry))
        except (FormatError, TypeError):
            continue  # found again, and named, when the entry's turn comes
        try:
            keyring.apply(row.position, entry)
        except KeyringError as error:
            findings.append(
                Finding("keys-broken", str(error), row.position, entry.case, entry.number)
            )
    return Authority(keyring.enrolments(), frozenset(read)), findings


def pinned(register: str, authority: Authority, trust: Trust) -> tuple[bool, str, list[Finding]]:
    """Hold what the register says of itself against what was given from outside.

    Returns:
        Whether it is pinned, what the verdict rests on, and what does not fit.
    """
    keys = [one.key for one in authority.register_keys()]
    findings = []
    origin = trust.pinned_origin
    if origin is not None and origin != register:
        sentence = f"The register calls itself {register}, and {origin} was expected."
        findings.append(Finding("not-the-pinned-register", sentence, 0))
    if trust.register_key is None:
        shown = keys[0].reference if keys else "none"
        return False, own_word(shown, "register"), findings
    if trust.register_key not in keys:
        sentence = f"The key given, {trust.register_key.reference}, never was this register's."
        findings.append(Finding("not-the-pinned-key", sentence, 0))
    return True, f"register key {trust.register_key.reference}, given from outside", findings
