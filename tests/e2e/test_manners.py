"""How the installed command behaves: start-up, pipes, interrupts, locale, completion, terminals."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from typing import TYPE_CHECKING

import pexpect

from tests.e2e.conftest import COMMAND

if TYPE_CHECKING:
    from tests.e2e.conftest import Installed

SIGHTED = ("record", "sighted", "--thing", "2026-0001.1")


def imported(installed: Installed, *words: str) -> set[str]:
    """The modules that a command has imported when it ends."""
    script = (
        "import sys; from continuity_cli.main import run; run(sys.argv[1:]);"
        " print(*sys.modules, file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, *words],
        capture_output=True,
        text=True,
        env=installed.environment,
        check=True,
    )
    return set(done.stderr.split())


HEAVY = {"pydantic", "sqlite3", "cryptography", "sqlite_utils", "textual", "reportlab", "PIL"}


def test_help_imports_nothing_heavy(installed: Installed) -> None:
    assert not HEAVY & imported(installed, "--help")


def test_recording_imports_nothing_it_does_not_need(installed: Installed) -> None:
    modules = imported(installed, *SIGHTED)
    assert not {"sqlite_utils", "textual", "reportlab", "PIL", "qrcode", "platformdirs"} & modules
    assert not {m for m in modules if m.startswith("continuity.care.findings")}
    acts = {m.rpartition(".")[2] for m in modules if m.startswith("continuity.care.acts.")}
    assert acts == {"base", "house", "opening", "receipt", "movement"}


def test_answers_and_the_rest_go_their_own_ways(installed: Installed) -> None:
    ended = installed("record", "-", stdin=b'{"kind": "sighted", "things": ["2026-0001.1"]}\n')
    assert ended.out == "recorded in 2026-0001 as entry 2: sighted\n"
    assert ended.err == "1 recorded, 0 not\n"


def test_a_reader_that_stops_reading_is_not_complained_of(installed: Installed) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    with os.fdopen(writer, "wb") as pipe:
        done = subprocess.run(
            [COMMAND, "schema"],
            stdout=pipe,
            stderr=subprocess.PIPE,
            env=installed.environment,
            check=False,
        )
    assert (done.returncode, done.stderr) == (141, b"")


def test_an_interrupt_ends_it_within_a_second_with_what_was_acknowledged(
    installed: Installed,
) -> None:
    process = subprocess.Popen(
        [COMMAND, "record", "-"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=installed.environment,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(b'{"kind": "sighted", "things": ["2026-0001.1"]}\n')
    process.stdin.flush()
    assert process.stdout.readline() == b"recorded in 2026-0001 as entry 2: sighted\n"
    since = time.monotonic()
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=10)
    assert time.monotonic() - since < 1
    assert (process.returncode, out, err) == (130, b"", b"continuity: interrupted\n")
    entries = installed("case", "2026-0001", "--entries").out
    assert entries.count("sighted") >= 1


def test_a_narrow_encoding_shows_escapes_and_does_not_fail(installed: Installed) -> None:
    words = ("--case", "2026-0001", "--giver", "coroner", "--place", "table-1")
    installed("record", "received", *words, "--item", "what=effect,description=ring 指輪")
    installed.settings["PYTHONIOENCODING"] = "latin-1"
    ended = installed("case", "2026-0001")
    assert ended.status == 0
    assert "ring \\u6307\\u8f2a" in ended.out


def test_the_shells_complete_commands_kinds_and_options(installed: Installed) -> None:
    for shell in ("bash", "zsh", "fish"):
        installed.settings = {"_CONTINUITY_COMPLETE": f"{shell}_source"}
        assert "_CONTINUITY_COMPLETE" in installed().out
    for typed, found in (
        ("continuity clos", "closing-check"),
        ("continuity record coffin-c", "coffin-closed"),
        ("continuity record moved --pl", "--place"),
        ("continuity record inspected --seal in", "intact"),
    ):
        words = typed.split()
        installed.settings = {
            "_CONTINUITY_COMPLETE": "bash_complete",
            "COMP_WORDS": typed,
            "COMP_CWORD": str(len(words) - 1),
        }
        assert found in installed().out


def at_a_terminal(installed: Installed, *words: str) -> pexpect.spawn[str]:
    environment = {**installed.environment, "TERM": "xterm"}
    return pexpect.spawn(str(COMMAND), list(words), env=environment, encoding="utf-8", timeout=30)


def test_a_passphrase_is_asked_for_at_a_terminal_and_not_shown(installed: Installed) -> None:
    child = at_a_terminal(installed, "enrol", "m3", "--role", "mortician", "--as", "d1")
    child.expect("Passphrase of m3: ")
    child.sendline("quiet words")
    child.expect("Repeat for confirmation: ")
    child.sendline("quiet words")
    child.expect("as entry 7: key-enrolled")
    child.expect(pexpect.EOF)
    child = at_a_terminal(installed, *SIGHTED, "--as", "m3")
    child.expect("Passphrase of m3: ")
    child.sendline("quiet words")
    child.expect("recorded in 2026-0001")
    child.expect(pexpect.EOF)
    assert "quiet words" not in child.before


def test_at_a_terminal_verdicts_are_coloured_and_an_interrupt_ends_a_question(
    installed: Installed,
) -> None:
    child = at_a_terminal(installed, "closing-check", "2026-0001")
    child.expect("\x1b\\[31m")
    child.expect(pexpect.EOF)
    installed("enrol", "m4", "--role", "assistant", "--as", "d1", "--no-passphrase")
    child = at_a_terminal(installed, "enrol", "m5", "--role", "mortician", "--as", "d1")
    child.expect("Passphrase of m5: ")
    child.sendintr()
    child.expect("continuity: interrupted")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
