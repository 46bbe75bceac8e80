"""Options that several commands share, each said once."""

from __future__ import annotations

from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from continuity.care.times import parse_time
from continuity_cli.paths import Files, keys_folder
from continuity_cli.signing import Signing

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime


PATH = click.Path(path_type=Path, readable=False)
"""A path that is looked at only when it is opened: what then stops it is no fault of the input."""


class Moment(click.ParamType[Any]):
    """A time that names its offset from UTC."""

    name = "time"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> datetime:
        """Read an RFC 3339 time."""
        try:
            return parse_time(value)
        except ValueError as error:
            self.fail(f"{value!r}: {error}", param, ctx)


def register(command: Callable[..., Any]) -> Callable[..., Any]:
    """`--register` and `--guard`: the command is called with `files`."""

    @click.option(
        "--register",
        "register_given",
        type=PATH,
        envvar="CONTINUITY_REGISTER",
        help="The register's file; else CONTINUITY_REGISTER, else one in the platform's data"
        " folder.",
    )
    @click.option(
        "--guard",
        "guard_given",
        type=PATH,
        envvar="CONTINUITY_GUARD",
        help="The file, best on another device, that holds the register's last checkpoint; else"
        " CONTINUITY_GUARD, else none.",
    )
    @wraps(command)
    def kept(*args: Any, register_given: Path | None, guard_given: Path | None, **rest: Any) -> Any:
        return command(*args, files=Files.of(register_given, guard_given), **rest)

    return kept


as_json = click.option(
    "--json", "as_json", is_flag=True, help="Answer in JSON; `continuity schema` says its shape."
)


def at_a_moment(command: Callable[..., Any]) -> Callable[..., Any]:
    """`--at TIME`, and `--as-of-now` with it: what was known then, or is known now about then.

    The command is called with `known` and `happened`, one of them a time or both None.
    """

    @click.option(
        "--at",
        type=Moment(),
        metavar="TIME",
        help="As the register knew it at that time, as in 2026-03-01T14:05:00+01:00.",
    )
    @click.option(
        "--as-of-now", is_flag=True, help="With --at: what is known today about that time."
    )
    @wraps(command)
    def asked(*args: Any, at: datetime | None, as_of_now: bool, **others: Any) -> Any:
        if as_of_now and at is None:
            raise click.UsageError("--as-of-now: say with --at about which time")
        known, happened = (None, at) if as_of_now else (at, None)
        return command(*args, known=known, happened=happened, **others)

    return asked


def signing(command: Callable[..., Any]) -> Callable[..., Any]:
    """`--as`, `--with`, `--keys`, `--passphrase-file`: the command is called with `signing`."""

    @click.option(
        "--as",
        "as_person",
        metavar="PERSON",
        envvar="CONTINUITY_PERSON",
        help="Who records it; else CONTINUITY_PERSON.",
    )
    @click.option(
        "--with",
        "with_persons",
        metavar="PERSON",
        multiple=True,
        help="Who signs as well; repeatable.",
    )
    @click.option(
        "--keys",
        "keys_given",
        type=click.Path(path_type=Path, file_okay=False),
        envvar="CONTINUITY_KEYS",
        help="The folder of key files; else CONTINUITY_KEYS, else one in the platform's data"
        " folder.",
    )
    @click.option(
        "--passphrase-file",
        "passphrase_files",
        metavar="[PERSON=]FILE",
        multiple=True,
        help="A file whose first line unlocks the keys, or one person's; else"
        " CONTINUITY_PASSPHRASE_<PERSON> or CONTINUITY_PASSPHRASE, else it is asked for.",
    )
    @wraps(command)
    def signed(
        *args: Any,
        as_person: str | None,
        with_persons: tuple[str, ...],
        keys_given: Path | None,
        passphrase_files: tuple[str, ...],
        **rest: Any,
    ) -> Any:
        persons = (as_person, *with_persons) if as_person else ()
        signing = Signing(keys_folder(keys_given), persons, passphrase_files)
        return command(*args, signing=signing, **rest)

    return signed
