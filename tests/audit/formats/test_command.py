"""`continuity export`, as it is typed."""

from __future__ import annotations

import csv
import json
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from continuity.care.intent import read_intent
from continuity.clock import telling
from continuity.ledger.keys import SigningKey
from continuity.register import Register, Signatory
from continuity_cli.main import run
from tests.audit.formats.structure import events

if TYPE_CHECKING:
    from pathlib import Path

HOUR = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
REGISTER = "continuity-register/" + "6" * 32
CASE = "2026-0001"


@pytest.fixture
def register(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A register of an invented firm, with one case of three entries."""
    path = tmp_path / "register.db"
    monkeypatch.setenv("CONTINUITY_REGISTER", str(path))
    monkeypatch.delenv("CONTINUITY_GUARD", raising=False)
    director = Signatory("d1", SigningKey.from_seed("d1", bytes([1]) * 32))
    key = SigningKey.from_seed(REGISTER, bytes([9]) * 32)
    told = (
        {"kind": "place-named", "place": "table-1", "what": "table", "description": "table"},
        {"kind": "case-opened", "number": CASE, "personal": {"name": "Wanda Specht (invented)"}},
        {"kind": "provided", "case": CASE, "place": "table-1", "items": [
            {"what": "container", "form": "tub", "description": "covered tub"}]},
        {"kind": "sealed", "thing": f"{CASE}.1", "seal": "12", "remark": "=1+1"},
    )  # fmt: skip
    with telling(lambda: HOUR):
        made = Register.create(path, "An invented firm", REGISTER, key, director)
        with made.store:
            for fields in told:
                made.record(read_intent(fields), [director])
    return path


def asked(capfdbinary: pytest.CaptureFixture[bytes], *words: str) -> tuple[int, bytes, str]:
    with telling(lambda: HOUR):
        status = run(["export", *words])
    out, err = capfdbinary.readouterr()
    return status, out, err.decode()


def test_csv_to_standard_output(register, capfdbinary):
    status, out, err = asked(capfdbinary, CASE, "--as", "csv")
    assert (status, err) == (0, "")
    assert out.count(b"\r\n") == 4
    rows = list(csv.DictReader(out.decode().splitlines()))
    assert [row["kind"] for row in rows] == ["case-opened", "provided", "sealed"]


@pytest.mark.parametrize("form", ["csv", "jsonl", "prov", "epcis"])
def test_a_file_holds_what_standard_output_would(register, capfdbinary, form):
    out = asked(capfdbinary, CASE, "--as", form)[1]
    target = register.parent / f"case.{form}"
    assert asked(capfdbinary, CASE, "--as", form, "-o", str(target)) == (0, b"", "")
    assert target.read_bytes() == out
    assert b"Specht" not in out
    assert out.endswith(b"\n")


def test_a_thing_stands_for_its_case(register, capfdbinary):
    status, out, _ = asked(capfdbinary, f"{CASE}.1", "--as", "jsonl")
    assert status == 0
    assert [json.loads(line)["number"] for line in out.splitlines()] == [0, 1, 2]


def test_epcis_says_when_it_was_made_and_takes_the_firms_own_base(register, capfdbinary):
    base = "https://records.example/custody"
    document = json.loads(asked(capfdbinary, CASE, "--as", "epcis", "--base", base)[1])
    assert document["creationDate"] == "2026-03-02T08:00:00.000Z"
    assert events(document)[1]["epcList"] == [f"{base}/obj/{CASE}.1"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["2026-0009", "--as", "csv"], "2026-0009"),
        ([CASE], "--as"),
        ([CASE, "--as", "xml"], "xml"),
        ([CASE, "--as", "csv", "--base", "https://a.example"], "csv names nothing by a URL"),
        ([CASE, "--as", "prov", "--base", "nowhere"], "give a URL of a domain that is yours"),
    ],
)
def test_what_is_wrong_is_told_in_a_line(register, capfdbinary, words, says):
    status, out, err = asked(capfdbinary, *words)
    assert (status, out) == (2, b"")
    assert says in err
    assert err.count("\n") == 1


def test_nothing_is_written_over(register, capfdbinary):
    before = register.read_bytes()
    status, _, err = asked(capfdbinary, CASE, "--as", "csv", "-o", str(register))
    assert status == 2
    assert "something stands there already" in err
    assert register.read_bytes() == before


def test_what_was_not_finished_is_taken_away(register, capfdbinary):
    target = register.parent / "case.json"
    words = [CASE, "--as", "epcis", "--base", "nowhere", "-o", str(target)]
    assert asked(capfdbinary, *words)[0] == 2
    assert not target.exists()
