"""What an auditor brings along: keys, checkpoints and authorities that the register cannot change.

A verdict rests on these and on nothing the register says of itself. Without them the register's
own first entry is believed, and the report says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from continuity.errors import FormatError
from continuity.ledger.checkpoint import CosignerKey
from continuity.ledger.keys import VerifyKey

if TYPE_CHECKING:
    from datetime import timedelta

MAX_POLICY_BYTES = 65_535
MAX_WITNESSES = 100


@dataclass(frozen=True)
class Held:
    """A signed checkpoint that was kept outside the register.

    Attributes:
        note: Its exact bytes.
        by: Who kept it.
        how: How: `held-checkpoint`, `guard` or `receipt`.
    """

    note: bytes
    by: str
    how: str = "held-checkpoint"


@dataclass(frozen=True)
class Trust:
    """What a verdict may rest on.

    Attributes:
        register_key: One of the register's own keys; its name is the register's origin. None takes
            the key from the register itself, and the report says that nothing is pinned.
        origin: The register's id, where it is not the key's name.
        held: Checkpoints kept outside.
        witnesses: Keys whose cosignatures count.
        quorum: How many different witnesses must have cosigned one checkpoint.
        authorities: Root certificates of time-stamping authorities, PEM or DER.
        max_age: How old the last sighting from outside may be before the register counts as stale.
    """

    register_key: VerifyKey | None = None
    origin: str | None = None
    held: tuple[Held, ...] = ()
    witnesses: tuple[CosignerKey, ...] = ()
    quorum: int = 0
    authorities: tuple[bytes, ...] = ()
    max_age: timedelta | None = None

    @property
    def pinned_origin(self) -> str | None:
        """The origin given, or the name of the key given."""
        if self.origin is not None or self.register_key is None:
            return self.origin
        return self.register_key.name

    @classmethod
    def from_policy(cls, text: str) -> Trust:
        """Read a policy text as C2SP tlog-policy writes it (no release yet; read 2026-07).

        One `log <vkey>` line; `witness <name> <vkey> [url]` lines; at most one level of `group
        <name> all|any|<k> <witnesses…>`; and one `quorum <name>|none`.

        Raises:
            FormatError: Not such a text, or more than is understood here: nothing is passed over.
        """
        return _Policy(text).trust()


class _Policy:
    def __init__(self, text: str) -> None:
        if len(text.encode(errors="replace")) > MAX_POLICY_BYTES:
            raise FormatError(f"The policy is longer than {MAX_POLICY_BYTES} bytes.")
        self._log: VerifyKey | None = None
        self._witnesses: dict[str, CosignerKey] = {}
        self._groups: dict[str, tuple[int, tuple[str, ...]]] = {}
        self._quorum: str | None = None
        for line in text.split("\n"):
            words = line.split()
            if words and not words[0].startswith("#"):
                self._read(words, line)

    def _read(self, words: list[str], line: str) -> None:
        match words:
            case ["log", vkey] | ["log", vkey, _] if self._log is None:
                self._log = VerifyKey.parse(vkey)
            case ["witness", name, vkey] | ["witness", name, vkey, _] if self._is_new(name):
                self._witnesses[name] = CosignerKey.parse(vkey)
            case ["group", name, count, *names] if self._is_new(name) and names:
                self._groups[name] = self._group(count, names, line)
            case ["quorum", name] if self._quorum is None:
                if name != "none" and self._is_new(name):
                    raise FormatError(
                        f"The policy's quorum names {name}, which it does not define."
                    )
                self._quorum = name
            case _:
                raise FormatError(f"The policy's line {line[:80]!r} is not understood.")
        if len(self._witnesses) > MAX_WITNESSES:
            raise FormatError(f"The policy names more than {MAX_WITNESSES} witnesses.")

    def _is_new(self, name: str) -> bool:
        return name not in self._witnesses and name not in self._groups

    def _group(self, count: str, names: list[str], line: str) -> tuple[int, tuple[str, ...]]:
        members = tuple(dict.fromkeys(names))
        if len(members) != len(names) or not set(members) <= self._witnesses.keys():
            raise FormatError(f"The policy's line {line[:80]!r} names others than witnesses above.")
        needed = {"all": str(len(members)), "any": "1"}.get(count, count)
        if needed not in {str(number) for number in range(1, len(members) + 1)}:
            raise FormatError(f"The policy's line {line[:80]!r} asks for a number it cannot reach.")
        return int(needed), members

    def trust(self) -> Trust:
        if self._log is None or self._quorum is None:
            raise FormatError("The policy needs a log line and a quorum line.")
        witnesses, needed = tuple(self._witnesses.values()), 0
        if self._quorum in self._witnesses:
            witnesses, needed = (self._witnesses[self._quorum],), 1
        elif self._quorum != "none":
            needed, members = self._groups[self._quorum]
            witnesses = tuple(self._witnesses[name] for name in members)
        return Trust(register_key=self._log, witnesses=witnesses, quorum=needed)
