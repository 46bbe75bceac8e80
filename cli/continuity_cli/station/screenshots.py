"""Draw each screen of the station as SVG: `python -m continuity_cli.station.screenshots [FOLDER]`.

An invented firm with invented cases at a fixed hour, so that the pictures change only when the
screen does. Colours are Textual's own; no font is fetched when they are looked at.
"""

from __future__ import annotations

import asyncio
import re
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from continuity.care.intent import read_intent
from continuity.ledger.keys import SigningKey, save_private
from continuity.register import Register, Signatory
from continuity.store.memory import MemoryStore
from continuity_cli.labelling.codes import badge_code, holder_code, place_code
from continuity_cli.station.desk import Desk
from continuity_cli.station.screen import Station
from continuity_labels.actions import Action, action_code
from continuity_labels.code import Code, CodeBook, CodeType

if TYPE_CHECKING:
    from collections.abc import Iterator

    from textual.pilot import Pilot

    from continuity_cli.station.answer import Tone

FOLDER = Path(__file__).with_name("screens")
SIZE = (100, 30)
_FIRM = "An invented firm"
_REGISTER = "continuity-register/" + "0" * 32
_CASES = ("2031-0147", "2031-0148")
_ITEMS: tuple[dict[str, Any], ...] = (
    {"what": "decedent", "description": "adult"},
    {"what": "container", "form": "bag", "description": "viscera bag", "within": "#1"},
    {"what": "viscera", "description": "viscera", "within": "#2"},
    {"what": "container", "form": "tub", "description": "treatment tub"},
    {"what": "container", "form": "coffin", "description": "oak coffin"},
)
_ON_THE_TAG = ("name", "date-of-birth", "case-number")
_NAMES = ("body", "bag", "viscera", "tub", "coffin")

SHOTS: tuple[tuple[str, str], ...] = (
    ("ready", ""),
    ("pin", "d1"),
    ("go-on", '"4711", m1, OUT, viscera'),
    ("recorded", 'tub, IMMERSE, "3.7", tub, +4800, m1, tub, store'),
    ("wrong-case", "bag, other-tub"),
    ("found", "+3, FOUND"),
    ("identify", "+3, IDENTIFY, body"),
    ("inspected", "CANCEL, +3, LEAK, ODOUR, bag"),
    ("refused", "SEAL, body"),
    ("old-label", "old-bag"),
    ("timed-out", "viscera, +31"),
    ("undone", "bag, body, +3, UNDO"),
    ("closing-check", "CLOSING CHECK, body, coffin"),
    (
        "clear",
        "CANCEL, +3, whole, clear-body, clear-coffin, CLOSING CHECK, clear-body, clear-coffin",
    ),
    ("second", "CLOSING CHECK"),
)
"""Each picture's name, and what is scanned since the one before: names, `+seconds`, "typed"."""


class _Scene:
    """The invented firm, its clocks, and its codes by name."""

    def __init__(self, keys: Path) -> None:
        self.seconds = 0.0
        self.began = datetime(2031, 4, 2, 9, 12, tzinfo=UTC)
        self.signs = {
            person: Signatory(person, SigningKey.from_seed(person, bytes([seed]) * 32))
            for seed, person in enumerate(("d1", "m1", "m2"), 1)
        }
        for person, signatory in self.signs.items():
            save_private(signatory.key, keys / f"{person}.key", b"4711" if person == "d1" else None)
        register_key = SigningKey.from_seed(_REGISTER, bytes([9]) * 32)
        store = MemoryStore(_REGISTER)
        self.register = Register.start(store, _FIRM, register_key, self.signs["d1"], self.now)
        self.book = CodeBook(_REGISTER)
        self.codes: dict[str, str] = {}
        self._furnish()
        for number, prefix in zip(_CASES, ("", "other-"), strict=True):
            self._open(number, prefix, _ITEMS, _NAMES)
        self._open("2031-0149", "clear-", (_ITEMS[0], _ITEMS[4]), ("body", "coffin"))
        self._done_but_the_closing("2031-0149")
        later = self._label("2031-0147.2", 2, print_number=2)
        self.codes |= {"old-bag": self.codes["bag"], "bag": later.text}
        self.desk = Desk(self.register, keys, seconds=lambda: self.seconds, now=self.now)

    def now(self) -> datetime:
        """The hour of the pictures."""
        return self.began + timedelta(seconds=self.seconds)

    def record(self, kind: str, *persons: str, **fields: Any) -> None:
        """Record past the station, as the mortician or as others."""
        self.seconds += 1
        signatories = [self.signs[person] for person in persons or ("m1",)]
        self.register.record(read_intent({"kind": kind, **fields}), signatories)

    def _furnish(self) -> None:
        for person in ("m1", "m2"):
            vkey = str(self.signs[person].key.verify_key)
            self.record("key-enrolled", "d1", person, key=vkey, person=person, role="mortician")
        self.record("place-named", place="table-1", what="table", description="table one")
        self.record("place-named", place="store", what="cold-room", description="cold room")
        self.record("holder-named", holder="coroner", what="coroner", description="district")
        house = self.register.house()
        self.codes |= {a.heading.upper(): action_code(self.book, a).text for a in Action}
        self.codes |= {place: place_code(self.book, place).text for place in house.places}
        self.codes |= {holder: holder_code(self.book, holder).text for holder in house.holders}
        for reference, key in house.keys.items():
            self.codes[key.person] = badge_code(self.book, key.person, reference).text

    def _open(
        self, number: str, prefix: str, items: tuple[dict[str, Any], ...], names: tuple[str, ...]
    ) -> None:
        release = {"release_authority": "an invented release", "disposition": "burial"}
        self.record("case-opened", case=number, **release)
        brought = {"giver": "coroner", "giver_signed": True, "place": "table-1"}
        self.record("received", case=number, **brought, items=list(items))
        for item, name in enumerate(names, 1):
            self.codes[f"{prefix}{name}"] = self._label(f"{number}.{item}", item).text

    def _label(self, thing: str, item: int, print_number: int = 1) -> Code:
        # A code that chance would make differs in every picture; this one follows from the thing.
        unique = self.book.derived(thing).unique
        code = Code(CodeType.THING, self.book.tag, unique, print_number)
        panels = ["biohazard"] if item in (2, 3) else []
        self.record("labelled", thing=thing, code=code.text, panels=panels)
        return code

    def _done_but_the_closing(self, number: str) -> None:
        read = [{"what": what, "read_from": "body-tag"} for what in _ON_THE_TAG]
        body = f"{number}.1"
        self.record(
            "identified", "m1", "m2", thing=body, stage="receipt", agree=True, identifiers=read
        )
        looked = {"leak": False, "odour": False, "dry": True, "suture": "sound"}
        self.record("inspected", thing=body, implants="none", **looked)
        self.record("retention-stated", case=number, kept="none", according_to="a letter")

    def identify(self) -> None:
        """What no scan does: two persons read the identifiers from the tag, for the closing."""
        read = [{"what": what, "read_from": "body-tag"} for what in _ON_THE_TAG]
        self.record(
            "identified",
            "m1",
            "m2",
            thing="2031-0149.1",
            stage="closing",
            agree=True,
            identifiers=read,
        )


async def _take(scene: _Scene, folder: Path) -> None:
    app = Station(scene.desk, _FIRM, _Silent())
    async with app.run_test(size=SIZE) as pilot:
        for name, scans in SHOTS:
            for scan in filter(None, scans.split(", ")):
                await _scanned(scene, app, pilot, scan)
            while scene.desk.look():
                pass
            app.show_around()
            await pilot.pause()
            picture = app.export_screenshot(title=f"continuity station: {name}")
            (folder / f"{name}.svg").write_text(_tidied(picture), encoding="utf-8")


async def _scanned(scene: _Scene, app: Station, pilot: Pilot[None], scan: str) -> None:
    if scan == "whole":
        scene.identify()
    elif scan.startswith("+"):
        scene.seconds += float(scan)
        app.pass_time()
    else:
        scene.seconds += 0.5
        app.scan(scene.codes.get(scan, scan.strip('"')))
    await pilot.pause()


class _Silent:
    """Plays nothing."""

    def play(self, tone: Tone) -> None:
        """Make no sound."""


def _tidied(picture: str) -> str:
    """Without the fonts that a viewer would fetch, a window's buttons, and spaces at line ends."""
    bare = re.sub(r"\s*@font-face \{.*?\}|<!--.*?-->|<circle [^>]*/>", "", picture, flags=re.DOTALL)
    return "".join(f"{line.rstrip()}\n" for line in bare.splitlines())


def draw(folder: Path) -> Iterator[Path]:
    """Write every picture into a folder, which is made if it is not there."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as keys:
        asyncio.run(_take(_Scene(Path(keys)), folder))
    yield from (folder / f"{name}.svg" for name, _ in SHOTS)


if __name__ == "__main__":
    for path in draw(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER):
        sys.stdout.write(f"{path}\n")
