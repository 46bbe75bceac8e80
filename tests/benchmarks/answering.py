"""Answers about one case in a register of many cases, against a register of ten."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from continuity.audit.dossier.making import make
from continuity.audit.dossier.page import write_page
from continuity.ledger.keys import save_private
from continuity.register import Register
from continuity_cli.labelling.codes import badge_code, place_code
from continuity_cli.station.desk import Desk
from continuity_labels.code import CodeBook
from tests.benchmarks.days import MORTICIAN, REGISTER, cases_of, last_case
from tests.benchmarks.measure import Figure, seconds, side_by_side

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

ROUNDS = 40
SCANS = 120
WHY = "what still grows with the register is the depth of its tables' trees."
WHY_DOSSIER = (
    "what still grows is the proofs, with the logarithm of the register's size, and with it a"
    " dossier's bytes."
)


def _asked(
    path: Path, number: str, question: Callable[[Register, str], object]
) -> Callable[[], None]:
    """Open the register, as a command does, and ask."""

    def ask() -> None:
        register = Register.open(path)
        with register.store:
            question(register, number)

    return ask


def _dossier(register: Register, number: str) -> bytes:
    return write_page(make(register.store, number, datetime.now(UTC)))


def _scanning(register: Register, keys: Path, number: str) -> Callable[[], None]:
    """Two scans that move the body, at a desk somebody is signed in at."""
    book = CodeBook(REGISTER)
    desk = Desk(register, keys)
    desk.warm()
    while desk.look():
        pass
    body = next(row.code for row in register.store.labels() if row.thing == f"{number}.1")
    badge = badge_code(book, "m1", MORTICIAN.key.reference).text
    places = [place_code(book, place).text for place in ("table-1", "cold-room")]
    signed = desk.scan(badge)
    assert signed is not None
    assert signed.word == "SIGNED IN", signed
    turn = 0

    def scan() -> None:
        nonlocal turn
        turn += 1
        for text, word in ((body, "GO ON"), (places[turn % 2], "RECORDED")):
            answer = desk.scan(text)
            assert answer is not None
            assert answer.word == word, answer

    return scan


def figures(ten: Path, large: Path, folder: Path) -> Iterator[Figure]:
    cases = cases_of(large)
    keys = folder / f"desk-keys-{cases}"
    keys.mkdir()
    save_private(MORTICIAN.key, keys / "m1.key", None)
    copies = []
    for name, path in (("ten", ten), ("large", large)):
        copy = folder / f"answering-{name}-{cases}.db"
        for suffix in ("", ".personal"):
            shutil.copyfile(f"{path}{suffix}", f"{copy}{suffix}")
        copies.append(copy)
    few, many = last_case(10), last_case(cases)
    opened = [
        side_by_side(ROUNDS, _asked(copies[0], few, ask), _asked(copies[1], many, ask))
        for ask in (Register.case, Register.closing_check, _dossier)
    ]
    small, big = Register.open(copies[0]), Register.open(copies[1])
    with small.store, big.store:
        viewed = side_by_side(ROUNDS, lambda: small.case(few), lambda: big.case(many))
        checked = side_by_side(
            ROUNDS, lambda: small.closing_check(few), lambda: big.closing_check(many)
        )
        scans = side_by_side(SCANS, _scanning(small, keys, few), _scanning(big, keys, many))
    named = (
        ("case view, register just opened", opened[0]),
        ("closing check, register just opened", opened[1]),
        ("dossier, register just opened", opened[2]),
        ("case view, register open", viewed),
        ("closing check, register open", checked),
        ("two scans to RECORDED", scans),
    )
    for what, (little, much) in named:
        yield Figure(
            f"{what}, {cases:,} cases, processor",
            seconds(much.cpu),
            f"ten cases {seconds(little.cpu)}",
            much.cpu / little.cpu,
            *((1.5, WHY_DOSSIER) if what.startswith("dossier") else (1.2, WHY)),
        )
