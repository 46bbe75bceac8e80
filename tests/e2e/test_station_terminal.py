"""The station as it is used: the installed command, a real terminal, a real register, a power cut."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pexpect
import pytest

from continuity.care.intent import read_intent
from continuity.ledger.keys import SigningKey, save_private
from continuity.register import Register, Signatory, new_register_id
from continuity_cli.labelling.codes import badge_code, place_code
from continuity_labels.actions import Action, action_code
from continuity_labels.code import CodeBook, CodeType

if TYPE_CHECKING:
    from pathlib import Path

CASE = "2031-0001"
STATION = [sys.executable, "-m", "continuity_cli", "station"]


@dataclass
class Firm:
    """An invented firm's register on the disk, and the codes of its labels by name."""

    path: Path
    environment: dict[str, str]
    codes: dict[str, str]

    def lines(self, *names: str) -> str:
        return "".join(f"{self.codes.get(name, name)}\n" for name in names)

    def kinds(self) -> list[str]:
        register = Register.open(self.path)
        with register.store:
            return [event.act.kind for event in register.entries(CASE)]


@pytest.fixture
def firm(tmp_path: Path) -> Firm:
    rid = new_register_id()
    keys = {p: SigningKey.generate(p) for p in ("d1", "m1")}
    director, mortician = (Signatory(p, key) for p, key in keys.items())
    path, folder = tmp_path / "register.db", tmp_path / "keys"
    folder.mkdir()
    save_private(keys["d1"], folder / "d1.key", b"4711")
    save_private(keys["m1"], folder / "m1.key", None)
    register = Register.create(path, "An invented firm", rid, SigningKey.generate(rid), director)
    book = CodeBook(rid)
    codes = {action.heading.upper(): action_code(book, action).text for action in Action}
    vkey = str(keys["m1"].verify_key)
    items = [
        {"what": "part", "organ": "heart", "description": "heart"},
        {"what": "container", "form": "tub", "description": "tub"},
    ]
    with register.store:
        for fields, by in (
            ({"kind": "key-enrolled", "key": vkey, "person": "m1", "role": "mortician"}, True),
            (_place("table-1", "table"), False),
            (_place("cold-room", "cold-room"), False),
            ({"kind": "holder-named", "holder": "c", "what": "coroner", "description": "c"}, False),
            ({"kind": "case-opened", "case": CASE}, False),
            (
                {
                    "kind": "received",
                    "case": CASE,
                    "giver": "c",
                    "place": "table-1",
                    "items": items,
                },
                False,
            ),
        ):
            register.record(read_intent(fields), [director, *([mortician] if by else [])])
        for item, name in enumerate(("heart", "tub"), 1):
            code = book.mint(CodeType.THING).text
            fields = {"kind": "labelled", "thing": f"{CASE}.{item}", "code": code}
            register.record(read_intent(fields), [director])
            codes[name] = code
        for reference, key in register.house().keys.items():
            codes[key.person] = badge_code(book, key.person, reference).text
    codes |= {place: place_code(book, place).text for place in ("table-1", "cold-room")}
    environment = os.environ | {
        "CONTINUITY_REGISTER": str(path),
        "CONTINUITY_KEYS": str(folder),
        "TERM": "xterm-256color",
        "LINES": "30",
        "COLUMNS": "100",
    }
    environment.pop("CONTINUITY_GUARD", None)
    return Firm(path, environment, codes)


def _place(place: str, what: str) -> dict[str, str]:
    return {"kind": "place-named", "place": place, "what": what, "description": place}


def terminal(firm: Firm, *options: str) -> pexpect.spawn:
    return pexpect.spawn(
        STATION[0],
        [*STATION[1:], *options],
        env=firm.environment,
        dimensions=(30, 100),
        encoding="utf-8",
        timeout=30,
    )


def test_a_day_in_a_terminal_by_scans_alone(firm: Firm) -> None:
    child = terminal(firm)
    child.expect("last recorded: case 2031-0001, entry 3: labelled 2031-0001.2, by d1")
    child.send(firm.codes["m1"] + "\r")
    child.expect("signed in: m1")
    child.send(firm.codes["heart"] + "\r")
    child.expect("scan where it goes")
    child.send(firm.codes["tub"] + "\r")
    child.expect("heart 2031-0001.1 → into tub 2031-0001.2")
    child.expect("entry 4 of 2031-0001")
    child.send(firm.codes["heart"] + "\t")
    child.expect("scan where it goes")
    child.send(firm.codes["table-1"] + "\t")
    child.expect("heart 2031-0001.1 taken out → table-1")
    child.send("\x11")
    child.expect("press it again to leave")
    child.send("\x11")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    assert firm.kinds()[-2:] == ["put-in", "taken-out"]


def test_a_pin_is_not_echoed_by_a_terminal(firm: Firm) -> None:
    child = terminal(firm, "--plain")
    child.expect("READY")
    child.sendline(firm.codes["d1"])
    child.expect("GO ON: PIN of d1")
    child.waitnoecho(10)
    child.sendline("4711")
    child.expect("SIGNED IN: d1")
    assert "4711" not in child.before
    child.sendeof()
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0


def test_nothing_acknowledged_is_lost_when_the_power_goes(firm: Firm) -> None:
    child = subprocess.Popen(
        [*STATION, "--plain"],
        env=firm.environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert child.stdin is not None
    assert child.stdout is not None
    scans = ["m1"] + ["heart", "cold-room", "heart", "table-1"] * 200
    child.stdin.write(firm.lines(*scans))
    child.stdin.flush()
    acknowledged = 0
    for line in child.stdout:
        acknowledged += line.startswith("RECORDED")
        if acknowledged == 5:
            child.send_signal(signal.SIGKILL)
            break
    acknowledged += sum(line.startswith("RECORDED") for line in child.stdout)
    child.stdin.close()
    child.stdout.close()
    child.wait()
    moved = firm.kinds().count("moved")
    assert 5 <= acknowledged <= moved <= acknowledged + 1
    again = subprocess.run(
        [*STATION, "--plain"],
        env=firm.environment,
        input="",
        capture_output=True,
        text=True,
        check=True,
    )
    entry = 3 + moved
    assert f"READY: last recorded: case 2031-0001, entry {entry}: moved" in again.stdout
    assert again.stderr == ""


def test_a_scanner_at_a_serial_line(firm: Firm) -> None:
    ours, theirs = os.openpty()
    child = subprocess.Popen(
        [*STATION, "--plain", "--scanner", os.ttyname(theirs)],
        env=firm.environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert child.stdout is not None
    assert child.stdout.readline().startswith("READY")
    os.write(ours, firm.lines("m1", "heart", "cold-room").encode())
    said = [child.stdout.readline() for _ in range(7)]
    assert "RECORDED: heart 2031-0001.1 → cold-room\n" in said
    child.terminate()
    child.wait()
    child.stdout.close()
    os.close(ours)
    os.close(theirs)


def test_a_scanner_without_plain_is_a_wrong_use(firm: Firm) -> None:
    done = subprocess.run(
        [*STATION, "--scanner", "/dev/null"],
        env=firm.environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr.startswith("continuity: station: --scanner goes with --plain")


def test_a_register_that_is_not_there_is_status_3(firm: Firm, tmp_path: Path) -> None:
    environment = firm.environment | {"CONTINUITY_REGISTER": str(tmp_path / "none.db")}
    done = subprocess.run(
        [*STATION, "--plain"],
        env=environment,
        input="",
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (3, "")
    assert len(done.stderr.splitlines()) == 1
