"""The demo ends as it says: every command as told, a receipt to take home, a forgery caught."""

from __future__ import annotations

from html import unescape
from typing import TYPE_CHECKING

import pytest

from continuity_cli.main import run
from continuity_cli.statuses import WRONG_INPUT, YES
from continuity_demo.show import TRANSCRIPT

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of one telling."""
    folder = tmp_path_factory.mktemp("demo") / "told"
    assert run(["demo", str(folder)]) == YES
    return folder


def test_every_command_ends_as_the_story_says(told: Path) -> None:
    transcript = (told / TRANSCRIPT).read_text("utf-8")
    assert "  !! " not in transcript
    assert "CLEAR   ===" in transcript
    assert "XXX   NOT CLEAR   XXX" in transcript
    assert transcript.count("===   SOUND   ===") == 1
    assert transcript.count("XXX   NOT SOUND   XXX") == 1


def test_the_receipt_is_of_the_hand_over_and_is_asked(told: Path) -> None:
    page = unescape((told / "receipt-for-the-carrier.html").read_text("utf-8"))
    assert "Case 2026-0001, entry 49: handed over" in page
    assert "(zinc-lined coffin) handed over to carrier (carrier to the airport), who signed" in page
    transcript = (told / TRANSCRIPT).read_text("utf-8")
    assert "that gave this receipt, and holds the entry at position" in transcript


def test_a_folder_with_something_in_it_is_left_alone(
    told: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = sorted(path.name for path in told.iterdir())
    assert run(["demo", str(told)]) == WRONG_INPUT
    assert "not empty; name another folder" in capsys.readouterr().err
    assert sorted(path.name for path in told.iterdir()) == before
