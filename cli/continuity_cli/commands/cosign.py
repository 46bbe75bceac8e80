"""`continuity cosign`: another party signs under a checkpoint, so that it vouches from outside."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from continuity.audit.anchors import attach_cosignatures
from continuity.audit.witness import Request, Witness, ask
from continuity.clock import now
from continuity.errors import FormatError, InputError
from continuity.ledger.checkpoint import cosigner_key
from continuity.ledger.keys import SigningKey, is_locked, load_private, save_private
from continuity_cli import keymaking, options
from continuity_cli.paths import opened
from continuity_cli.signing import Signing
from continuity_cli.trusting import content_of, register_key, witness_key
from continuity_cli.writing import write_new

if TYPE_CHECKING:
    from continuity_cli.paths import Files

_NEW = click.Path(path_type=Path)

_output = click.option(
    "-o", "--output", required=True, type=_NEW, metavar="FILE", help="The new file to write."
)
_passphrase_file = click.option(
    "--passphrase-file",
    "passphrase_files",
    metavar="FILE",
    multiple=True,
    help="A file whose first line unlocks the key; else CONTINUITY_PASSPHRASE, else it is asked"
    " for.",
)


@click.group()
def command() -> None:
    """Let another party, a branch or the coroner's office, sign under a checkpoint.

    Files go to and fro, and no server is needed. The witness makes a key once (`key`) and gives its
    public half to whoever verifies. The register's keeper writes a request (`request`) for the
    latest checkpoint; the witness signs it (`sign`) if it continues the one signed before; the
    keeper keeps what comes back (`attach`). `verify --witness` counts it. C2SP tlog-witness and
    tlog-cosignature are the forms.
    """


@command.command("key")
@click.argument("name")
@_output
@keymaking.no_passphrase
@_passphrase_file
def _key(
    name: str, output: Path, passphrase_files: tuple[str, ...], *, no_passphrase: bool
) -> None:
    """Make the witness's key, and print its public half.

    NAME is the witness's, as in coroner-office.example: no space, no plus sign. Use the key for
    nothing else.
    """
    try:
        key = SigningKey.generate(name)
    except FormatError as error:
        raise InputError(f"{name!r}: {error}") from None
    secret = None if no_passphrase else _unlocking(output, passphrase_files, new=True)
    save_private(key, output, secret)
    click.echo(f"public key, for whoever will verify: {cosigner_key(key.verify_key)}")


@command.command("request")
@click.option(
    "--seen",
    type=click.IntRange(min=0),
    default=0,
    metavar="SIZE",
    help="The size of the checkpoint that this witness signed last; 0, if it never did.",
)
@_output
@options.register
def _request(files: Files, output: Path, *, seen: int) -> None:
    """Ask a witness to sign under the latest checkpoint that was published."""
    with opened(files) as register:
        request = ask(register.store, seen)
    write_new(output, request.encode())
    click.echo(f"request for the witness: {output}")


@command.command("sign")
@click.argument("request", type=_NEW)
@click.option("--key", "key_file", required=True, type=_NEW, help="The witness's own key file.")
@click.option(
    "--register-key",
    "given",
    required=True,
    metavar="KEY|@FILE",
    help="The register's public key, as its keeper gave it out.",
)
@click.option(
    "--seen",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="FOLDER",
    help="Where the witness keeps what it signed last, a file for each register; else beside its"
    " key file.",
)
@_output
@_passphrase_file
def _sign(
    request: Path,
    *,
    key_file: Path,
    given: str,
    seen: Path | None,
    output: Path,
    passphrase_files: tuple[str, ...],
) -> None:
    """Sign under a checkpoint, as its witness, if it continues the one signed before.

    REQUEST is the keeper's file; at the first time a checkpoint alone will do. If it is refused as
    not continuing, keep both: the two prove that the register was rewritten.
    """
    asked = _read_request(request)
    secret = _unlocking(key_file, passphrase_files) if is_locked(key_file) else None
    key = load_private(key_file, secret)
    folder = seen or key_file.with_name(f"{key_file.name}.seen")
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if output.exists():
        raise InputError(f"{output}: something stands there already; name a new file")
    note = Witness(key, folder).cosign(asked, register_key("--register-key", given), now())
    write_new(output, note)
    click.echo(f"signed as {key.name}, for the register's keeper: {output}")


@command.command("attach")
@click.argument("signed", type=_NEW)
@click.option(
    "--witness",
    "witnesses",
    required=True,
    multiple=True,
    metavar="KEY|@FILE",
    help="The witness's public key; repeatable.",
)
@options.register
def _attach(files: Files, signed: Path, witnesses: tuple[str, ...]) -> None:
    """Keep what a witness signed beside the checkpoint; SIGNED is the file that came back."""
    keys = tuple(map(witness_key, witnesses))
    data = content_of("SIGNED", signed)
    with opened(files) as register:
        for anchor in attach_cosignatures(register.store, data, keys):
            click.echo(anchor.words)


def _read_request(path: Path) -> Request:
    data = content_of("REQUEST", path)
    try:
        return Request.parse(data if data.startswith(b"old ") else b"old 0\n\n" + data)
    except FormatError as error:
        raise InputError(f"REQUEST {path}: {error}") from None


def _unlocking(path: Path, files: tuple[str, ...], *, new: bool = False) -> bytes:
    return Signing(path.parent, (), files).passphrase(path.stem, new=new)
