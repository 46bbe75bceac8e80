"""Pages of a register damaged at random: what is then told is as it was, or is told as damage.

A seed picks the same pages and bits in every run. `make crashes` tries more of them.
"""

from __future__ import annotations

import os
import random
from typing import TYPE_CHECKING, Any

import pytest

from continuity.audit.report import Finding

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.faults.firm import Firm
    from tests.faults.nursery import Nursery

KILLS = int(os.environ.get("CONTINUITY_KILLS", "0"))
SEEDS = range(int(os.environ.get("CONTINUITY_SEED", "0")), KILLS or 16)
FOUND = (102, 121, 306, 342, 423, 999)  # damage that once led to a wrong answer, or a traceback
PAGE = 4096  # bytes

READING = (
    ["case", "2026-0001", "--json", "--entries", "--personal"],
    ["closing-check", "2026-0001", "--json", "--at", "2099-01-01T00:00:00Z"],
    ["custody", "2026-0002", "--json"],
    ["verify", "--json"],
)
WRITING = (
    ["count", "table-1", "2026-0001.1", "--as", "m1", "--json"],
    ["record", "sighted", "--thing", "2026-0001.1", "--as", "m1"],
)


@pytest.fixture(scope="module")
def kept(
    template: Firm, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Firm, dict[str, Any], list[str]]:
    """A firm with some history, what each question is answered, and its leaves."""
    from tests.faults.nursery import Nursery  # noqa: PLC0415 - one of its own, for the module

    firm = template.copy(tmp_path_factory.mktemp("kept"))
    nursery = Nursery()
    try:
        nursery.run("append", firm.folder, 5, "m1", 60)
        firm.leaves()  # the write-ahead log is emptied when the last who used it closes
        answers = {words[0]: nursery.run("command", firm.folder, words)[0][:2] for words in READING}
    finally:
        nursery.close()
    assert {word: status for word, (status, _) in answers.items()} == {
        "case": 0,
        "closing-check": 1,
        "custody": 0,
        "verify": 0,
    }
    return firm, answers, firm.leaves()


def damaged(content: bytes, chance: random.Random) -> bytes:
    """Spoil bits, or a whole page as a disk does, or the file's end."""
    spoilt = bytearray(content)
    pages = [slice(at, at + PAGE) for at in range(0, len(spoilt), PAGE)]
    one, other = chance.sample(pages, 2)
    match chance.choice(["bits", "bits", "zeros", "noise", "places", "end"]):
        case "bits":
            for _ in range(chance.choice([1, 4, 32])):
                spoilt[chance.randrange(len(spoilt))] ^= 1 << chance.randrange(8)
        case "zeros":
            spoilt[one] = bytes(PAGE)
        case "noise":
            spoilt[one] = chance.randbytes(PAGE)
        case "places":
            spoilt[one], spoilt[other] = bytes(spoilt[other]), bytes(spoilt[one])
        case "end":
            del spoilt[one.start + chance.randrange(PAGE) :]
    return bytes(spoilt)


@pytest.mark.parametrize("seed", [*SEEDS, *FOUND])
def test_what_is_damaged_is_never_answered_otherwise_than_it_was(
    seed: int, nursery: Nursery, kept: tuple[Firm, dict[str, Any], list[str]], tmp_path: Any
) -> None:
    original, answers, leaves = kept
    chance = random.Random(seed)
    firm = original.copy(tmp_path / "firm")
    path = firm.path if seed % 4 else firm.folder / "register.db.personal"
    path.write_bytes(damaged(path.read_bytes(), chance))
    for words in (*READING, *WRITING):
        ((status, out, err, _),) = nursery.run("command", firm.folder, words)
        assert "Traceback" not in err
        if status == 3:
            assert out == ""
            assert err.count("\n") == 1
        elif words[0] == "verify" and status == 1:
            assert '"sound": false' in out
        elif words in READING:
            assert [status, out] == answers[words[0]], (words[0], err)
        else:
            assert status in (0, 1), err
    report = check(firm)
    if report is not None and report.sound:
        assert firm.leaves()[: len(leaves)] == leaves


def check(firm: Firm) -> Any:
    from continuity.errors import RegisterError  # noqa: PLC0415

    try:
        return firm.verify()
    except RegisterError:
        return None


@pytest.mark.parametrize("case", [b"\x00\xff", 7.5, None, 3, "a"])
def test_a_finding_about_a_damaged_row_can_be_told_in_json(case: Any) -> None:
    told = Finding("case-head-differs", "It is damaged.", case=case).as_json()["case"]
    assert told in (case, repr(case))
    assert told is None or type(told) in (int, str)


def test_the_seeds_damage_both_files_in_every_way(another: Callable[[], Firm]) -> None:
    content = another().path.read_bytes()
    results = [damaged(content, random.Random(seed)) for seed in range(24)]
    assert all(result != content for result in results)
    assert any(len(result) < len(content) for result in results)
