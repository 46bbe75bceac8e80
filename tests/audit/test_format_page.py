"""The format page's own examples, held against the second verifier, which knows only the page."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import second_verifier
from invented import MORTICIAN, REGISTER, A

import continuity.ledger
from continuity.audit.receipts import make_receipt
from continuity.store import schema
from continuity.store.sqlite import SqliteStore

PAGE = Path(continuity.ledger.__file__).with_name("FORMAT.md").read_text(encoding="utf-8")


def example(name: str) -> str:
    (found,) = re.findall(rf"^```{name}\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
    return found


@pytest.fixture(scope="module")
def entry():
    return second_verifier.read_entry(6, example("entry").encode())


def test_the_entry_is_one_of_the_invented_registers(copy, entry):
    assert example("entry").encode() == copy.note(copy.positions(A)[0])
    assert entry.leaf.hex() == example("leaf").strip()


def test_its_key_fits_it_and_has_the_seed_that_is_told(entry):
    key = second_verifier.read_key(example("key").strip())
    ((name, key_id, signature),) = entry.signatures
    assert (name, key_id) == (key.name, key.id)
    assert key.fits(entry.text, signature)
    assert str(MORTICIAN.verify_key) == example("key").strip()


def test_it_begins_its_case(entry):
    genesis = f"continuity-genesis/1\n{REGISTER}\n{entry.case}\n".encode()
    assert entry.previous == second_verifier.sha(genesis).hex()


def test_its_disclosures_have_its_digests(entry):
    for name, text in zip(entry.details["personal"], example("disclosures").split(), strict=True):
        assert second_verifier.stands_for(text, name, entry.details["personal"][name])


def test_the_receipt_begins_as_the_page_shows(copy):
    with SqliteStore.open(copy.path) as store:
        text = make_receipt(store, 6, "the case was opened").text()
    assert text.startswith("continuity-receipt/1\nthe case was opened\n----------------\n")
    assert example("receipt").removesuffix("…\n") in text


def test_every_table_stands_on_the_page():
    laid_out = " ".join((*schema.REGISTER.statements, *schema.PERSONAL.statements))
    tables = set(re.findall(r"CREATE TABLE (\w+)", laid_out)) - {"owner"}
    assert tables == {name for name in tables if f"`{name}`" in PAGE}


def test_the_page_has_the_sections_that_the_second_verifier_names():
    source = Path(second_verifier.__file__).read_text(encoding="utf-8")
    named = set(re.findall(r"^# \[(\d+)\]", source, re.MULTILINE))
    assert named <= set(re.findall(r"^## (\d+)\.", PAGE, re.MULTILINE))
    assert "import continuity" not in source
    assert "from continuity" not in source
