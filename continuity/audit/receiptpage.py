"""A receipt as a page to take home: the act in plain words, its proof, and a code to scan.

The code holds the receipt in its compact form: the entry's hash, its way to the root, and the
signed checkpoint. Where the record has grown so large that this makes no code that scans well, it
holds the checkpoint alone.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from typing import TYPE_CHECKING, Any, Final

import qrcode

from continuity.audit.dossier.markup import h, raw, verbatim, write
from continuity.audit.report import UNKNOWN

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportlab.platypus import Flowable

    from continuity.audit.receipts import Receipt
    from continuity.audit.saying import Said

QUIET_ZONE: Final = 4
"""Modules of white on every side (ISO/IEC 18004)."""

WIDEST_MM: Final = 78
"""The code's whole side, at the most."""

LARGEST_MODULE_MM: Final = 0.8
"""The side of one module, at the most: larger ones scan no better from paper at arm's length."""

_CSS = """
html { font: 100%/1.5 Georgia, "DejaVu Serif", serif; background: #fff; color: #000;
  color-scheme: only light; }
body { margin: 2rem auto; max-width: 44rem; padding: 0 1rem; }
.firm, dt, .aside { color: #444; font-size: 0.9rem; }
h1 { font-size: 1.5rem; margin: 0; }
h2 { font-size: 1rem; margin: 1.5rem 0 0.3rem; }
.said { font-size: 1.15rem; overflow-wrap: anywhere; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: 0.2rem 1.2rem; margin: 0; }
dd { margin: 0; overflow-wrap: anywhere; }
pre { font-size: 0.72rem; white-space: pre-wrap; overflow-wrap: anywhere; }
svg { display: block; margin: 0.5rem 0; }
@media print { @page { size: A4; margin: 16mm; } body { margin: 0; padding: 0; max-width: none; }
  html { font-size: 10pt; } svg, dl { break-inside: avoid; } }
"""


@dataclass(frozen=True)
class Page:
    """What stands on the page, whether it is written as HTML or as PDF.

    Args:
        receipt: The proof.
        said: The act in plain words.
    """

    receipt: Receipt
    said: Said

    @property
    def title(self) -> str:
        """What it is a receipt of."""
        return f"Receipt: {self.said.title}"

    @property
    def whose(self) -> str:
        """Whose record it was given from."""
        return self.said.firm or "A firm that is not named"

    @cached_property
    def coded(self) -> str:
        """What the code on the page holds; `verify --receipt -` reads it as it was scanned."""
        return self.receipt.compact() or self.receipt.checkpoint.decode()

    @cached_property
    def modules(self) -> tuple[tuple[bool, ...], ...]:
        """The code's modules, true for dark, without the quiet zone."""
        code = qrcode.QRCode(error_correction=qrcode.ERROR_CORRECT_M, border=0)
        code.add_data(self.coded, optimize=0)
        code.make()
        return tuple(tuple(bool(module) for module in row) for row in code.modules)

    @property
    def module_mm(self) -> float:
        """The side of one of its modules, millimetres."""
        return min(LARGEST_MODULE_MM, WIDEST_MM / (len(self.modules) + 2 * QUIET_ZONE))

    def runs(self) -> Iterator[tuple[int, int, int]]:
        """The code's dark runs, quiet zone counted: column and row of the first, and how many."""
        for y, row in enumerate(self.modules, QUIET_ZONE):
            x = 0
            while x < len(row):
                length = 1
                while x + length < len(row) and row[x + length] == row[x]:
                    length += 1
                if row[x]:
                    yield x + QUIET_ZONE, y, length
                x += length

    @property
    def use(self) -> tuple[str, ...]:
        """What the page is good for, and how to use it."""
        holds = (
            "the proof of this entry and the signed checkpoint"
            if self.receipt.compact()
            else "the signed checkpoint alone, for the proof has grown too long"
        )
        keep = (
            "Keep this paper. It shows whether the record has been rewritten since it was given:"
            " scan the code and give the text it holds, together with the register or the dossier"
            " of the case, to this command: continuity verify --receipt -"
        )
        words = (
            f"The code holds {holds}. The words above are covered by no signature; the check tells"
            " anew what the entry says and, given this page's file, whether the words differ."
        )
        return keep, words, f"No receipt can show {'; '.join(UNKNOWN)}."

    @property
    def place(self) -> tuple[tuple[str, str], ...]:
        """Where the entry stands, in the form in which it can be compared by eye."""
        return (
            ("Position in the register", str(self.receipt.position)),
            ("Leaf hash (SHA-256)", self.receipt.leaf.hex()),
        )


def write_html(page: Page) -> bytes:
    """Write the page as one HTML file that needs nothing else; `read_receipt` reads it again."""
    side = len(page.modules) + 2 * QUIET_ZONE
    mm = f"{side * page.module_mm:.2f}mm"
    path = "".join(f"M{x} {y}h{length}v1h-{length}z" for x, y, length in page.runs())
    digest = base64.b64encode(sha256(_CSS.encode()).digest()).decode()
    policy = h("meta", content=f"default-src 'none'; style-src 'sha256-{digest}'")
    policy.set("http-equiv", "Content-Security-Policy")
    return write(
        h(
            "html",
            h(
                "head",
                h("meta", charset="utf-8"),
                policy,
                h("meta", name="viewport", content="width=device-width, initial-scale=1"),
                h("title", page.title),
                raw("style", _CSS),
            ),
            h(
                "body",
                h(
                    "main",
                    h("p", page.whose, class_="firm"),
                    h("h1", page.title),
                    h("p", page.said.sentence, class_="said"),
                    _facts((*page.said.particulars, *page.place)),
                    h("h2", "To check it later"),
                    h(
                        "svg",
                        h("title", "The receipt as a QR code"),
                        h("rect", width=str(side), height=str(side), fill="#fff"),
                        h("path", d=path, fill="#000"),
                        viewBox=f"0 0 {side} {side}",
                        width=mm,
                        height=mm,
                        role="img",
                        shape_rendering="crispEdges",
                    ),
                    [h("p", words, class_="aside") for words in page.use],
                    h("h2", "The receipt, verbatim"),
                    verbatim("pre", page.receipt.text(), id="receipt"),
                ),
            ),
            lang="en",
        )
    )


def _facts(pairs: tuple[tuple[str, str], ...]) -> Any:
    return h("dl", [[h("dt", name), h("dd", told)] for name, told in pairs])


def write_pdf(page: Page) -> bytes:
    """Write the page as PDF, A4, its code as a drawing that no printer blurs."""
    from continuity.audit.dossier import paper  # noqa: PLC0415 - loads slowly

    def contents() -> Iterator[Flowable]:
        yield paper.words(page.whose, 9, colour=paper.MOSS, spaceAfter=4)
        yield from paper.long(page.title, 16, bold=True, spaceAfter=8)
        yield from paper.long(page.said.sentence, 11, spaceAfter=8)
        yield paper.table((), (*page.said.particulars, *page.place), (44, 134))
        yield paper.words("To check it later", 11, bold=True, colour=paper.MOSS, spaceBefore=12)
        yield paper.Code(tuple(page.runs()), len(page.modules) + 2 * QUIET_ZONE, page.module_mm)
        for told in page.use:
            yield paper.words(told, 8.5, spaceAfter=3)
        yield paper.words("Signed checkpoint", 11, bold=True, colour=paper.MOSS, spaceBefore=8)
        yield from paper.lines(page.receipt.checkpoint.decode())

    return paper.write_pdf(
        contents(),
        title=page.title,
        author=page.whose,
        creator="continuity",
        foot=f"{page.said.title}; leaf {page.receipt.leaf.hex()}",
    )
