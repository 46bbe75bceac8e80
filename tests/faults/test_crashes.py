"""Programs killed at random moments: what was acknowledged is there, and nothing by halves.

`make crashes` kills many more of them (CONTINUITY_KILLS). A kill takes the program and leaves the
system's caches: that what is flushed outlasts a power cut is the disk's promise, and that it is
flushed before it is acknowledged is shown where the flushes are made to fail.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from PIL import Image

from continuity.care.things import case_of
from continuity.store.sqlite import SqliteStore
from continuity_labels.reading import Decoder, decode

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.faults.firm import Firm
    from tests.faults.nursery import Nursery

KILLS = int(os.environ.get("CONTINUITY_KILLS", "27"))
SEED = os.environ.get("CONTINUITY_SEED", "1")
COMMAND = Path(sys.executable).with_name("continuity")
FRESH_EVERY = 8  # kills, so that no register grows long
MOST_TOLD = 3  # acts before the one that a kill may fall into

Told = list[Any]
ORPHAN = "disclosure-orphan"  # a detail whose entry was not committed: harmless, and swept


class Deed(NamedTuple):
    """What is done over and over until the kill."""

    takes: float  # seconds at most, so that the kill falls into it
    entries: int  # of one act
    remarks: frozenset[str] = frozenset({ORPHAN})  # what verify may then say of a sound register
    acknowledged: Callable[[Told], Told] = lambda told: told
    look: Callable[[Firm, Told], None] = lambda firm, told: None


def nothing(_: Told) -> Told:
    """Its answers are looked at by themselves."""
    return []


def answers(told: Told) -> list[Any]:
    """What a command answered each time."""
    assert all(status in (0, 1) and not err for status, _, err, _ in told), told
    return [json.loads(out) for _, out, _, _ in told]


def look_at_counts(firm: Firm, told: Told) -> None:
    """Each count that was answered stands in the chain of each case that has something there."""
    counted = [one for answer in answers(told) for one in answer["entries"]]
    assert counted or not told
    with SqliteStore.open(firm.path) as store:
        for one in counted:
            chain = store.entries(store.case_called(one["case"]).case_id)
            assert chain[one["entry"]].kind == "place-counted"


def look_at_details(firm: Firm, told: Told) -> None:
    """What was told to be erased is in no byte of any file; what broke off can be finished."""
    files = b"".join(file.read_bytes() for file in firm.folder.glob("register.db*"))
    erased = {case for what, case, *_ in told if what == "erased"}
    for _, case, secret, *_ in told:
        if case in erased:
            assert secret.encode() not in files
            continue
        register = firm.open()
        with register.store:
            kinds = [event.act.kind for event in register.entries(case)]
            register.erase(case)
            kept = register.personal_details(case)
        assert kept == ({} if "personal-details-erased" in kinds else {0: {"name": secret}})


def look_at_labels(firm: Firm, told: Told) -> None:
    """The register knows every label that was answered, and its file is in its place."""
    register = firm.open()
    with register.store:
        for answer in answers(told):
            (label,) = answer["labels"]
            (act,) = [
                event.act
                for event in register.entries(case_of(label["thing"]))
                if event.number == label["entry"]
            ]
            assert (act.kind, act.labels()) == ("labelled", (label["code"], label["thing"]))
            assert register.thing_of_label(label["code"]) == label["thing"]
            assert Path(*answer["files"]).stat().st_size
    # Nothing hangs on a bag that the register cannot read: the entry is there before its file.
    for file in firm.folder.glob("label-*.png"):
        with Image.open(file) as drawn:
            (read,) = decode(drawn, decoders=(Decoder.ZXING,))
        register = firm.open()
        with register.store:
            assert register.thing_of_label(read.text) is not None, file
        file.unlink()


def look_at_copies(firm: Firm, told: Told) -> None:
    """What bears a copy's name is one, whole, and every one that was answered is there."""
    copies = [folder for folder in firm.folder.glob("copy-*") if "unfinished" not in folder.name]
    assert {answer["register"] for answer in answers(told)} <= {
        str(folder / "register.db") for folder in copies
    }
    leaves = firm.leaves()
    for folder in copies:
        copy = type(firm)(folder)
        assert copy.leaves() == leaves[: copy.size()]
        assert copy.verify().codes == ()
        shutil.rmtree(folder)


DEEDS = {
    "append": Deed(0.01, 2),
    "batch": Deed(0.03, 10, acknowledged=lambda told: [ack for acks in told for ack in acks]),
    "count": Deed(0.04, 1, acknowledged=nothing, look=look_at_counts),
    "label": Deed(0.2, 1, acknowledged=nothing, look=look_at_labels),
    "erase": Deed(
        0.04,
        1,
        frozenset({ORPHAN, "disclosure-erased-kept"}),
        acknowledged=lambda told: [one[3:] for one in told],
        look=look_at_details,
    ),
    "publish": Deed(0.04, 2),
    "backup": Deed(0.04, 0, acknowledged=nothing, look=look_at_copies),
    "scan": Deed(0.02, 1),
}


def check(firm: Firm, deed: Deed, told: Told, before: int) -> None:
    """Everything acknowledged is there, nothing is by halves, and the register is sound."""
    report = firm.verify()
    assert report.sound, report.findings
    assert set(report.codes) <= deed.remarks
    leaves = firm.leaves()
    acknowledged = deed.acknowledged(told)
    assert all(leaves[position] == leaf for position, leaf in acknowledged)
    last = max([before - 1, *(position for position, _ in acknowledged)])
    if acknowledged or not told:
        # Behind the last act told stand its own copies in other cases, and one act more.
        assert len(leaves) - 1 - last < max(1, 2 * deed.entries)
    with SqliteStore.open(firm.path) as store:
        assert store.integrity() == []


def killed(nursery: Nursery, chance: random.Random, takes: float, *job: Any) -> Told:
    """What a child told that was killed somewhere between its birth and its fourth act's end."""
    child = nursery.start(*job)
    for _ in range(chance.randrange(MOST_TOLD + 1)):
        child.next()
    assert child.listen(time.monotonic() + chance.random() * takes), "it ended by itself"
    return child.kill()


@pytest.mark.parametrize("name", DEEDS)
def test_a_killed_program_leaves_what_it_told_and_nothing_by_halves(
    name: str, nursery: Nursery, another: Callable[[], Firm]
) -> None:
    deed = DEEDS[name]
    chance = random.Random(f"{SEED} {name}")
    acknowledged, firm = 0, another()
    for number in range(KILLS // (len(DEEDS) + 1)):
        if number % FRESH_EVERY == 0:
            firm = another()
        before = firm.size()
        told = killed(nursery, chance, deed.takes, name, firm.folder, number)
        acknowledged += len(told)
        check(firm, deed, told, before)
        deed.look(firm, told)
        firm.sighted()
    print(f"{name}: {acknowledged} acknowledged")


def test_a_program_killed_while_it_brings_the_layout_up_leaves_the_old_one_or_the_new(
    nursery: Nursery, another: Callable[[], Firm]
) -> None:
    chance = random.Random(f"{SEED} migrate")
    for number in range(KILLS // (len(DEEDS) + 1)):
        firm = another()
        size = firm.size()
        told = killed(nursery, chance, 0.03, "migrate", firm.folder, number)
        ((versions, (rows, placed), stand, problems, codes),) = nursery.run("layouts", firm.folder)
        assert versions == [3, 3]
        assert (rows, placed) == (size, 0)
        assert problems == []
        # The invented later layout has tables that the verification here rightly does not know.
        assert set(codes) - {"layout-differs"} <= {ORPHAN}
        assert all(position < stand for position, _ in told)
        ((goes_on, _),) = nursery.run("append_later", firm.folder)
        assert goes_on == stand


def test_a_second_writer_goes_on_while_others_are_killed_beside_it(
    nursery: Nursery, firm: Firm
) -> None:
    chance = random.Random(SEED)
    survivor = nursery.start("append", firm.folder, 0, "m2")
    survivor.next()
    told = []
    for seed in range(max(4, KILLS // 8)):
        told += killed(nursery, chance, 0.02, "append", firm.folder, seed)
        survivor.next(within=5)
    told += survivor.kill()
    leaves = firm.leaves()
    assert all(leaves[position] == leaf for position, leaf in told)
    report = firm.verify()
    assert report.sound
    assert set(report.codes) <= {ORPHAN}


@pytest.mark.parametrize("after", range(1, 2 + KILLS // 20))
def test_the_installed_command_killed_in_the_middle_loses_nothing_it_told(
    after: int, firm: Firm
) -> None:
    begun = firm.size()
    lines = firm.folder / "many.jsonl"
    lines.write_bytes(b'{"kind":"sighted","things":["2026-0001.1"]}\n' * 20_000)
    with subprocess.Popen(
        [COMMAND, "record", str(lines), "--json", "--as", "m1"],
        env=os.environ | {"CONTINUITY_REGISTER": str(firm.path), "CONTINUITY_KEYS": str(firm.keys)},
        stdout=subprocess.PIPE,
    ) as program:
        told = [program.stdout.readline() for _ in range(after)]
        time.sleep(random.Random(f"{SEED} {after}").random() * 0.05)
        program.kill()
        told += program.stdout.read().splitlines(keepends=True)
    assert program.returncode == -signal.SIGKILL
    whole = [json.loads(one) for one in told if one.endswith(b"\n")]
    assert len(whole) >= after
    leaves = firm.leaves()
    assert [leaves[one["position"]] for one in whole] == [one["leaf"] for one in whole]
    assert len(leaves) - begun - len(whole) in (0, 1)
    assert firm.verify().codes == ()
    firm.sighted()
