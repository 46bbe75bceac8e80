"""The command `dossier`: what it writes, what it shows, and what it refuses."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import pytest
from scenario import CASE, PIN, REGISTER, whole

from continuity.audit.dossier.reading import read_dossier, verify
from continuity.audit.trust import Trust
from continuity.audit.version import made_with
from continuity.ledger.keys import VerifyKey
from continuity.store.sqlite import SqliteStore
from continuity_cli.main import run

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


class Answer(NamedTuple):
    status: int
    out: bytes
    err: str


@pytest.fixture(scope="module")
def register(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("register") / "register.db"
    with SqliteStore.create(path, REGISTER) as store:
        whole(store=store)
    return path


@pytest.fixture
def ask(register: Path, capfdbinary: pytest.CaptureFixture[bytes]) -> Callable[..., Answer]:
    def dossier(*words: object) -> Answer:
        capfdbinary.readouterr()
        status = run(["dossier", *map(str, words), "--register", str(register)])
        out, err = capfdbinary.readouterr()
        return Answer(status, out, err.decode())

    return dossier


def test_it_writes_a_page_that_verifies(ask: Callable[..., Answer], tmp_path: Path) -> None:
    file = tmp_path / "case.html"
    answer = ask(CASE, "-o", file, "--disclose", "name")
    assert answer.status == 0
    assert answer.err == ""
    lines = answer.out.decode().splitlines()
    assert lines[0] == f"dossier of case {CASE}: {file}"
    assert lines[1].startswith("sound in 25 entries of the case, 25 of them under the checkpoint")
    assert lines[2:] == [
        "personal details disclosed: name",
        "personal details withheld: date-of-birth, next-of-kin, recipient",
    ]
    report = verify(file.read_bytes(), Trust(VerifyKey.parse(PIN)))
    assert report.codes == ()


def test_no_personal_detail_is_shown_unless_it_is_named(
    ask: Callable[..., Answer], tmp_path: Path
) -> None:
    file = tmp_path / "case.html"
    ask(CASE, "-o", file)
    page = file.read_bytes()
    for secret in (b"Brandauer", b"1951-07-09", b"a daughter, named in the papers"):
        assert secret not in page
    assert read_dossier(page).disclosures == ()
    everything = tmp_path / "all.html"
    ask(CASE, "-o", everything, "--disclose-all")
    assert b"Brandauer" in everything.read_bytes()
    assert len(read_dossier(everything.read_bytes()).disclosures) == 4


def test_the_machine_part_goes_to_standard_output(
    ask: Callable[..., Answer], tmp_path: Path
) -> None:
    answer = ask(CASE, "--json", "--pdf", tmp_path / "case.pdf")
    assert answer.status == 0
    assert verify(answer.out).codes == ()
    assert answer.err.startswith(f"dossier of case {CASE}: {tmp_path}/case.pdf\nsound in 25")
    assert (tmp_path / "case.pdf").read_bytes().startswith(b"%PDF-")


def test_what_it_cannot_do_is_said_in_one_line(ask: Callable[..., Answer], tmp_path: Path) -> None:
    there = tmp_path / "there.html"
    there.write_bytes(b"mine")
    for words, sentence in (
        ((CASE, "-o", there), "something stands there already; name a new file"),
        ((CASE,), "name a file to write"),
        (("2026-0009", "-o", tmp_path / "x"), "case 2026-0009: no such case"),
        ((CASE, "-o", tmp_path / "x", "--disclose", "nam"), "nam: the case has no such"),
        ((CASE, "-o", tmp_path / "no" / "x"), "No such file or directory"),
    ):
        answer = ask(*words)
        assert answer.status == 2
        assert answer.out == b""
        assert sentence in answer.err
        assert answer.err.count("\n") == 1
    assert there.read_bytes() == b"mine"
    assert not (tmp_path / "x").exists()


def test_verify_reads_the_file(
    ask: Callable[..., Answer], tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    file = tmp_path / "case.html"
    ask(CASE, "-o", file)
    capfdbinary.readouterr()
    assert run(["verify", str(file), "--key", PIN]) == 0
    assert b"SOUND" in capfdbinary.readouterr().out
    altered = tmp_path / "altered.html"
    altered.write_bytes(
        file.read_bytes().replace(b"was inspected: leak", b"was inspected: no leak")
    )
    assert run(["verify", str(altered), "--key", PIN]) == 1
    assert b"page-differs" in capfdbinary.readouterr().out
    anew = tmp_path / "anew.html"
    assert run(["verify", str(altered), "--key", PIN, "--tell-anew", str(anew)]) == 1
    assert anew.read_bytes() == file.read_bytes()
    other = tmp_path / "other.html"
    other.write_bytes(altered.read_bytes().replace(made_with().encode(), b"continuity 0.0.9"))
    capfdbinary.readouterr()
    assert run(["verify", str(other), "--key", PIN]) == 1
    assert b"ENTRIES SOUND, WORDS NOT RELIED ON" in capfdbinary.readouterr().out
    broken = tmp_path / "broken.html"
    broken.write_bytes(file.read_bytes()[:90_000])
    assert run(["verify", str(broken), "--key", PIN]) == 2
