"""That personal details are gone once an entry says so, and only those it names."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from continuity.audit.verify import verify
from continuity.care.refusal import RefusedError
from continuity.errors import LockedRegisterError
from continuity.store.memory import MemoryStore
from continuity.store.sqlite import SqliteStore, personal_path
from tests.door.conftest import REGISTER

if TYPE_CHECKING:
    from pathlib import Path

    from tests.door.conftest import Firm

NAME = {"name": "An Invented Person", "birth": "1950"}


@pytest.fixture
def opened(firm: Firm) -> Firm:
    firm.open(personal=NAME)
    return firm


def erase(firm: Firm, **fields: object) -> None:
    fields |= {"ground": "a court's order", "by": (firm.director,)}
    firm.record("personal-details-erased", "2026-0001", **fields)


def test_what_an_entry_says_is_erased_is_gone(opened: Firm) -> None:
    erase(opened)
    assert opened.register.personal_details("2026-0001") == {}
    assert verify(opened.register.store).codes == ()


def test_only_the_fields_named_are_erased(opened: Firm) -> None:
    erase(opened, fields=["birth"])
    assert opened.register.personal_details("2026-0001") == {0: {"name": NAME["name"]}}
    assert verify(opened.register.store).codes == ()


def test_only_the_entries_named_are_erased_and_only_earlier_ones(opened: Firm) -> None:
    opened.record("sighted", "2026-0001", things=["2026-0001.1"], personal={"eyes": "blue"})
    with pytest.raises(RefusedError, match="no entry 900; its last is 2"):
        erase(opened, entries=[2, 900])
    erase(opened, entries=[2])
    opened.record("sighted", "2026-0001", things=["2026-0001.1"], personal={"eyes": "grey"})
    opened.register.erase("2026-0001")
    assert opened.register.personal_details("2026-0001") == {0: NAME, 4: {"eyes": "grey"}}


def test_an_erasure_that_was_broken_off_is_finished_by_asking_again(
    opened: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken_off(*_: object) -> int:
        raise LockedRegisterError("another program is reading")

    with monkeypatch.context() as context:
        context.setattr(MemoryStore, "erase", broken_off)
        with pytest.raises(LockedRegisterError):
            erase(opened)
    assert opened.register.personal_details("2026-0001") == {0: NAME}
    assert verify(opened.register.store).codes == ("disclosure-erased-kept",)
    assert opened.register.erase("2026-0001") == len(NAME)
    assert opened.register.erase("2026-0001") == 0
    assert verify(opened.register.store).codes == ()


def test_only_the_fields_named_leave_the_disk(tmp_path: Path) -> None:
    path = tmp_path / "register"
    with SqliteStore.create(path, REGISTER) as store:
        with store.writing() as pen:
            stored = pen.append(b"a note", "case-1", 0, "case-opened")
            for field, text in NAME.items():
                pen.put_disclosure(stored.position, field, text)
        assert store.erase([stored.position], ["birth"]) == 1
        assert store.disclosures(stored.position) == {"name": NAME["name"]}
    assert NAME["birth"].encode() not in personal_path(path).read_bytes()
    assert NAME["name"].encode() in personal_path(path).read_bytes()
