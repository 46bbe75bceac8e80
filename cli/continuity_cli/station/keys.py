"""The keys of whoever works at the station: unlocked by a PIN, put away after a set time.

A PIN is the passphrase of the key file that lies at the station. A short one keeps colleagues
apart; it does not keep a thief of the file out, who can try them all. Three wrong PINs shut a badge
out for a minute.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.errors import InputError, KeyFileError
from continuity.ledger.keys import is_locked, load_private
from continuity.recording import Signatory
from continuity_cli.signing import Signing

if TYPE_CHECKING:
    from pathlib import Path

_TRIES = 3
_SHUT_OUT = 60.0


class Keys:
    """The key files of a folder, and who has just tried wrong PINs.

    Args:
        folder: the folder of key files.
        pin: whether a key that is not locked is refused.
    """

    def __init__(self, folder: Path, *, pin: bool = False) -> None:
        self._files = Signing(folder, ())
        self._pin = pin
        self._wrong: dict[str, list[float]] = {}

    def locked(self, person: str) -> bool:
        """Whether the person's key wants a PIN; False also where no key can be read."""
        try:
            return is_locked(self._files.path(person))
        except InputError:
            return False

    def unlock(self, person: str, pin: str | None, now: float) -> Signatory:
        """The person's key, ready to sign.

        Args:
            person: whose.
            pin: what was typed; None for a key that is not locked.
            now: seconds on the station's own clock.

        Raises:
            InputError: too many wrong PINs, or the policy asks for one that the key has not.
            KeyFileError: missing, damaged, another's, or the PIN is wrong.
        """
        wrong = [at for at in self._wrong.get(person, []) if now - at < _SHUT_OUT]
        if len(wrong) >= _TRIES:
            raise InputError(f"three wrong PINs of {person}: wait a minute")
        if pin is None and self._pin:
            raise InputError(
                f"the policy asks for a PIN, a passphrase on the key, and that of {person} has"
                f" none: continuity enrol {person} --replace"
            )
        path = self._files.path(person)
        if not path.exists():
            raise KeyFileError(f"no key of {person} lies at this station")
        try:
            key = load_private(path, pin.encode() if pin is not None else None, person)
        except KeyFileError:
            if pin is None:
                raise
            self._wrong[person] = [*wrong, now]
            raise KeyFileError(
                f"that is not the PIN of {person}, which is the passphrase of that key"
            ) from None
        self._wrong.pop(person, None)
        return Signatory(person, key)
