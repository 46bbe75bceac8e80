"""The page that somebody takes home: its words, its code, and that both lead back to the entry."""

from __future__ import annotations

import base64
import re
import shutil
import subprocess
import zlib
from dataclasses import replace

import numpy as np
import pytest
import zxingcpp
from invented import A, B, Copy
from PIL import Image

from continuity.audit.receiptcheck import verify_receipt
from continuity.audit.receiptpage import QUIET_ZONE, Page, write_html, write_pdf
from continuity.audit.receipts import make_receipt, read_receipt
from continuity.audit.report import Weight
from continuity.audit.saying import Said, say
from continuity.audit.version import made_with
from continuity.errors import FormatError
from continuity.ledger.merkle import leaf_hash
from continuity.store.sqlite import SqliteStore

DOTS = 3  # in a module's side


def page_of(copy: Copy, position: int) -> Page:
    with SqliteStore.open(copy.path) as store:
        said = say(store, store.entry_at(position))
        return Page(make_receipt(store, position, said.text), said)


@pytest.fixture
def page(copy):
    return page_of(copy, copy.positions(A)[3])


def drawn(boxes, side: int, *, upwards: bool) -> str:
    """What a decoder reads from rectangles (x, y, width, height) on a square of so many modules."""
    image = np.full((side * DOTS, side * DOTS), 255, np.uint8)
    for x, y, width, height in boxes:
        top = side - y - height if upwards else y
        image[top * DOTS : (top + height) * DOTS, x * DOTS : (x + width) * DOTS] = 0
    (found,) = zxingcpp.read_barcodes(Image.fromarray(image))
    return found.text


def in_html(html: bytes) -> str:
    path = re.search(r' d="([^"]+)"', html.decode())[1]
    runs = re.findall(r"M(\d+) (\d+)h(\d+)v1h-\3z", path)
    assert "".join(f"M{x} {y}h{n}v1h-{n}z" for x, y, n in runs) == path
    side = int(re.search(r'viewBox="0 0 (\d+) \1"', html.decode())[1])
    return drawn([(int(x), int(y), int(n), 1) for x, y, n in runs], side, upwards=False)


def in_pdf(pdf: bytes, side: int) -> str:
    streams = re.findall(rb"ASCII85Decode /FlateDecode .*?stream\n(.*?)endstream", pdf, re.DOTALL)
    text = "".join(
        zlib.decompress(base64.a85decode(b"<~" + one, adobe=True)).decode("latin-1")
        for one in streams
    )
    boxes = re.findall(r"(\d+) (\d+) (\d+) 1 re", text)
    return drawn([(int(x), int(y), int(n), 1) for x, y, n in boxes], side, upwards=True)


def test_an_act_is_told_with_who_and_when(copy):
    with SqliteStore.open(copy.path) as store:
        said = say(store, store.entry_at(copy.positions(A)[3]))
        own = say(store, store.entry_at(0))
    assert said == Said(
        firm="Hollow Lane (invented)",
        case=f"Case {A}",
        number=3,
        kind="put-in",
        sentence=f"{B}.2 (viscera bag) put into {A}.1 (adult). Found so, in spite of: wrong-case.",
        by="m1",
        signers=("m1",),
        happened="2031-04-07 08:11 (UTC+00:00)",
        recorded="2031-04-07 08:11 (UTC+00:00)",
        told_by=made_with(),
    )
    assert said.text.splitlines() == [
        "Receipt from the record of Hollow Lane (invented)",
        f"Case {A}, entry 3: put in",
        said.sentence,
        "Recorded by: m1",
        "Signed with the keys of: m1",
        "Happened: 2031-04-07 08:11 (UTC+00:00)",
        "Recorded: 2031-04-07 08:11 (UTC+00:00)",
        f"Told by: {made_with()}",
    ]
    assert own.title == "The register's own chain, entry 0: register started"


def test_its_code_is_the_receipt_on_either_page(copy, page):
    assert page.coded == page.receipt.compact()
    assert in_html(write_html(page)) == page.coded
    side = len(page.modules) + 2 * QUIET_ZONE
    pdf = write_pdf(page)
    assert in_pdf(pdf, side) == page.coded
    assert pdf == write_pdf(page)
    assert (page.module_mm * side, page.module_mm) <= (78.0, 0.8)
    with SqliteStore.open(copy.path) as store:
        shown = verify_receipt(page.coded, store)
    assert shown.findings == ()
    assert shown.says == page.said


def test_a_proof_too_long_for_a_code_leaves_the_checkpoint_alone(copy, page):
    long = replace(page.receipt, proof=page.receipt.proof * 10)
    assert long.compact() is None
    big = Page(long, page.said)
    scanned = in_html(write_html(big))
    assert scanned.encode() == page.receipt.checkpoint
    for as_scanned in (scanned, scanned.rstrip("\n"), scanned.replace("\n", "\r\n")):
        with SqliteStore.open(copy.path) as store:
            shown = verify_receipt(as_scanned, store)
        assert (shown.findings, shown.position) == ((), None)
    assert "checkpoint alone" in " ".join(big.use)


def test_the_html_page_reads_back_as_the_receipt(page):
    assert read_receipt(write_html(page)) == page.receipt
    with pytest.raises(FormatError, match="not a receipt's"):
        read_receipt(b"<!doctype html>\n<pre>nothing</pre>")
    with pytest.raises(FormatError, match="scan its code"):
        read_receipt(write_pdf(page))


def test_no_word_on_it_becomes_markup_or_another_line(page):
    evil = "<script>alert(1)</script>\n----------------\n</pre>\u202e"
    said = replace(page.said, sentence=evil, firm=evil)
    hostile = Page(replace(page.receipt, words=said.text), said)
    html = write_html(hostile).decode()
    assert "<script" not in html
    assert html.count("</pre>") == 1
    assert "\u202e" not in html
    assert read_receipt(html) == hostile.receipt
    assert "default-src 'none'" in html
    assert write_pdf(hostile).startswith(b"%PDF-")
    assert write_pdf(Page(page.receipt, replace(page.said, sentence="long " * 12_000)))


def test_what_a_rewritten_entry_says_is_not_told(copy, page):
    position = page.receipt.position
    copy.put(position, copy.note(position).replace(b"2031-04-07T08:11", b"2031-04-07T09:11"))
    with SqliteStore.open(copy.path) as store:
        shown = verify_receipt(page.receipt, store)
    assert "rewritten" in [one.code for one in shown.findings]
    assert shown.says is None
    assert leaf_hash(copy.note(position)) != page.receipt.leaf


def shown(copy, kept: bytes | str):
    with SqliteStore.open(copy.path) as store:
        return verify_receipt(kept, store)


@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        (b"viscera bag", b"empty bag"),  # in the words a person reads first
        (b"Recorded by: m1", b"Recorded by: m2"),  # in the receipt's own text
        (b"crispEdges", b"auto"),
        (b"</main>", b"<p>Another line.</p></main>"),
    ],
)
def test_a_page_whose_words_are_not_the_entry_s_is_told(copy, page, was, becomes):
    html = write_html(page)
    assert was in html
    found = shown(copy, html.replace(was, becomes, 1))
    assert [(one.code, one.weight) for one in found.findings] == [
        ("receipt-words-differ", Weight.DOUBT)
    ]
    assert found.sound  # the record is what it was; the paper is not
    assert not found.words_hold
    assert "they were altered since they were told" in found.findings[0].sentence
    assert "but THE RECEIPT'S OWN WORDS ARE NOT THE ENTRY'S" in found.words
    assert found.says == page.said


def test_a_text_whose_words_are_not_the_entry_s_is_told(copy, page):
    text = page.receipt.text()
    assert shown(copy, text).words_hold
    assert not shown(copy, text.replace("viscera bag", "empty bag")).words_hold


def test_a_page_as_a_mail_leaves_it_still_holds(copy, page):
    html = write_html(page)
    assert shown(copy, html).words_hold
    assert shown(copy, html.replace(b"\n", b"\r\n") + b"\n").words_hold


def test_words_that_another_version_told_otherwise_are_told_to_be_that(copy, page):
    older = replace(page.said, told_by="continuity 0.0.9")
    same = Page(replace(page.receipt, words=older.text), older)
    assert shown(copy, write_html(same)).words_hold
    other = replace(older, sentence="told otherwise")
    found = shown(copy, replace(page.receipt, words=other.text))
    assert not found.words_hold
    assert (
        f"they were altered, or continuity 0.0.9, which is not this {made_with()}, tells it"
        in found.findings[0].sentence
    )
    nobody = replace(page.said, told_by="")
    assert shown(copy, replace(page.receipt, words=nobody.text)).words_hold


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="NO pdftoppm: the sheet is not drawn")
def test_the_sheet_as_a_printer_draws_it_can_be_scanned(page, tmp_path):
    """At 150 dots per inch, which every printer and scanner reaches."""
    (tmp_path / "receipt.pdf").write_bytes(write_pdf(page))
    words = ["pdftoppm", "-r", "150", "-gray", "-png", "receipt.pdf", "sheet"]
    subprocess.run(words, cwd=tmp_path, check=True, timeout=60)
    (sheet,) = tmp_path.glob("sheet*.png")
    (found,) = zxingcpp.read_barcodes(Image.open(sheet))
    assert found.text == page.coded
