"""`continuity start`: a new register, its key, and its first director's key."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from continuity.errors import InputError
from continuity.ledger.keys import SigningKey
from continuity.register import Register, Signatory, new_register_id
from continuity_cli import keymaking, options
from continuity_cli.plain import harmless
from continuity_cli.signing import REGISTER

if TYPE_CHECKING:
    from continuity_cli.paths import Files
    from continuity_cli.signing import Signing


@click.command()
@click.option("--firm", required=True, help="The firm that keeps the register.")
@options.register
@options.signing
@keymaking.no_passphrase
def command(files: Files, firm: str, signing: Signing, *, no_passphrase: bool) -> None:
    """Start a new register; --as names its first director.

    Two key files are made in the keys folder: register.key, which signs for the register as a
    whole, and the director's. Keep copies of both where the register does not lie: whoever has
    lost them can record no more, and nobody can make them again.
    """
    if len(signing.persons) != 1:
        raise InputError("--as: name the one person who is the register's first director")
    person = signing.persons[0]
    keymaking.must_be_a_person(person)
    register_id = new_register_id()
    keys = {REGISTER: SigningKey.generate(register_id), person: SigningKey.generate(person)}
    if not files.given:
        files.register.parent.mkdir(parents=True, exist_ok=True)
    with keymaking.kept(keys, signing, locked=not no_passphrase):
        director = Signatory(person, keys[person])
        register = Register.create(files.register, firm, register_id, keys[REGISTER], director)
    with register.store:
        click.echo(f"started {files.register} for {harmless(firm)}: {register.id}")
        click.echo(f"keys in {signing.folder}: register.key and {person}.key; keep copies")
        click.echo(f"public key, for whoever will verify: {keys[REGISTER].verify_key}")
