"""The drill: a register is backed up while stations record, lost, put back, and goes on.

`make drill` runs it with every command and answer shown. Told with the installed command alone, as
whoever has to do it one day will. Everybody in it is invented.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

COMMAND = Path(sys.executable).with_name("continuity")
SIGHTED = ("record", "sighted", "--thing", "2026-0001.1", "--as", "m1")
BODY = "what=decedent,description=adult"
ENOUGH = 5  # entries told before the backup begins, and as many while it may be running


@dataclass
class Firm:
    """A firm's disk, the stick in its safe, and what it has given to its accountant to keep."""

    folder: Path

    def environment(self, *, guard: bool = True) -> dict[str, str]:
        own = {name: word for name, word in os.environ.items() if not name.startswith("CONTINUITY")}
        files = {"CONTINUITY_REGISTER": "disk/firm.db", "CONTINUITY_KEYS": "keys"}
        return own | files | ({"CONTINUITY_GUARD": "stick/guard"} if guard else {})

    def __call__(self, *words: str, status: int = 0, guard: bool = True) -> str:
        """Run the command, show it, and give what it said on either stream."""
        done = subprocess.run(
            [COMMAND, *words],
            cwd=self.folder,
            env=self.environment(guard=guard),
            capture_output=True,
            text=True,
            check=False,
        )
        told = done.stdout + done.stderr
        print(f"$ continuity {' '.join(words)}\n{told}= {done.returncode}\n")
        assert done.returncode == status, told
        assert "Traceback" not in told
        return told

    def published(self, name: str) -> int:
        """Publish a checkpoint, give it out of the house, and say how many entries it covers."""
        self("publish", "--as", "d1", "-o", f"accountant/{name}.txt")
        return int((self.folder / "accountant" / f"{name}.txt").read_text().splitlines()[1])


def begun(folder: Path) -> Firm:
    """A register with one case, its guard on the stick, and a first checkpoint given away."""
    for name in ("disk", "stick", "accountant", "backups"):
        (folder / name).mkdir()
    firm = Firm(folder)
    firm("start", "--firm", "Hollow Lane (invented)", "--as", "d1", "--no-passphrase")
    firm("enrol", "d2", "--role", "director", "--as", "d1", "--no-passphrase")
    firm("enrol", "m1", "--role", "mortician", "--as", "d1", "--no-passphrase")
    named = ("--what", "table", "--description", "table one", "--as", "d1")
    firm("record", "place-named", "--place", "table-1", *named)
    named = ("--what", "coroner", "--description", "coroner", "--as", "d1")
    firm("record", "holder-named", "--holder", "coroner", *named)
    opened = ("--number", "2026-0001", "--disposition", "burial", "--personal", "name=Invented")
    firm("record", "case-opened", *opened, "--as", "m1")
    received = ("--case", "2026-0001", "--giver", "coroner", "--place", "table-1")
    firm("record", "received", *received, "--item", BODY, "--as", "m1")
    firm.published("monday")
    return firm


def lost(firm: Firm) -> list[Path]:
    """The disk breaks."""
    files = sorted((firm.folder / "disk").iterdir())
    for file in files:
        file.unlink()
    print(f"(the disk breaks: {', '.join(file.name for file in files)} are gone)\n")
    return files


def test_a_register_is_backed_up_while_it_is_used_lost_put_back_and_goes_on(tmp_path: Path) -> None:
    firm = begun(tmp_path)

    # A station records all the while, and a backup is made beside it.
    line = {"kind": "sighted", "things": ["2026-0001.1"]}
    (tmp_path / "scans.jsonl").write_text(f"{json.dumps(line)}\n" * 5000)
    words = [COMMAND, "record", "scans.jsonl", "--json", "--as", "m1"]
    with subprocess.Popen(
        words, cwd=tmp_path, env=firm.environment(), stdout=subprocess.PIPE, text=True
    ) as station:
        assert station.stdout is not None
        before = [json.loads(station.stdout.readline()) for _ in range(ENOUGH)]
        copied = int(re.findall(r"copied (\d+) entries", firm("backup", "backups/monday"))[0])
        assert station.poll() is None, "it recorded meanwhile, or nothing was tried"
        after = [json.loads(station.stdout.readline()) for _ in range(2 * ENOUGH)]
        station.kill()
        after += [json.loads(told) for told in station.stdout.read().splitlines()[:-1]]
    assert all(told["position"] < copied for told in before)
    firm("backup", "backups/monday", status=2)  # a copy that is there is never overwritten
    tuesday = firm.published("tuesday")

    lost(firm)
    assert "Nothing stands at" in firm(*SIGHTED, status=3)
    assert list((tmp_path / "disk").iterdir()) == []

    # The two files are put back, and held against what was given out of the house.
    for file in sorted((tmp_path / "backups" / "monday").iterdir()):
        shutil.copy(file, tmp_path / "disk")
    told = firm("verify", "--checkpoint", "accountant/tuesday.txt", status=1)
    assert (
        f"The checkpoint of size {tuesday} that tuesday.txt kept is not reached: only {copied}"
        " entries are there."
    ) in told
    firm("verify", "--checkpoint", "accountant/monday.txt", guard=False)
    assert "Invented" in firm("case", "2026-0001", "--personal")

    # The guard on the stick knows that this is an older state. Two directors say why.
    told = firm(*SIGHTED, status=3)
    said = r"guard_size (\d+), guard_root ([0-9a-f]{64}), size (\d+), and a reason"
    size, root, held = re.findall(said, told)[0]
    assert (int(size), int(held)) == (tuesday, copied)
    restored = ("record", "register-restored", "--guard-size", size, "--guard-root", root)
    restored += ("--reason", "the disk broke; Monday's backup was put back", "--as", "d1")
    firm(*restored, "--size", held, "--with", "m1", status=4)
    firm(*restored, "--size", str(int(held) - 1), "--with", "d2", status=2)
    firm(*restored, "--size", held, "--with", "d2")
    firm(*SIGHTED)

    # It goes on, anchored anew; whoever kept the lost state's checkpoint can see for ever that
    # this register is not its continuation.
    assert firm.published("wednesday") == copied + 3
    kept = [f"--checkpoint=accountant/{day}.txt" for day in ("monday", "wednesday")]
    firm("verify", *kept)
    told = firm("verify", "--checkpoint", "accountant/tuesday.txt", status=1)
    assert f"The checkpoint of size {tuesday} that tuesday.txt kept is not " in told
