"""Commands found by their names: one module each, read only when it is used.

A module `commands/closing_check.py` with a click command called `command` is `closing-check`; the
first line of its docstring is what `continuity --help` says of it, and is found without running
the module, so that a command may import whatever it needs at its top.
"""

from __future__ import annotations

import re
from importlib import import_module
from typing import TYPE_CHECKING, Any

import click

from continuity_cli import commands

if TYPE_CHECKING:
    from collections.abc import Iterator

    from click.shell_completion import CompletionItem

COURSE = (
    "start",
    "enrol",
    "record",
    "case",
    "plan",
    "closing-check",
    "custody",
    "count",
    "label",
    "station",
    "publish",
    "receipt",
    "cosign",
    "timestamp",
    "verify",
    "backup",
    "dossier",
    "schema",
    "demo",
)
"""The order in which help lists the commands; any other comes after them."""

ELSEWHERE = {"demo": "continuity_demo.command"}
"""Commands of packages that stand above this one; named, so that this one need not know them."""


class Commands(click.Group):
    """The group of all commands."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names of the commands there are, in the order of the work."""
        del ctx
        import pkgutil  # noqa: PLC0415 - only help and completion need it

        names = {m.name.replace("_", "-") for m in pkgutil.iter_modules(commands.__path__)}
        names |= ELSEWHERE.keys()
        return [n for n in COURSE if n in names] + sorted(names.difference(COURSE))

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of this name, or None."""
        del ctx
        if not re.fullmatch(r"[a-z]+(-[a-z]+)*", cmd_name):
            return None
        module = _module(cmd_name)
        try:
            found: Any = import_module(module)
        except ModuleNotFoundError as error:
            if error.name == module:
                return None
            raise
        command: click.Command = found.command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command; one that is not there is told with those it may have been."""
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError:
            if args[0].startswith("-"):
                raise
            from difflib import get_close_matches  # noqa: PLC0415 - only for a slip

            near = get_close_matches(args[0], self.list_commands(ctx))
            hint = f"did you mean {near[0]}?" if near else "`continuity --help` lists them"
            raise click.UsageError(f"{args[0]}: there is no such command; {hint}") from None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Each command with the first line of its module."""
        with formatter.section("Commands"):
            formatter.write_dl(list(self._told(ctx)))

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Below the commands: what the exit status says."""
        del ctx
        from continuity_cli.statuses import table  # noqa: PLC0415 - only help needs it

        with formatter.section("Exit status"):
            formatter.write_dl([(str(status), meaning) for status, meaning in table().items()])

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """Complete a command's name."""
        from click.shell_completion import CompletionItem  # noqa: PLC0415 - only then needed

        found = [
            CompletionItem(name, help=told)
            for name, told in self._told(ctx)
            if name.startswith(incomplete)
        ]
        return found + click.Command.shell_complete(self, ctx, incomplete)

    def _told(self, ctx: click.Context) -> Iterator[tuple[str, str]]:
        import ast  # noqa: PLC0415 - only help and completion need these two
        from importlib.util import find_spec  # noqa: PLC0415

        for name in self.list_commands(ctx):
            spec: Any = find_spec(_module(name))
            told = ast.get_docstring(ast.parse(spec.loader.get_source(spec.name))) or ""
            yield name, told.partition("\n")[0].rpartition("`: ")[2]


def _module(command: str) -> str:
    return ELSEWHERE.get(command) or f"{commands.__name__}.{command.replace('-', '_')}"
