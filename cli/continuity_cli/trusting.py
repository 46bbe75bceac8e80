"""What whoever verifies brings along from elsewhere: a key, checkpoints, authorities."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from continuity.audit.guard import Guard
from continuity.audit.trust import Held, Trust
from continuity.errors import FormatError, InputError
from continuity.ledger.keys import VerifyKey

if TYPE_CHECKING:
    from collections.abc import Callable

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
        authorities: tuple[Path, ...],
        max_age: int | None,
        **rest: Any,
    ) -> Any:
        trust = replace(
            _named(key, policy),
            held=tuple(Held(content_of("--checkpoint", path), path.name) for path in checkpoints),
            authorities=tuple(content_of("--authority", path) for path in authorities),
            max_age=timedelta(hours=max_age) if max_age else None,
        )
        return command(*args, trust=trust, **rest)

    return trusting


def _named(key: str | None, policy: Path | None) -> Trust:
    """Whom to trust, by a key or by a policy."""
    if policy is not None:
        if key is not None:
            raise InputError("--key: --policy names the key already; give one of the two")
        text = _text("--policy", policy)
        return _read("--policy", policy, lambda: Trust.from_policy(text))
    if key is None:
        return Trust()
    text = _text("--key", Path(key[1:])).strip() if key.startswith("@") else key
    return Trust(register_key=_read("--key", key, lambda: VerifyKey.parse(text)))


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


def content_of(option: str, path: Path) -> bytes:
    """The bytes of a file that an option names.

    Raises:
        InputError: it cannot be read.
    """
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"{option} {path}: cannot be read: {error.strerror}") from None


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
