"""The command as a whole: statuses, help, colour, completion, and what it does not import."""

from __future__ import annotations

import importlib
import pkgutil
import sys
from typing import TYPE_CHECKING

import click
import pytest

from continuity import audit, care, ledger, store
from continuity.errors import ContinuityError
from continuity_cli import commands, reference
from continuity_cli.lazy import COURSE, Commands
from continuity_cli.main import continuity
from continuity_cli.statuses import table

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.cli.conftest import Tool

CLOSING = ("closing-check", "2026-0001")


def every_error(error: type[ContinuityError] = ContinuityError) -> Iterator[type[ContinuityError]]:
    yield error
    for kind in error.__subclasses__():
        yield from every_error(kind)


def test_the_table_of_statuses_is_that_of_the_error_classes() -> None:
    for package in (audit, care, ledger, store):
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            importlib.import_module(module.name)
    assert list(table()) == [0, 1, 2, 3, 4, 130, 141]
    for error in every_error():
        assert table()[error.status] == error.meaning
        assert error.status not in {0, 1, 130, 141}


def test_help_lists_every_command_and_every_status(bare: Tool) -> None:
    out = " ".join(bare("--help").out.split())
    for name in continuity.list_commands(click.Context(continuity)):
        assert f" {name} " in out
    for status, meaning in table().items():
        assert f"{status} {meaning}" in out


def test_every_command_module_is_found_by_its_name() -> None:
    context = click.Context(continuity)
    names = continuity.list_commands(context)
    for module in pkgutil.iter_modules(commands.__path__):
        assert module.name.replace("_", "-") in names
    for name in names:
        found = continuity.get_command(context, name)
        assert found is not None
        assert found.get_short_help_str()


def test_a_name_that_is_no_command_is_not_imported() -> None:
    group = Commands()
    context = click.Context(group)
    before = set(sys.modules)
    for name in ("os", "../case", "case.x", "", "--help", "__init__", "a" * 300):
        assert group.get_command(context, name) is None
    assert set(sys.modules) == before


def test_commands_stand_in_the_order_of_the_work() -> None:
    names = continuity.list_commands(click.Context(continuity))
    assert [n for n in names if n in COURSE] == [n for n in COURSE if n in names]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("enroll",), "enroll: there is no such command; did you mean enrol?"),
        (("xyzzy",), "xyzzy: there is no such command; `continuity --help` lists them"),
        (("--colour",), "No such option '--colour'."),
        (("case", "2026-0001", "--nope"), "case: No such option '--nope'."),
    ],
)
def test_a_slip_in_the_command_is_told_in_one_line(
    bare: Tool, words: tuple[str, ...], sentence: str
) -> None:
    assert bare(*words, status=2).error == sentence


def test_without_a_command_help_goes_to_stderr(bare: Tool) -> None:
    told = bare(status=2)
    assert told.out == ""
    assert told.err.startswith("Usage: continuity [OPTIONS] COMMAND [ARGS]...")


def test_the_version_is_told(bare: Tool) -> None:
    assert bare("--version").out.startswith("continuity 0.")


def test_colour_is_for_terminals_unless_forced_and_never_with_no_color(tool: Tool) -> None:
    assert "\x1b[" not in tool(*CLOSING, status=1).out
    tool.patch.setenv("FORCE_COLOR", "1")
    assert "\x1b[31m" in tool(*CLOSING, status=1).out
    tool.patch.setenv("NO_COLOR", "1")
    assert "\x1b[" not in tool(*CLOSING, status=1).out


def test_the_documentation_is_what_the_commands_say_of_themselves(
    request: pytest.FixtureRequest,
) -> None:
    written = (request.config.rootpath / "cli" / "COMMANDS.md").read_text(encoding="utf-8")
    assert written == reference.page(), "run python -m continuity_cli.reference > cli/COMMANDS.md"


def every_parameter() -> Iterator[click.Parameter]:
    """Those of all commands, and of every kind of entry."""
    context = click.Context(continuity)
    for name in continuity.list_commands(context):
        found = continuity.get_command(context, name)
        assert found is not None
        yield from found.params
        for inner in found.list_commands(context) if isinstance(found, click.Group) else ():
            kind = found.get_command(context, inner)
            assert kind is not None
            yield from kind.params


def test_the_documentation_speaks_of_every_option() -> None:
    page = reference.page()
    for parameter in every_parameter():
        for option in (*parameter.opts, *parameter.secondary_opts):
            told = (
                parameter.human_readable_name if parameter.param_type_name == "argument" else option
            )
            assert told in page


def test_the_documentation_speaks_of_every_variable() -> None:
    for parameter in every_parameter():
        if parameter.envvar:
            assert parameter.envvar in reference.ENVIRONMENT
