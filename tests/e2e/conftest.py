"""The installed command, run as whoever uses it runs it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.cli.conftest import furnish

COMMAND = Path(sys.executable).with_name("continuity")


@dataclass(frozen=True)
class Ended:
    """How a command ended."""

    status: int
    out: str
    err: str

    @property
    def error(self) -> str:
        """The one line on standard error, without the program's name."""
        assert self.err.endswith("\n"), self.err
        assert self.err.count("\n") == 1, self.err
        assert self.err.startswith("continuity: "), self.err
        assert "Traceback" not in self.err
        return self.err.removeprefix("continuity: ").rstrip("\n")


@dataclass
class Installed:
    """The command with an environment of its own; `settings` are added to it."""

    folder: Path
    settings: dict[str, str] = field(default_factory=dict)

    @property
    def register(self) -> Path:
        return self.folder / "register.db"

    @property
    def environment(self) -> dict[str, str]:
        kept = {
            name: value
            for name, value in os.environ.items()
            if not name.startswith(("CONTINUITY_", "_CONTINUITY")) and "COLOR" not in name
        }
        return kept | {
            "CONTINUITY_REGISTER": str(self.register),
            "CONTINUITY_KEYS": str(self.folder / "keys"),
            "CONTINUITY_PERSON": "m1",
            "XDG_DATA_HOME": str(self.folder / "data"),
            **self.settings,
        }

    def __call__(self, *words: object, stdin: bytes = b"") -> Ended:
        done = subprocess.run(
            [COMMAND, *map(str, words)],
            input=stdin,
            capture_output=True,
            env=self.environment,
            cwd=self.folder,
            timeout=60,
            check=False,
        )
        return Ended(done.returncode, done.stdout.decode(), done.stderr.decode())


@pytest.fixture(scope="session")
def firm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("firm")
    furnish(folder)
    return folder


@pytest.fixture
def installed(firm: Path, tmp_path: Path) -> Installed:
    shutil.copytree(firm, tmp_path, dirs_exist_ok=True)
    return Installed(tmp_path)
