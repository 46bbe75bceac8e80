"""The page that documents the commands, written from the commands themselves.

`python -m continuity_cli.reference > cli/COMMANDS.md` writes it anew; a test holds the two
together.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from continuity_cli.commands.record import Kinds
from continuity_cli.main import NAME, continuity
from continuity_cli.statuses import table

if TYPE_CHECKING:
    from collections.abc import Iterator

HEAD = """\
# The commands

Written by `python -m continuity_cli.reference` from the commands' own help; do not edit it by hand.

Answers go to standard output, everything else to standard error. What is wrong is told in one line
that says where, what, and what would mend it. `NO_COLOR` and `FORCE_COLOR` are respected. Times are
shown where the program runs, with their offset; a time is given with its offset.

Shell completion: `eval "$(_CONTINUITY_COMPLETE=bash_source continuity)"` for bash, `zsh_source` for
zsh; `_CONTINUITY_COMPLETE=fish_source continuity | source` for fish.
"""

ENVIRONMENT = {
    "CONTINUITY_REGISTER": "the register's file, as `--register`",
    "CONTINUITY_GUARD": "the guard's file, as `--guard`",
    "CONTINUITY_KEYS": "the folder of key files, as `--keys`",
    "CONTINUITY_PERSON": "who records, as `--as`",
    "CONTINUITY_PASSPHRASE": "what unlocks the keys",
    "CONTINUITY_PASSPHRASE_<PERSON>": "what unlocks one person's key; the name in capitals, `_` for"
    " `-`",
    "NO_COLOR, FORCE_COLOR": "never colour; always colour",
    "TZ": "the zone in which times are shown",
}


def page() -> str:
    """The whole page, Markdown."""
    return "\n".join(_page()) + "\n"


def _page() -> Iterator[str]:
    yield HEAD
    yield from ("## Exit status", "", "| status | meaning |", "| --- | --- |")
    yield from (f"| {status} | {meaning} |" for status, meaning in table().items())
    yield from ("", "## Environment", "", "| variable | what it says |", "| --- | --- |")
    yield from (f"| `{name}` | {told} |" for name, told in ENVIRONMENT.items())
    root = click.Context(continuity, info_name=NAME, max_content_width=96, terminal_width=96)
    for name in continuity.list_commands(root):
        found = continuity.get_command(root, name)
        if found is not None:
            yield from _command(root, name, found, "##")


def _command(parent: click.Context, name: str, command: click.Command, level: str) -> Iterator[str]:
    context = click.Context(command, parent, info_name=name, terminal_width=96)
    yield from ("", f"{level} {context.command_path}", "", "```")
    yield command.get_help(context).rstrip()
    yield "```"
    if isinstance(command, click.Group):
        shared = _shared(command) if isinstance(command, Kinds) else frozenset()
        if shared:
            yield from ("", "Every kind takes these as well:", "", "```")
            yield from _options(context, [p for p in _any(command).params if p.name in shared])
            yield "```"
        for inner in command.list_commands(context):
            found = command.get_command(context, inner)
            if found is not None:
                yield from _kind(context, inner, found, shared)


def _kind(
    parent: click.Context, name: str, command: click.Command, shared: frozenset[str]
) -> Iterator[str]:
    """A kind of entry with the options that are its own."""
    context = click.Context(command, parent, info_name=name, terminal_width=96)
    yield from ("", f"### {context.command_path}", "", *(command.help or "").splitlines(), "")
    yield "```"
    yield from _options(context, [p for p in command.params if p.name not in shared])
    yield "```"


def _any(group: Kinds) -> click.Command:
    found = group.get_command(click.Context(group), "moved")
    if found is None:
        raise LookupError("there is no kind to take the shared options from")
    return found


def _shared(group: Kinds) -> frozenset[str]:
    """The names of the parameters that are not a field of one kind alone."""
    names = (p.name or "" for p in _any(group).params)
    return frozenset(
        n for n in names if not n.startswith("field_") or n in {"field_remark", "field_personal"}
    )


def _options(context: click.Context, parameters: list[click.Parameter]) -> Iterator[str]:
    formatter = click.HelpFormatter(width=96)
    records = [record for p in parameters if (record := p.get_help_record(context))]
    formatter.write_dl(records)
    yield formatter.getvalue().rstrip("\n")


if __name__ == "__main__":
    sys.stdout.write(page())
