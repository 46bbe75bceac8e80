"""Every register and entry that a release wrote is read for ever, and read as it was meant.

What `released/` holds is written by `tests.store.released.make`, once a release. No layout and no
entry of before version 0.1.0 was ever in anybody's hands.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from importlib.metadata import version
from pathlib import Path

import pytest

from continuity.audit.trust import Trust
from continuity.audit.verify import verify
from continuity.care.entries import KINDS
from continuity.errors import NewerRegisterError
from continuity.ledger.chain import read_entry
from continuity.ledger.checkpoint import cosigner_key
from continuity.register import Register
from continuity.store import schema
from continuity.store.sqlite import SqliteStore, personal_path
from continuity_cli.main import run
from tests import second_verifier
from tests.audit.dossier.scenario import PIN, REGISTER_KEY, WITNESS
from tests.store.released.make import acts, answers, dumped, make, restored

RELEASED = Path(__file__).with_name("released")
RELEASES = sorted(path.parent for path in RELEASED.glob("*/register.sql"))
LAYOUTS = {"0.1.0": 1}
"""Each release's layout. A release is never taken out of here."""

MEANT = (
    "a released register is answered otherwise, as by a new finding; if that is meant, run"
    " `python -m tests.store.released.make --answers` and read what changes with git diff"
)

each_release = pytest.mark.parametrize("release", RELEASES, ids=lambda path: path.name)


def kept(release: Path, name: str):
    return json.loads((release / name).read_text(encoding="utf-8"))


def layout(path: Path) -> int:
    with closing(sqlite3.connect(path)) as database:
        return database.execute("PRAGMA user_version").fetchone()[0]


def tables(path: Path) -> dict[str, str]:
    with closing(sqlite3.connect(path)) as database:
        found = database.execute("SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL")
        return dict(found.fetchall())


def test_every_release_and_every_layout_is_kept() -> None:
    assert [release.name for release in RELEASES] == sorted(LAYOUTS)
    assert version("continuity") in LAYOUTS, (
        "run python -m tests.store.released.make, and name the release's layout in LAYOUTS"
    )
    assert set(LAYOUTS.values()) == set(range(1, schema.VERSION + 1))
    assert len(schema.REGISTER.steps) == len(schema.PERSONAL.steps) == schema.VERSION - 1


@each_release
def test_a_released_register_is_brought_up_and_sound(release: Path, path: Path) -> None:
    restored(release, path)
    assert layout(path) == layout(personal_path(path)) == LAYOUTS[release.name]
    trust = Trust(
        register_key=REGISTER_KEY.verify_key, witnesses=(cosigner_key(WITNESS.verify_key),)
    )
    with SqliteStore.open(path) as store:
        assert store.integrity() == []
        report = verify(store, trust, processes=1)
        assert (report.sound, report.codes) == (True, ())
        assert [anchor.words for anchor in report.anchors if "witness" in anchor.words]
    assert layout(path) == layout(personal_path(path)) == schema.VERSION
    assert second_verifier.verify(path, PIN).broken == []


@each_release
def test_a_released_register_has_the_present_layout_once_it_is_brought_up(
    release: Path, path: Path, tmp_path: Path
) -> None:
    """And so a layout cannot be changed without a new version, and a step that leads to it."""
    SqliteStore.open(restored(release, path)).close()
    SqliteStore.create(tmp_path / "new", "example-mortuary").close()
    for part in (Path, personal_path):
        assert tables(part(path)) == tables(part(tmp_path / "new"))


@each_release
def test_a_released_register_answers_as_it_did(release: Path, path: Path) -> None:
    register = Register.open(restored(release, path))
    with register.store:
        told = answers(register)
    assert json.loads(json.dumps(told)) == kept(release, "answers.json"), MEANT


@each_release
def test_every_kind_of_entry_of_a_release_says_what_it_said(release: Path, path: Path) -> None:
    notes = {file.stem: file.read_bytes() for file in (release / "entries").iterdir()}
    assert set(notes) <= set(KINDS), "an old kind stays readable for ever"
    assert acts(notes) == kept(release, "entries.json")
    with closing(sqlite3.connect(restored(release, path))) as database:
        written = {note for (note,) in database.execute("SELECT note FROM entry")}
    assert set(notes.values()) <= written


def test_a_release_that_is_kept_is_never_written_over() -> None:
    with pytest.raises(SystemExit, match=r"^0\.1\.0 is kept; raise the version in pyproject.toml$"):
        make(RELEASED / "0.1.0")


def test_a_release_is_kept_only_with_an_entry_of_every_kind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of the releases before it a new kind asks nothing."""
    monkeypatch.setattr("tests.store.released.make.KINDS", (*KINDS, "sung-to"))
    with pytest.raises(SystemExit, match=r"sung-to: .* tests/audit/formats/history.py"):
        make(tmp_path / "9.0.0")
    assert list(tmp_path.iterdir()) == []


@each_release
def test_the_second_verifier_reads_the_same_in_every_entry(release: Path) -> None:
    for file in sorted((release / "entries").iterdir()):
        ours, note = read_entry(file.read_bytes())
        theirs = second_verifier.read_entry(0, file.read_bytes())
        assert theirs.body["details"] == ours.details, file.name
        assert (theirs.kind, theirs.case, theirs.number) == (ours.kind, ours.case, ours.number)
        assert (theirs.occurred_at, theirs.recorded_at) == (ours.occurred_at, ours.recorded_at)
        assert tuple(theirs.signers) == ours.signers
        assert len(theirs.signatures) == len(note.signatures)


@pytest.mark.parametrize("part", [Path, personal_path])
@pytest.mark.parametrize(
    "words", [["case", "2026-0001"], ["verify"], ["record", "sighted", "--thing", "2026-0001.1"]]
)
def test_a_later_programs_register_is_refused_in_one_line(
    words: list[str],
    part,
    path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    restored(RELEASES[-1], path)
    with closing(sqlite3.connect(part(path), isolation_level=None)) as database:
        database.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
    before = dumped(part(path))
    with pytest.raises(NewerRegisterError):
        SqliteStore.open(path)
    monkeypatch.setenv("CONTINUITY_REGISTER", str(path))
    assert run(words) == 3
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err == (
        f"continuity: {part(path)} has layout {schema.VERSION + 1} and this program knows layouts"
        f" up to {schema.VERSION}; use the later program.\n"
    )
    assert dumped(part(path)) == before
