"""New keys: on the disk before the register names them, gone again if it then does not."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from continuity.errors import InputError, KeyFileError
from continuity.ledger.keys import save_private
from continuity_cli.signing import REGISTER

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from continuity.ledger.keys import SigningKey
    from continuity_cli.signing import Signing

no_passphrase = click.option(
    "--no-passphrase",
    is_flag=True,
    help="Leave the new keys unlocked: whoever reads the files can sign.",
)


def must_be_a_person(person: str) -> None:
    """Refuse the one name that is the register's.

    Raises:
        InputError: it is.
    """
    if person == REGISTER:
        raise InputError(f"person {REGISTER}: that is the register itself; choose another name")


@contextmanager
def kept(
    keys: Mapping[str, SigningKey], signing: Signing, *, locked: bool, ending: str = ""
) -> Iterator[list[Path]]:
    """Write keys to their files, and remove them again if what is done within fails.

    Args:
        keys: the new keys, by person, or `register`.
        signing: knows the folder and the passphrases.
        locked: whether a passphrase locks them.
        ending: put behind the names of the files.

    Raises:
        KeyFileError: a file is there already, or cannot be written.
    """
    secrets = {p: signing.passphrase(p, new=True) if locked else None for p in keys}
    try:
        signing.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise KeyFileError(f"{signing.folder} cannot be made: {error.strerror}") from None
    made: list[Path] = []
    try:
        for person, key in keys.items():
            path = signing.path(person)
            path = path.with_name(path.name + ending)
            save_private(key, path, secrets[person])
            made.append(path)
        yield made
    except BaseException:
        for path in made:
            path.unlink(missing_ok=True)
        raise
