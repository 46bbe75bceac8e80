"""Keep a release's register for ever: `python -m tests.store.released.make`.

Run it once for each version of the program that is released, before it is. It writes a folder that
bears the version's name, in which nothing is ever changed again:

    register.sql, personal.sql   the two files of a register in which every kind of entry occurs
    entries/KIND.note            the first entry of each kind, byte for byte
    entries.json                 what each of those says, with every field that was left out
    answers.json                 what the register was asked, and what it answered

A later program must bring the register up to its own layout, find it sound, and read each entry and
answer each question as this one did; `tests/store/test_store_released.py` asks it. Where a later
program means to answer otherwise (a finding more, a sentence mended), `--answers` writes the answers
anew, and of them alone, from every release's register.

Nobody and nothing in it is real.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import sys
import tempfile
from contextlib import closing
from importlib.metadata import version
from pathlib import Path
from typing import Any

from continuity.audit.anchors import attach_cosignatures
from continuity.care.entries import KINDS, read_act
from continuity.care.policy import default
from continuity.ledger.chain import read_entry
from continuity.ledger.checkpoint import cosign, cosigner_key
from continuity.ledger.keys import SigningKey
from continuity.ledger.note import Note
from continuity.recording import Signatory
from continuity.register import Register
from continuity.store.sqlite import SqliteStore, personal_path
from continuity_cli.answers import case as cases
from continuity_cli.answers import closing_check
from continuity_cli.asked import Asked
from tests.audit.dossier.scenario import REGISTER, WITNESS
from tests.audit.formats.history import every_kind

UNERASED = "2026-0003"
"""A case whose personal details are kept; those of the told one are erased."""

HERE = Path(__file__).parent
FILES = {"register.sql": Path, "personal.sql": personal_path}
"""Each dump, and what gives its file's path from the register's."""


def make(folder: Path) -> None:
    """Write a release's folder, whole or not at all.

    Raises:
        SystemExit: it is there, or a kind of entry does not occur in what it would keep.
    """
    if folder.exists():
        raise SystemExit(f"{folder.name} is kept; raise the version in pyproject.toml")
    with tempfile.TemporaryDirectory() as name:
        path, new = Path(name, "register"), Path(name, folder.name)
        (new / "entries").mkdir(parents=True)
        with SqliteStore.create(path, REGISTER) as store:
            firm, _ = every_kind(store)
            tell_house(firm)
        for dump, part in FILES.items():
            (new / dump).write_text(dumped(part(path)), encoding="utf-8")
        told = read(new)
        if absent := sorted(set(KINDS) - set(told["notes"])):
            raise SystemExit(
                f"{', '.join(absent)}: no such entry in the register to be kept; let it happen in"
                " tests/audit/formats/history.py, or in `tell_house` if it is the register's own"
            )
        for kind, note in told["notes"].items():
            (new / "entries" / f"{kind}.note").write_bytes(note)
        write(new / "entries.json", told["acts"])
        write(new / "answers.json", told["answers"])
        shutil.copytree(new, folder)


def tell_house(firm: Any) -> None:
    """What happens in the register's own chain beside a case's story."""
    new = SigningKey.from_seed("m2", bytes([77]) * 32)
    old = firm.people["m2"].key
    firm.people["m2-new"] = Signatory("m2", new)
    firm.record("key-replaced", "d1 m2-new", key=str(new.verify_key), replaces=old.reference)
    firm.record("key-revoked", "d1", key=new.reference, reason="left the firm")
    firm.record("policy-adopted", "d1", policy=default().model_dump(mode="json"))
    name = {"name": "Alma Kestrel (invented)"}
    firm.record("case-opened", number=UNERASED, disposition="burial", personal=name)
    firm.publish()
    witnessed = [cosigner_key(WITNESS.verify_key)]
    attach_cosignatures(firm.register.store, cosigned(firm.register.store), witnessed)
    size = firm.register.store.head().size
    restored = {"guard_size": size + 9, "guard_root": "5e" * 32, "size": size}
    firm.record("register-restored", "d1 d2", **restored, reason="the disk broke (invented)")
    firm.publish()


def cosigned(store: SqliteStore) -> bytes:
    """The latest checkpoint with an invented witness's signature under it."""
    row = store.latest_checkpoint()
    assert row is not None
    return cosign(Note.parse(row.note), WITNESS, 1_780_000_000).encode()


def dumped(path: Path) -> str:
    """A file as SQL, with what SQLite keeps of it outside its tables."""
    with closing(sqlite3.connect(path)) as database:
        kept = [
            f"PRAGMA {name} = {database.execute(f'PRAGMA {name}').fetchone()[0]};"
            for name in ("application_id", "user_version", "journal_mode")
        ]
        return "\n".join([*kept, *database.iterdump(), ""])


def restored(folder: Path, path: Path) -> Path:
    """Make a release's register anew at a path, as it was."""
    for dump, part in FILES.items():
        with closing(sqlite3.connect(part(path), isolation_level=None)) as database:
            database.executescript((folder / dump).read_text(encoding="utf-8"))
    return path


def read(folder: Path) -> dict[str, Any]:
    """What the present program reads in a release's register."""
    with tempfile.TemporaryDirectory() as name:
        register = Register.open(restored(folder, Path(name, "register")))
        with register.store:
            notes: dict[str, bytes] = {}
            for stored in register.store.scan():
                notes.setdefault(stored.kind, stored.note)
            return {"notes": notes, "acts": acts(notes), "answers": answers(register)}


def acts(notes: dict[str, bytes]) -> dict[str, Any]:
    """What each entry says, with every field that was left out at its default."""
    read = {}
    for kind, note in sorted(notes.items()):
        entry, _ = read_entry(note)
        act = read_act({"kind": entry.kind, **entry.details})
        read[kind] = act.model_dump(mode="json")
    return read


def answers(register: Register) -> dict[str, Any]:
    """What the register answers about each case, as of its last entry."""
    store, numbers = register.store, register.case_numbers()
    moment = max(event.recorded_at for number in numbers for event in register.entries(number))
    told = {}
    for number in numbers:
        asked = Asked(number, known=moment)
        folded = asked.read(register)
        case = dict(cases.answer(folded, asked, store.head().size))
        check = dict(
            closing_check.answer(register.closing_check(number, known_until=moment), asked)
        )
        told[number] = {
            "case": case | {"irregularities": wordless(case["irregularities"])},
            "entries": cases.entries_answer(folded, register.entries(number), asked),
            "personal": {str(n): d for n, d in register.personal_details(number).items()},
            "closing-check": check | {"findings": wordless(check["findings"])},
        }
    return told


def wordless(told: list[Any]) -> list[Any]:
    """Findings, or irregularities, without their sentences: those may be mended at any time."""
    return [{k: v for k, v in one.items() if k not in ("what", "mend")} for one in told]


def write(path: Path, value: Any) -> None:
    """Write JSON that a person can read the changes of."""
    text = json.dumps(value, ensure_ascii=True, indent=1, sort_keys=True)
    path.write_text(f"{text}\n", encoding="utf-8")


if __name__ == "__main__":
    if sys.argv[1:] == ["--answers"]:
        for release in sorted(path.parent for path in HERE.glob("*/answers.json")):
            write(release / "answers.json", read(release)["answers"])
    else:
        make(HERE / version("continuity"))
