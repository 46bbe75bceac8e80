"""What a disk has spoilt is never told as the record."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from continuity.errors import DamagedRegisterError
from continuity.register import Register
from continuity.store.memory import MemoryStore

if TYPE_CHECKING:
    from continuity.store.protocol import Stored
    from tests.door.conftest import Firm


def read_again(firm: Firm, entries: list[Stored], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(MemoryStore, "entries", lambda *_: entries)
    Register(firm.register.store).case("2026-0001")


def test_an_entry_that_rotted_into_another_reading_is_not_told(
    firm: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    number = firm.open()
    store = firm.register.store
    kept = store.entries(store.case_by_name(number).case_id)
    rotten = replace(kept[1], note=kept[1].note.replace(b"viscera bag", b"viscera bog"))
    with pytest.raises(DamagedRegisterError, match="not those that were recorded"):
        read_again(firm, [kept[0], rotten], monkeypatch)


@pytest.mark.parametrize("left", [0, 1])
def test_a_case_whose_entries_are_not_all_found_is_not_told(
    firm: Firm, monkeypatch: pytest.MonkeyPatch, left: int
) -> None:
    number = firm.open()
    store = firm.register.store
    kept = store.entries(store.case_by_name(number).case_id)
    with pytest.raises(DamagedRegisterError, match="not all found"):
        read_again(firm, kept[:left], monkeypatch)


def test_what_another_program_added_meanwhile_is_told_too(
    firm: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The head is read first, and the entries a moment later."""
    number = firm.open()
    store = firm.register.store
    before = store.case_by_name(number)
    firm.record("sighted", number, things=[f"{number}.1"])
    monkeypatch.setattr(MemoryStore, "case_by_name", lambda *_: before)
    assert len(Register(store).case(number).events) == before.length + 1
