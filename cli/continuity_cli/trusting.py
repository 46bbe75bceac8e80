"""What whoever verifies brings along from elsewhere: a key, checkpoints, authorities."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import timedelta
from functools import partial, wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from continuity.audit.guard import Guard
from continuity.audit.receipts import MAX_PAGE_BYTES, read_receipt
from continuity.audit.trust import Held, Trust
from continuity.errors import FormatError, InputError
from continuity.ledger.checkpoint import Checkpoint, CosignerKey
from continuity.ledger.keys import VerifyKey
from continuity.ledger.note import Note

if TYPE_CHECKING:
    from collections.abc import Callable

    from continuity.audit.receipts import Receipt

Read = TypeVar("Read")

_FILE = click.Path(path_type=Path)


def from_outside(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that name what a verdict may rest on: the command is called with `trust`."""

    @click.option(
        "--key",
        metavar="KEY|@FILE",
        help="The register's public key, as it was given out when the register was started.",
    )
    @click.option(
        "--checkpoint",
        "checkpoints",
        multiple=True,
        type=_FILE,
        help="A signed checkpoint kept elsewhere; repeatable.",
    )
    @click.option(
        "--policy",
        type=_FILE,
        help="Key, witnesses and quorum as a C2SP tlog-policy; in place of --key.",
    )
    @click.option(
        "--witness",
        "witnesses",
        multiple=True,
        metavar="KEY|@FILE",
        help="The public key of a witness whose cosignatures count; repeatable.",
    )
    @click.option(
        "--authority",
        "authorities",
        multiple=True,
        type=_FILE,
        help="The root certificate, PEM or DER, of a time-stamping authority; repeatable.",
    )
    @click.option(
        "--max-age",
        type=click.IntRange(min=1),
        metavar="HOURS",
        help="How old the last sighting from outside may be before the record counts as stale.",
    )
    @wraps(command)
    def trusting(
        *args: Any,
        key: str | None,
        checkpoints: tuple[Path, ...],
        policy: Path | None,
        witnesses: tuple[str, ...],
        authorities: tuple[Path, ...],
        max_age: int | None,
        **rest: Any,
    ) -> Any:
        named = _named(key, policy)
        trust = replace(
            named,
            witnesses=(*named.witnesses, *map(witness_key, witnesses)),
            held=tuple(map(_held, checkpoints)),
            authorities=tuple(map(_authority, authorities)),
            max_age=timedelta(hours=max_age) if max_age else None,
        )
        return command(*args, trust=trust, **rest)

    return trusting


def _held(path: Path) -> Held:
    """A checkpoint kept elsewhere; what is none is told before anything is verified."""
    note = content_of("--checkpoint", path)
    _read("--checkpoint", path, lambda: Checkpoint.parse(Note.parse(note).text))
    return Held(note, path.name)


def _authority(path: Path) -> bytes:
    """The certificate of a time-stamping authority, told before anything is verified."""
    from continuity.audit.anchors import read_certificates  # noqa: PLC0415 - few name one

    data = content_of("--authority", path)
    _read("--authority", path, lambda: read_certificates(data))
    return data


def _named(key: str | None, policy: Path | None) -> Trust:
    """Whom to trust, by a key or by a policy."""
    if policy is not None:
        if key is not None:
            raise InputError("--key: --policy names the key already; give one of the two")
        text = _text("--policy", policy)
        return _read("--policy", policy, lambda: Trust.from_policy(text))
    if key is None:
        return Trust()
    return Trust(register_key=register_key("--key", key))


def register_key(option: str, given: str) -> VerifyKey:
    """A register's public key, given as it is or as `@FILE`.

    Raises:
        InputError: it is none.
    """
    text = _given(option, given)
    return _read(option, given, lambda: VerifyKey.parse(text))


def witness_key(given: str) -> CosignerKey:
    """A witness's public key, given as it is or as `@FILE`.

    Raises:
        InputError: it is none.
    """
    text = _given("--witness", given)
    return _read("--witness", given, lambda: CosignerKey.parse(text))


def _given(option: str, given: str) -> str:
    return _text(option, Path(given[1:])).strip() if given.startswith("@") else given


def with_guard(trust: Trust, path: Path) -> Trust:
    """The checkpoint in a guard's file is one more that was kept elsewhere.

    Raises:
        InputError: there is no such file.
        BehindGuardError: it cannot be read.
    """
    note = Guard(path).read()
    if note is None:
        raise InputError(f"--guard {path}: nothing stands there; connect its device")
    return replace(trust, held=(*trust.held, Held(note, path.name, "guard")))


def receipt_of(path: Path) -> Receipt | Held:
    """A receipt in a file, or, from `-`, what was scanned from its code.

    Raises:
        InputError: it is none, or cannot be read.
    """
    if path == Path("-"):
        data = sys.stdin.buffer.read(MAX_PAGE_BYTES + 1)
        name = "what was scanned"
    else:
        data, name = content_of("--receipt", path), path.name
    return _read("--receipt", path, partial(read_receipt, data, name))


def content_of(option: str, path: Path) -> bytes:
    """The bytes of a file that an option names.

    Raises:
        InputError: it cannot be read.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MAX_PAGE_BYTES + 1)
    except OSError as error:
        raise InputError(f"{option} {path}: cannot be read: {error.strerror}") from None
    if len(data) > MAX_PAGE_BYTES:
        raise InputError(f"{option} {path}: longer than any of these can be; name another file")
    return data


def _read(option: str, given: object, read: Callable[[], Read]) -> Read:
    try:
        return read()
    except FormatError as error:
        raise InputError(f"{option} {given}: {error}") from None


def _text(option: str, path: Path) -> str:
    try:
        return content_of(option, path).decode()
    except UnicodeDecodeError:
        raise InputError(f"{option} {path}: it is not UTF-8 text") from None
