"""The command line within this process, on a register of an invented firm."""

from __future__ import annotations

import io
import json
import os
import shutil
import sys
import time
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from continuity.care.intent import read_intent
from continuity.clock import telling
from continuity.ledger.keys import SigningKey, save_private
from continuity.register import Register, Signatory
from continuity_cli.main import run
from continuity_labels.code import CodeBook, CodeType

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

REGISTER = "continuity-register/" + "5" * 32
START = datetime.fromisoformat("2026-03-02T08:00+00:00")

HOUSE = (
    {"kind": "place-named", "place": "table-1", "what": "table", "description": "table one"},
    {"kind": "place-named", "place": "cold-room", "what": "cold-room", "description": "cold"},
    {"kind": "holder-named", "holder": "coroner", "what": "coroner", "description": "coroner"},
    {
        "kind": "holder-named",
        "holder": "pathologist",
        "what": "pathologist",
        "description": "pathologist",
    },
)
ITEMS = (
    {"what": "decedent", "description": "adult"},
    {
        "what": "container",
        "form": "bag",
        "description": "viscera bag",
        "within": "#1",
        "found_seal": "88",
    },
    {"what": "viscera", "description": "viscera", "within": "#2", "inferred": True},
    {"what": "container", "form": "coffin", "description": "oak coffin"},
)
CASES = ("2026-0001", "2026-0002")


@dataclass(frozen=True)
class Told:
    """What a command answered."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)

    @property
    def error(self) -> str:
        """The one line on standard error."""
        assert self.err.count("\n") == 1, self.err
        assert self.err.startswith("continuity: ")
        return self.err.removeprefix("continuity: ").rstrip("\n")


@dataclass
class Tool:
    """The command line, as persons d1 (director), m1 and m2 (morticians) use it."""

    folder: Path
    capture: pytest.CaptureFixture[str]
    patch: pytest.MonkeyPatch
    now: list[datetime] = field(default_factory=lambda: [START + timedelta(hours=2)])

    @property
    def path(self) -> Path:
        return self.folder / "register.db"

    def __call__(self, *words: object, status: int | None = 0, stdin: str | bytes = "") -> Told:
        data = stdin.encode() if isinstance(stdin, str) else stdin
        self.patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data), "utf-8"))
        self.capture.readouterr()
        self.now[0] += timedelta(minutes=1)
        with telling(lambda: self.now[0]):
            got = run([str(word) for word in words])
        told = Told(got, *self.capture.readouterr())
        if status is not None:
            assert told.status == status, told
        return told

    def label(self, thing: str) -> str:
        """Put a label on a thing; its code, as it is scanned."""
        code = CodeBook(REGISTER).mint(CodeType.THING)
        self("record", "labelled", "--thing", thing, "--code", code.text)
        return code.text

    def size(self) -> int:
        """How many entries the register holds."""
        with Register.open(self.path).store as store:
            return store.head().size


def key(name: str, seed: int) -> SigningKey:
    return SigningKey.from_seed(name, bytes([seed]) * 32)


def furnish(folder: Path) -> None:
    """Write a register with two cases, each with a body, a bag in it, viscera and a coffin."""
    keys = folder / "keys"
    keys.mkdir(mode=0o700)
    own = {name: key(name, seed) for seed, name in enumerate(("d1", "m1", "m2"), 1)}
    for name, private in own.items():
        save_private(private, keys / f"{name}.key", None)
    save_private(key(REGISTER, 9), keys / "register.key", None)
    by = {name: Signatory(name, private) for name, private in own.items()}
    hour = [START]

    def clock() -> datetime:
        hour[0] += timedelta(minutes=1)
        return hour[0]

    with ExitStack() as held:
        held.enter_context(telling(clock))
        path = folder / "register.db"
        register = Register.create(path, "An invented firm", REGISTER, key(REGISTER, 9), by["d1"])
        held.enter_context(register.store)
        for name in ("m1", "m2"):
            fields = {"key": str(own[name].verify_key), "person": name, "role": "mortician"}
            register.record(read_intent({"kind": "key-enrolled", **fields}), [by["d1"], by[name]])
        intents = list(HOUSE)
        for case in CASES:
            intents.append({"kind": "case-opened", "number": case, "disposition": "burial"})
            received = {
                "giver": "coroner",
                "giver_signed": True,
                "place": "table-1",
                "items": ITEMS,
            }
            intents.append({"kind": "received", "case": case, **received})
        for fields in intents:
            register.record(read_intent(fields), [by["m1"]])


@pytest.fixture(scope="session")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("furnished")
    furnish(folder)
    return folder


@pytest.fixture
def bare(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Iterator[Tool]:
    """The command line without a register, in a zone an hour ahead of UTC."""
    for name in os.environ:
        if name.startswith(("CONTINUITY_", "_CONTINUITY")) or name.endswith("_COLOR"):
            monkeypatch.delenv(name)
    monkeypatch.setenv("CONTINUITY_REGISTER", str(tmp_path / "register.db"))
    monkeypatch.setenv("CONTINUITY_KEYS", str(tmp_path / "keys"))
    monkeypatch.setenv("CONTINUITY_PERSON", "m1")
    monkeypatch.setenv("TZ", "Etc/GMT-1")
    time.tzset()
    yield Tool(tmp_path, capsys, monkeypatch)
    monkeypatch.undo()
    time.tzset()


@pytest.fixture
def tool(bare: Tool, furnished: Path) -> Tool:
    """The command line on a register of its own with two cases."""
    shutil.copytree(furnished, bare.folder, dirs_exist_ok=True)
    return bare
