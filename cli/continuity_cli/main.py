"""The command `continuity`: whatever happens within, an answer or one line comes out of it.

Nothing heavy is imported here: somebody waits at a door with a scanner.
"""

from __future__ import annotations

import gc
import os
import sys
from typing import TYPE_CHECKING, TextIO

import click

from continuity.errors import ContinuityError
from continuity_cli.lazy import Commands
from continuity_cli.plain import harmless
from continuity_cli.statuses import INTERRUPTED, UNREAD, WRONG_INPUT

if TYPE_CHECKING:
    from collections.abc import Sequence

NAME = "continuity"


@click.command(
    cls=Commands,
    name=NAME,
    help="Record, and prove, where everything of a decedent is: from the coroner's release to the"
    " final disposition.",
    context_settings={"max_content_width": 100},
)
@click.version_option(package_name=NAME, message="%(prog)s %(version)s")
def continuity() -> None:
    """Group the commands."""


def run(arguments: Sequence[str] | None = None) -> int:
    """Run a command and give its exit status; see `statuses` for what each says.

    Args:
        arguments: what follows the program's name; those it was called with when None.
    """
    # Nobody's plug-in may change how an intent is judged to be well formed.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    _leave_no_core()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIO) or hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
    try:
        status = _status(sys.argv[1:] if arguments is None else list(arguments))
        sys.stdout.flush()
    except BrokenPipeError:
        # What is still buffered has no reader; without this the interpreter would complain of it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return UNREAD
    if arguments is None:
        # The process ends here. Going through all it holds once more in search of garbage takes a
        # fifth of what a short command takes.
        gc.freeze()
    return status


def _leave_no_core() -> None:
    """Keep what a process that dies has in memory, an unlocked key perhaps, off the disk."""
    try:
        import resource  # noqa: PLC0415 - POSIX alone has it
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _status(arguments: list[str]) -> int:
    completing = os.environ.get(f"_{NAME.upper()}_COMPLETE")
    if completing:
        from click.shell_completion import shell_complete  # noqa: PLC0415 - rarely needed

        return shell_complete(continuity, {}, NAME, f"_{NAME.upper()}_COMPLETE", completing)
    try:
        with continuity.make_context(NAME, arguments, color=_colour()) as context:
            return continuity.invoke(context) or 0
    except click.exceptions.Exit as leaving:
        return leaving.exit_code
    except click.exceptions.NoArgsIsHelpError as wanted:
        click.echo(wanted.format_message(), err=True)
        return WRONG_INPUT
    except BrokenPipeError:
        raise
    except _TOLD as error:
        sentence, status = _sentence(error)
        click.echo(f"{NAME}: {harmless(' '.join(sentence.split()))}", err=True)
        return status


_TOLD = (ContinuityError, click.ClickException, click.Abort, KeyboardInterrupt, EOFError, OSError)


def _sentence(error: BaseException) -> tuple[str, int]:
    """What is told in one line on stderr, and the exit status that goes with it."""
    if isinstance(error, ContinuityError):
        return str(error), error.status
    if isinstance(error, click.ClickException):
        return _where(error) + error.format_message(), error.exit_code
    if isinstance(error, EOFError) or isinstance(error.__cause__, EOFError):
        return "the input ended before it was complete", WRONG_INPUT
    if isinstance(error, OSError):
        return f"{error.filename or 'the system'}: {error.strerror}", ContinuityError.status
    return "interrupted", INTERRUPTED


def _where(error: click.ClickException) -> str:
    """The command in which an option is wrong."""
    context = getattr(error, "ctx", None)
    path = context.command_path.removeprefix(NAME).strip() if context else ""
    return f"{path}: " if path else ""


def _colour() -> bool | None:
    """Whether to colour: never with NO_COLOR, always with FORCE_COLOR, else on a terminal."""
    if os.environ.get("NO_COLOR"):
        return False
    return True if os.environ.get("FORCE_COLOR") else None
