"""`continuity enrol`: who may sign, from when, with which key, and no more."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from continuity.care.intent import read_intent
from continuity.errors import InputError
from continuity.ledger.keys import SigningKey, read_label
from continuity.recording import Signatory
from continuity_cli import keymaking, options
from continuity_cli.paths import opened
from continuity_cli.receipts import line
from continuity_cli.signing import REGISTER

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from continuity.register import Register
    from continuity_cli.paths import Files
    from continuity_cli.signing import Signing

ROLES = ("director", "mortician", "assistant", "auditor", "station", "witness")


@click.command()
@click.argument("person")
@click.option("--role", type=click.Choice(ROLES), help="What the key's holder may do.")
@click.option(
    "--replace", is_flag=True, help="Put a new key in the place of the person's, or `register`'s."
)
@click.option("--revoke", is_flag=True, help="End the person's key; it signs no more.")
@click.option("--reason", help="With --revoke: why.")
@click.option(
    "--compromised-since",
    type=int,
    metavar="POSITION",
    help="With --revoke: from which position on its signatures are in doubt.",
)
@options.register
@options.signing
@keymaking.no_passphrase
def command(
    files: Files,
    signing: Signing,
    person: str,
    *,
    role: str | None,
    replace: bool,
    revoke: bool,
    reason: str | None,
    compromised_since: int | None,
    no_passphrase: bool,
) -> None:
    """Enrol a person's new key, replace it, or revoke it.

    PERSON is a short name such as m2, never a person's own. The key is made here, in the keys
    folder; a director enrols it (--as), and the new key signs too, to prove that it is had.
    """
    if [bool(role), replace, revoke].count(True) != 1:
        raise click.UsageError("say one of --role, --replace and --revoke")
    if revoke != bool(reason):
        raise click.UsageError("--reason and --revoke go together")
    if compromised_since is not None and not revoke:
        raise click.UsageError("--compromised-since goes with --revoke")
    if person == REGISTER and not replace:
        keymaking.must_be_a_person(person)
    path = signing.path(person)
    with opened(files) as register:
        by = signing.signatories()
        if revoke:
            old = _reference(register, person)
            revoked = {"key": old, "reason": reason, "compromised_since": compromised_since}
            _recorded(register, {"kind": "key-revoked", **revoked}, by)
            _set_aside(path, old)
            return
        key = SigningKey.generate(register.id if person == REGISTER else person)
        signatories = [*by, Signatory(person, key)]
        new = {"key": str(key.verify_key)}
        locked = not no_passphrase
        if role:
            with keymaking.kept({person: key}, signing, locked=locked):
                fields = {"kind": "key-enrolled", **new, "person": person, "role": role}
                _recorded(register, fields, signatories)
            return
        old = _reference(register, person)
        # A crash before the files are renamed leaves the new key under `.new`: rename it then.
        with keymaking.kept({person: key}, signing, locked=locked, ending=".new") as made:
            _recorded(register, {"kind": "key-replaced", **new, "replaces": old}, signatories)
        _set_aside(path, old)
        made[0].rename(path)


def _recorded(register: Register, fields: dict[str, Any], signatories: Sequence[Signatory]) -> None:
    click.echo(line(register.record(read_intent(fields), signatories)))


def _reference(register: Register, person: str) -> str:
    """The key of a person that stands now, or the register's."""
    house = register.house()
    if person == REGISTER:
        return "+".join(house.register_key.split("+")[:2])
    standing = [k.reference for k in house.keys.values() if k.person == person and not k.revoked]
    if not standing:
        raise InputError(f"person {person}: no key of theirs stands in this register; enrol one")
    return standing[0]


def _set_aside(path: Path, reference: str) -> None:
    """Put the id of a key that signs no more into its file's name, so that another can follow."""
    if path.exists() and read_label(path).reference == reference:
        path.rename(path.with_name(f"{path.stem}.{reference.rpartition('+')[2]}.key"))
