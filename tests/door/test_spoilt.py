"""What a disk has spoilt is never told as the record."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from continuity.care.policy import default
from continuity.errors import DamagedRegisterError
from continuity.ledger.disclosure import disclose
from continuity.ledger.keyring import REGISTER_CASE
from continuity.register import Register
from continuity.store.memory import MemoryStore

if TYPE_CHECKING:
    from continuity.store.protocol import Stored
    from tests.door.conftest import Firm


def read_again(firm: Firm, entries: list[Stored], monkeypatch: pytest.MonkeyPatch) -> None:
    """Read a case whose table gives these entries; the register's own are as they were."""
    own = firm.register.store.entries(REGISTER_CASE)
    given = {REGISTER_CASE: own}
    monkeypatch.setattr(MemoryStore, "entries", lambda _, case, *__: given.get(case, entries))
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


@pytest.mark.parametrize("text", ["WyJub25zZW5zZQ", "not base64url", None])
def test_a_personal_detail_that_is_not_the_one_recorded_is_not_told(
    firm: Firm, monkeypatch: pytest.MonkeyPatch, text: str | None
) -> None:
    number = firm.open(personal={"name": "An Invented Person"})
    text = text or disclose("name", "Another Invented Person")[0]
    monkeypatch.setattr(MemoryStore, "disclosures", lambda _, at: {"name": text} if at == 6 else {})
    assert firm.register.store.entry_at(6).kind == "case-opened"
    for ask in (firm.register.personal_details, firm.register.closing_check):
        with pytest.raises(DamagedRegisterError, match="entry 0 of case"):
            ask(number)


def test_a_personal_detail_that_is_gone_and_was_not_erased_is_not_passed_over(firm: Firm) -> None:
    one = firm.open("2026-0001", personal={"name": "An Invented Person"})
    firm.open("2026-0002", personal={"name": "An Invented Person"})
    assert [n.case for n in firm.register.alike(one)] == ["2026-0002"]
    firm.register.store.erase([8])
    for case in ("2026-0001", "2026-0002"):
        with pytest.raises(DamagedRegisterError, match="is gone, and no entry erased it"):
            firm.register.alike(case)
    erased = {"ground": "a court's order", "by": (firm.director,)}
    firm.record("personal-details-erased", "2026-0002", **erased)
    assert firm.register.alike(one) == ()


@pytest.mark.parametrize("read_before", [False, True])
def test_what_furnishes_the_house_meanwhile_is_taken_once(
    firm: Firm, monkeypatch: pytest.MonkeyPatch, read_before: bool
) -> None:
    """The head is read first, and the entries a moment later."""
    store = firm.register.store
    fresh = Register(store)
    if read_before:
        fresh.house()
        firm.record("place-named", place="shelf-1", what="shelf", description="shelf one")
    head = store.case_head("register")
    policy = default().model_dump(mode="json")
    firm.record("policy-adopted", policy=policy, by=(firm.director,))
    with monkeypatch.context() as context:
        context.setattr(MemoryStore, "case_head", lambda *_: head)
        assert len(fresh.house().policies) == 0
    assert len(fresh.house().policies) == 1
