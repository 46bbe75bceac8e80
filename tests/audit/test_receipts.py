"""Receipts: what somebody takes home, and what it shows about the register later."""

from __future__ import annotations

from dataclasses import replace

import pytest
import qrcode
from hypothesis import given
from hypothesis import strategies as st
from invented import PINNED, REGISTER, REGISTER_KEY, A, C, holding, key, rewrite, size_of

from continuity.audit.receiptcheck import verify_receipt
from continuity.audit.receipts import (
    COMPACT,
    MAX_COMPACT,
    Receipt,
    make_receipt,
    read_receipt,
)
from continuity.audit.saying import say
from continuity.audit.trust import Held, Trust
from continuity.errors import ContinuityError, FormatError, InputError
from continuity.ledger import checkpoint
from continuity.ledger.checkpoint import Checkpoint
from continuity.store.sqlite import SqliteStore


@pytest.fixture
def receipt(copy):
    with SqliteStore.open(copy.path) as store:
        return make_receipt(store, 14, say(store, store.entry_at(14)).text)


def verdict(copy, receipt, trust=PINNED):
    with SqliteStore.open(copy.path) as store:
        return verify_receipt(receipt, store, trust)


def test_it_reads_back_from_its_text_and_from_its_code(receipt):
    assert read_receipt(receipt.text()) == receipt
    assert read_receipt(receipt.text().replace("\n", "\r\n")) == receipt
    assert read_receipt(receipt.compact()) == replace(receipt, words="")


def test_todays_register_continues_the_one_that_gave_it(copy, original, receipt):
    found = verdict(copy, receipt.text())
    assert found.findings == ()
    assert found.words == (
        f"the register of {original.size} entries continues the one of {size_of(original.second)}"
        " that gave this receipt, and holds the entry at position 14 as it was; whether this is the"
        " latest state cannot be told from here"
    )
    assert verdict(copy, receipt.compact()).sound
    assert verdict(copy, receipt, Trust()).words.endswith(
        "its key is its own word, for none was given from outside; whether this is the latest state"
        " cannot be told from here"
    )


def test_a_checkpoint_alone_is_a_receipt_too(copy, original):
    assert read_receipt(original.first) == Held(
        original.first, "the bearer of the receipt", "receipt"
    )
    assert verdict(copy, original.first).sound
    assert verdict(copy, original.first).position is None


def test_a_register_cut_short_is_told_from_the_one_that_gave_it(original, receipt, tmp_path):
    older = original.copy(tmp_path, original.backup)
    found = verdict(older, receipt)
    assert [one.code for one in found.findings] == ["shorter-than-held", "entry-missing"]
    assert found.words.startswith("NOT the register that gave this receipt: The checkpoint of size")


def test_an_entry_exchanged_shows_though_the_tree_was_left(copy, receipt):
    copy.sql("UPDATE entry SET note = ? WHERE position = 14", copy.note(15))
    assert [one.code for one in verdict(copy, receipt).findings] == ["rewritten"]


def test_another_register_is_named(copy, receipt):
    other = checkpoint.sign(Checkpoint("other", 20, bytes(32)), key("other", 5)).encode()
    assert [one.code for one in verdict(copy, other).findings] == ["not-the-pinned-register"]
    pinned = Trust(register_key=key(REGISTER, 99).verify_key)
    assert verdict(copy, receipt, pinned).findings[0].code == "not-the-pinned-key"


def test_a_whole_verification_can_rest_on_it(copy, receipt):
    trust = Trust(REGISTER_KEY.verify_key, held=(receipt.held,))
    assert copy.verify(trust).anchors[0].how == "receipt"
    notes = copy.notes()
    del notes[copy.positions(C)[-1]]
    assert not rewrite(copy, notes, ()).verify(trust).sound


def test_only_what_a_checkpoint_covers_has_a_receipt(copy, original):
    with SqliteStore.open(copy.path) as store:
        with pytest.raises(InputError, match="publish one first"):
            make_receipt(store, original.size - 1, "too new")
        with pytest.raises(InputError, match="publish one first"):
            make_receipt(store, 10**6, "never")


def test_it_fits_a_code_that_can_be_scanned_from_paper(receipt):
    """The largest tree a code is given for has as many entries as a million million."""
    assert receipt.compact().startswith(COMPACT)
    code = qrcode.QRCode(error_correction=qrcode.constants.ERROR_CORRECT_M)
    code.add_data("A" * MAX_COMPACT)
    assert code.best_fit() == 25
    assert replace(receipt, proof=receipt.proof * 3).compact() is not None
    assert replace(receipt, proof=receipt.proof * 10).compact() is None


@pytest.mark.parametrize(
    "text",
    [
        "",
        "a receipt",
        "continuity-receipt/1\nwords without proof\n",
        "continuity-receipt/2\nwords\n----------------\n",
        f"{COMPACT}",
        f"{COMPACT}AAAA",
        f"{COMPACT}{'A' * 400}",
        f"{COMPACT}{'a' * 400}",
        "c2sp.org/tlog-proof@v1\nindex 0\n\n",
        "x" * 100_000,
    ],
)
def test_what_is_none_is_refused_in_a_sentence(text):
    with pytest.raises(FormatError):
        read_receipt(text)


def test_words_cannot_end_before_they_end(receipt):
    with pytest.raises(FormatError, match="ends them"):
        replace(receipt, words="one\n----------------\ntwo").text()


@given(data=st.binary(max_size=600), at=st.integers(0, 600))
def test_no_damage_makes_it_crash(data, at):
    made = Receipt("words", bytes(32), 0, (), b"")
    text = (COMPACT + "A" * 300).encode()
    for spoiled in (data, text[:at] + data, made.leaf + data):
        try:
            read_receipt(spoiled)
        except ContinuityError:
            continue


def test_a_bit_anywhere_in_it_counts(copy, receipt):
    """Flipped anywhere outside the words, it is refused or shows nothing."""
    text = receipt.text().encode()
    start = text.index(b"c2sp.org")
    for at in range(start, len(text), 9):
        spoiled = text[:at] + bytes([text[at] ^ 1]) + text[at + 1 :]
        try:
            assert not verdict(copy, spoiled).sound, at
        except FormatError:
            continue


def test_as_json_it_has_a_shape(copy, receipt):
    assert receipt.as_json()["receipt"] == "continuity-receipt/1"
    found = verdict(copy, receipt).as_json()
    assert (found["by"], found["sound"]) == ("the bearer of the receipt", True)
    assert A in receipt.words
    assert holding(receipt.checkpoint).held[0].note == receipt.checkpoint
