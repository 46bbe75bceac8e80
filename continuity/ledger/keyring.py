"""Which key is valid at which position, as the register's own chain says.

Keys are enrolled, replaced and revoked by entries in the chain of case `register`. Validity is by
position in the tree, never by clock: a key is good from the entry that enrols it to the entry that
ends it. Retired is not compromised: a revocation may say from which position on to doubt a key.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ClassVar

from continuity.errors import FormatError
from continuity.ledger.keys import VerifyKey

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from continuity.ledger.chain import Entry

REGISTER_CASE = "register"
"""The case id of the register's own chain."""

KEY_KINDS = ("register-started", "key-enrolled", "key-replaced", "key-revoked")
"""The kinds of entry that change the keyring, in the register's own chain alone."""

ROLES = frozenset({"director", "mortician", "assistant", "auditor", "station", "witness"})
"""What a key may be enrolled for."""

REGISTER_ROLE = "register"
"""The role of the keys that sign checkpoints; only start and replacement give it."""


class KeyringError(FormatError):
    """An entry was not allowed to those who signed it, or changes keys as it may not."""


@dataclass(frozen=True)
class Enrolment:
    """One key's time in the register.

    Attributes:
        key: The public key.
        person: Whose key it is: a person's, station's or witness's id.
        role: One of `ROLES`, or `register`.
        since: Position of the entry that enrolled it.
        until: Position of the entry that replaced or revoked it; None while it is valid.
        suspect_since: First position at which its signatures are in doubt, if it was compromised.
    """

    key: VerifyKey
    person: str
    role: str
    since: int
    until: int | None = None
    suspect_since: int | None = None

    def valid_at(self, position: int) -> bool:
        """Tell whether the key may sign the entry at a position: its first and last included."""
        return self.since <= position and (self.until is None or position <= self.until)


class Keyring:
    """The keys of one register, folded from its own chain entry by entry.

    The signatures of an entry are checked apart (`chain.check_signatures` with `keys_for`), and
    before it is applied: `apply` takes them as proven and judges what they allow.
    """

    def __init__(self) -> None:
        self._enrolments: dict[str, Enrolment] = {}
        # Beside them, so that each entry costs the same however many keys there are.
        self._used: set[bytes] = set()
        self._name_of: dict[str, str] = {}
        self._standing: Counter[str] = Counter()
        self._register = ""
        self._position = -1

    @classmethod
    def fold(cls, entries: Iterable[tuple[int, Entry]]) -> Keyring:
        """Build the keyring of entries in the order of their positions.

        Raises:
            KeyringError: As `apply`.
        """
        keyring = cls()
        for position, entry in entries:
            keyring.apply(position, entry)
        return keyring

    def apply(self, position: int, entry: Entry) -> None:
        """Take the entry at a position: its signers must be valid there, its act theirs to do.

        Entries of any case may be given; those of other chains, and of other kinds, change nothing.

        Raises:
            KeyringError: A signer is not valid at the position, the act is not allowed to the
                signers, a new key did not sign (proof of possession), or a key or name is used
                a second time. The keyring is then as it was.
        """
        if position <= self._position:
            raise KeyringError(f"Position {position} comes after position {self._position}.")
        act = self._acts.get(entry.kind) if entry.case == REGISTER_CASE else None
        if not self._enrolments:
            if entry.kind != "register-started" or act is None:
                raise KeyringError("The register's own chain does not begin with its start.")
            self._register = entry.register
        if entry.register != self._register:
            raise KeyringError(f"{_at(position)} is of another register, {entry.register}.")
        introduced = _introduced(entry)
        for reference in entry.signers:
            if self.key(reference, position) is None and reference not in introduced:
                raise KeyringError(f"{_at(position)} is signed by {reference}, not valid there.")
        if act is not None:
            act(self, position, entry)
        self._position = position

    def key(self, reference: str, position: int) -> VerifyKey | None:
        """Give the key of a reference if it may sign the entry at a position."""
        enrolment = self._enrolments.get(reference)
        return enrolment.key if enrolment is not None and enrolment.valid_at(position) else None

    def keys_for(self, position: int, entry: Entry) -> Callable[[str], VerifyKey | None]:
        """Give what `check_signatures` asks for keys: those valid, and the one the entry brings.

        Raises:
            KeyringError: The entry brings a key whose text is not sound.
        """
        introduced = _introduced(entry)
        return lambda reference: self.key(reference, position) or introduced.get(reference)

    def enrolment(self, reference: str) -> Enrolment | None:
        """Give all that is known of a key, valid or not."""
        return self._enrolments.get(reference)

    def enrolments(self) -> tuple[Enrolment, ...]:
        """Give all keys ever enrolled, in order."""
        return tuple(self._enrolments.values())

    def person_of(self, reference: str) -> str | None:
        """Tell whose key it is, valid or not; None for a key never enrolled."""
        enrolment = self._enrolments.get(reference)
        return None if enrolment is None else enrolment.person

    def role_of(self, reference: str) -> str | None:
        """Tell what a key is or was enrolled for; None for a key never enrolled."""
        enrolment = self._enrolments.get(reference)
        return None if enrolment is None else enrolment.role

    def roles(self, position: int) -> dict[str, str]:
        """Give the role of every key valid at a position, by reference."""
        return {
            reference: enrolment.role
            for reference, enrolment in self._enrolments.items()
            if enrolment.valid_at(position)
        }

    def register_keys(self) -> tuple[VerifyKey, ...]:
        """Give the keys that ever signed checkpoints, in order; the last is the present one."""
        return tuple(e.key for e in self._enrolments.values() if e.role == REGISTER_ROLE)

    def suspect(self, reference: str, position: int) -> bool:
        """Tell whether a signature at a position is in doubt, because the key was compromised."""
        enrolment = self._enrolments.get(reference)
        return (
            enrolment is not None
            and enrolment.suspect_since is not None
            and enrolment.suspect_since <= position
        )

    def _start(self, position: int, entry: Entry) -> None:
        if position or entry.number or self._enrolments:
            raise KeyringError(f"{_at(position)} starts a register that has begun already.")
        register_key = _key(entry, "register_key", position)
        key = _key(entry, "key", position)
        if set(entry.signers) != {register_key.reference, key.reference}:
            raise KeyringError("The register's start is not signed by its key and the director's.")
        if _text(entry, "role", position) != "director":
            raise KeyringError("The first person's key is not enrolled as a director's.")
        if register_key.raw == key.raw or register_key.name == key.name:
            raise KeyringError("The register and its director may not share a key or its name.")
        self._enrol(Enrolment(key, _person(entry, position), "director", position))
        self._enrol(Enrolment(register_key, REGISTER_ROLE, REGISTER_ROLE, position))

    def _enrol_key(self, position: int, entry: Entry) -> None:
        key = _key(entry, "key", position)
        person = _person(entry, position)
        role = _text(entry, "role", position)
        if role not in ROLES:
            raise KeyringError(f"{_at(position)} enrols a key for {role!r}, which is no role.")
        self._check_possession(key, position, entry)
        self._check_director(position, entry)
        self._check_fresh(key, person, position)
        self._enrol(Enrolment(key, person, role, position))

    def _replace_key(self, position: int, entry: Entry) -> None:
        key = _key(entry, "key", position)
        old = self._enrolments.get(_text(entry, "replaces", position))
        if old is None or old.until is not None:
            raise KeyringError(f"{_at(position)} replaces a key that is not valid.")
        self._check_possession(key, position, entry)
        if old.key.reference not in entry.signers:
            self._check_director(position, entry)
        self._check_fresh(key, old.person, position)
        self._enrol(replace(old, until=position))
        self._enrol(Enrolment(key, old.person, old.role, position))

    def _revoke_key(self, position: int, entry: Entry) -> None:
        reference = _text(entry, "key", position)
        _text(entry, "reason", position)
        old = self._enrolments.get(reference)
        if old is None:
            raise KeyringError(f"{_at(position)} revokes {reference}, which was never enrolled.")
        self._check_director(position, entry)
        if old.until is None and not self._another_holds(old):
            raise KeyringError(
                f"{_at(position)} revokes the last {old.role} key; replace it instead."
            )
        doubts = [old.suspect_since, _doubted_since(old, position, entry)]
        self._enrol(
            replace(
                old,
                until=position if old.until is None else old.until,
                suspect_since=min((d for d in doubts if d is not None), default=None),
            )
        )

    _acts: ClassVar[dict[str, Callable[[Keyring, int, Entry], None]]] = {
        "register-started": _start,
        "key-enrolled": _enrol_key,
        "key-replaced": _replace_key,
        "key-revoked": _revoke_key,
    }

    def _enrol(self, enrolment: Enrolment) -> None:
        old = self._enrolments.get(enrolment.key.reference)
        self._standing[enrolment.role] += (enrolment.until is None) - (
            old is not None and old.until is None
        )
        self._enrolments[enrolment.key.reference] = enrolment
        self._used.add(enrolment.key.raw)
        self._name_of[enrolment.key.name] = enrolment.person

    def _another_holds(self, old: Enrolment) -> bool:
        """Without a director's or a register's key, no key could ever be enrolled again."""
        return old.role not in ("director", REGISTER_ROLE) or self._standing[old.role] > 1

    def _check_director(self, position: int, entry: Entry) -> None:
        # That every signer is valid here was judged before the act.
        if not any(self.role_of(signer) == "director" for signer in entry.signers):
            raise KeyringError(f"{_at(position)} changes keys without a director's signature.")

    def _check_possession(self, key: VerifyKey, position: int, entry: Entry) -> None:
        if key.reference not in entry.signers:
            raise KeyringError(f"{_at(position)} is not signed by the new key {key.reference}.")

    def _check_fresh(self, key: VerifyKey, person: str, position: int) -> None:
        """One key has one purpose, and one name never stands for two holders."""
        if key.raw in self._used or key.reference in self._enrolments:
            raise KeyringError(f"{_at(position)} enrols a key that was enrolled before.")
        holder = self._name_of.get(key.name, person)
        if holder != person:
            raise KeyringError(f"{_at(position)} gives {holder}'s key name to {person}.")


def _introduced(entry: Entry) -> dict[str, VerifyKey]:
    """The keys an entry brings into the register: they may sign it, to prove possession."""
    if entry.case != REGISTER_CASE:
        return {}
    fields = {
        "register-started": ("register_key", "key"),
        "key-enrolled": ("key",),
        "key-replaced": ("key",),
    }.get(entry.kind, ())
    keys = [_key(entry, field, None) for field in fields]
    return {key.reference: key for key in keys}


def _key(entry: Entry, field: str, position: int | None) -> VerifyKey:
    try:
        return VerifyKey.parse(_text(entry, field, position))
    except FormatError as error:
        raise KeyringError(f"{_at(position)} has no sound {field}: {error}") from None


def _text(entry: Entry, field: str, position: int | None) -> str:
    value: Any = entry.details.get(field)
    if not isinstance(value, str) or not value:
        raise KeyringError(f"{_at(position)} does not say {field}.")
    return value


def _person(entry: Entry, position: int) -> str:
    person = _text(entry, "person", position)
    if person == REGISTER_ROLE:
        raise KeyringError(f"{_at(position)} enrols a person under the register's own id.")
    return person


def _doubted_since(old: Enrolment, position: int, entry: Entry) -> int | None:
    since: Any = entry.details.get("compromised_since")
    if since is None:
        return None
    if type(since) is not int or not old.since <= since <= position:
        raise KeyringError(f"{_at(position)} doubts a key from a position it was not valid at.")
    return since


def _at(position: int | None) -> str:
    return "The entry" if position is None else f"The entry at position {position}"
