"""Whoever signs: key files found by person, unlocked by a passphrase that no command line shows."""

from __future__ import annotations

import os
import re
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

from continuity.errors import InputError, KeyFileError
from continuity.ledger.keys import SigningKey, is_locked, load_private
from continuity.recording import Signatory

if TYPE_CHECKING:
    from pathlib import Path

REGISTER = "register"
"""The name of the register's own key file; no person bears it."""

_VARIABLE = "CONTINUITY_PASSPHRASE"
_LONGEST = 4096  # characters read of a passphrase; a key takes fewer


@dataclass(frozen=True, slots=True)
class Signing:
    """Who signs, and where their keys and passphrases are found.

    Attributes:
        folder: the folder of key files.
        persons: who records, first; then whoever signs as well.
        passphrase_files: `FILE` for every key, or `PERSON=FILE` for one person's.
    """

    folder: Path
    persons: tuple[str, ...]
    passphrase_files: tuple[str, ...] = ()

    def signatories(self) -> list[Signatory]:
        """Everybody who signs, with their keys unlocked.

        Raises:
            InputError: nobody is named, or a name is no person's.
            KeyFileError: a key file is missing, damaged, or not to be unlocked.
        """
        if not self.persons:
            raise InputError("--as: nobody is named who records this; or set CONTINUITY_PERSON")
        return [Signatory(person, self.key(person)) for person in dict.fromkeys(self.persons)]

    def path(self, person: str) -> Path:
        """The key file of a person, or the register's.

        Raises:
            InputError: the name is none that a person can bear.
        """
        if not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,31}", person):
            raise InputError(
                f"person {person!r}: a person is named by up to 32 small letters, digits and"
                " hyphens; never by their own name"
            )
        return self.folder / f"{person}.key"

    def key(self, person: str) -> SigningKey:
        """A person's key, unlocked.

        Raises:
            InputError: no passphrase can be had, or the name is none that a person can bear.
            KeyFileError: the key file is missing, damaged, or not to be unlocked.
        """
        path = self.path(person)
        expected = None if person == REGISTER else person
        if not os.path.lexists(path):
            raise KeyFileError(
                f"no key of {person} lies in {self.folder}; name the folder with --keys, or the"
                " right person"
            )
        secret = self.passphrase(person) if is_locked(path) else None
        return load_private(path, secret, expected)

    def passphrase(self, person: str, *, new: bool = False) -> bytes:
        """A person's passphrase: from a file, the environment, or a question at the terminal.

        Args:
            person: whose; its own variable is CONTINUITY_PASSPHRASE_ and the name in capitals.
            new: for a key that is being made: ask twice.

        Raises:
            InputError: there is none, or its file cannot be read.
        """
        own = f"{_VARIABLE}_{person.upper().replace('-', '_')}"
        text = self._from_file(person) or os.environ.get(own) or os.environ.get(_VARIABLE)
        if text:
            return text.encode("utf-8", "surrogateescape")
        if not (sys.stdin and sys.stdin.isatty()):
            raise InputError(
                f"the key of {person} needs its passphrase: set {own} or {_VARIABLE}, give"
                " --passphrase-file, or work at a terminal"
                + ("; --no-passphrase leaves the key unlocked" if new else "")
            )
        answer: str = click.prompt(
            f"Passphrase of {person}", hide_input=True, err=True, confirmation_prompt=new
        )
        return answer.encode()

    def _from_file(self, person: str) -> str | None:
        """The first line of the person's passphrase file, or of the one for everybody."""
        named = dict(_named(text) for text in self.passphrase_files)
        file = named.get(person, named.get(""))
        if file is None:
            return None
        try:
            with open(file, encoding="utf-8") as lines:  # noqa: PTH123 - as it was given
                line = lines.readline(_LONGEST).rstrip("\r\n")
        except (OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
            raise InputError(f"--passphrase-file {file}: cannot be read: {reason}") from None
        if not line:
            raise InputError(f"--passphrase-file {file}: its first line is empty")
        return line


def _named(text: str) -> tuple[str, str]:
    """`PERSON=FILE` taken apart; a bare FILE stands for everybody."""
    person, equals, file = text.partition("=")
    return (person, file) if equals and re.fullmatch(r"[a-z0-9-]+", person) else ("", text)
