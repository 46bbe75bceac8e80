"""The pictures in the documentation are of the screens there are."""

from __future__ import annotations

import re
from importlib import resources
from typing import TYPE_CHECKING

from continuity_cli.station import screenshots

if TYPE_CHECKING:
    from pathlib import Path

PAGE = resources.files("continuity_cli.station").joinpath("STATION.md").read_text("utf-8")


def test_every_screen_is_drawn_and_shown_on_the_page(tmp_path: Path) -> None:
    drawn = list(screenshots.draw(tmp_path))
    names = [path.name for path in drawn]
    assert sorted(re.findall(r"\(screens/([a-z-]+\.svg)\)", PAGE)) == sorted(names)
    assert {path.name for path in screenshots.FOLDER.iterdir()} == set(names)
    texts = {path.stem: path.read_text("utf-8").replace("&#160;", " ") for path in drawn}
    for name, words in (
        ("ready", "last recorded: case 2031-0147"),
        ("pin", "type the PIN of d1"),
        ("recorded", "1 h 20 of 4 h 00"),
        ("wrong-case", "[wrong-case]"),
        ("old-label", "[superseded]"),
        ("timed-out", "nothing was recorded"),
        ("undone", "no longer holds"),
        ("closing-check", "still missing: "),
        ("clear", "scan CLOSING CHECK to sign it"),
        ("second", "a second person must sign"),
    ):
        assert words in texts[name], name
    assert not any("@font-face" in text or "4711" in text for text in texts.values())
