"""The page that documents the commands, written from the commands themselves.

`python -m continuity_cli.reference > cli/COMMANDS.md` writes it anew; a test holds the two
together.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from continuity_cli.commands.record import Kinds
from continuity_cli.fields import LAST, PREFIX
from continuity_cli.main import NAME, continuity
from continuity_cli.statuses import table

if TYPE_CHECKING:
    from collections.abc import Iterator

WIDTH = 96
"""Characters in a line of help."""

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
    "CONTINUITY_STOCKS": "a file of the firm's own label stocks, as `label --own-stocks`",
    "CONTINUITY_PLAYER": "what plays the station's sounds, as `station --player`",
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
    root = click.Context(continuity, info_name=NAME, max_content_width=WIDTH, terminal_width=WIDTH)
    for name in continuity.list_commands(root):
        found = continuity.get_command(root, name)
        if found is not None:
            yield from _command(root, name, found)


def _command(parent: click.Context, name: str, command: click.Command) -> Iterator[str]:
    context = click.Context(command, parent, info_name=name, terminal_width=WIDTH)
    yield from ("", f"## {context.command_path}", "", "```")
    yield command.get_help(context).rstrip()
    yield "```"
    if isinstance(command, Kinds):
        kinds = [kind for n in command.list_commands(context) if (kind := _kind(command, n))]
        shared = [p for p in kinds[-1].params if _is_shared(p)]
        yield from ("", "Every kind takes these as well:", "", *_options(context, shared))
        for kind in kinds:
            yield from ("", f"### {context.command_path} {kind.name}", "")
            yield from (*(kind.help or "").splitlines(), "")
            yield from _options(context, [p for p in kind.params if not _is_shared(p)])
    elif isinstance(command, click.Group):
        for inner in command.list_commands(context):
            if (found := command.get_command(context, inner)) is not None:
                yield from _command(context, inner, found)


def _kind(kinds: Kinds, name: str) -> click.Command | None:
    return kinds.get_command(click.Context(kinds), name)


def _is_shared(parameter: click.Parameter) -> bool:
    """Whether it is an option of every kind rather than a field of this one."""
    name = (parameter.name or "").removeprefix(PREFIX)
    return name in LAST or name == parameter.name


def _options(context: click.Context, parameters: list[click.Parameter]) -> Iterator[str]:
    formatter = click.HelpFormatter(width=WIDTH)
    formatter.write_dl([told for p in parameters if (told := p.get_help_record(context))])
    yield from ("```", formatter.getvalue().rstrip("\n"), "```")


if __name__ == "__main__":
    sys.stdout.write(page())
