"""`continuity receipt`: proof of one entry, printed for the other party to keep."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from continuity.errors import InputError
from continuity_cli import options
from continuity_cli.paths import opened
from continuity_cli.writing import write_new

if TYPE_CHECKING:
    from continuity.audit.receipts import Receipt
    from continuity.audit.saying import Said
    from continuity_cli.paths import Files

FORMS = (".pdf", ".html", ".txt")
"""How the name of a receipt's file may end."""


@click.command()
@click.argument("case")
@click.argument("entry", type=click.IntRange(min=0))
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write it to this new file: a page with a code to scan, .pdf or .html, or its text, .txt.",
)
@click.option("--compact", is_flag=True, help="What the code on the page holds, as text.")
@options.register
def command(files: Files, case: str, entry: int, output: Path | None, *, compact: bool) -> None:
    """Print the receipt of an entry of a case: the act in plain words, and what proves it.

    Give one with every hand-over, release and closing: what lies outside makes rewriting show. It
    stands on the latest published checkpoint, so publish one first. Whoever kept it checks it with
    `continuity verify --receipt FILE`.
    """
    if output is not None and (compact or output.suffix.lower() not in FORMS):
        raise InputError(
            f"--output {output}: --compact is printed alone; leave one of the two out"
            if compact
            else f"--output {output}: a receipt's file ends in {', '.join(FORMS)}"
        )
    receipt, said = _receipt(files, case, entry)
    if output is None:
        short = receipt.compact() if compact else receipt.text()
        if short is None:
            raise InputError("--compact: the proof is too long for a code; print the checkpoint")
        click.echo(short, nl=compact)
        return
    write_new(output, _in_form(receipt, said, output.suffix.lower()))
    click.echo(f"receipt of case {case}, entry {entry}: {output}")


def _receipt(files: Files, case: str, entry: int) -> tuple[Receipt, Said]:
    from continuity.audit import receipts  # noqa: PLC0415 - whoever asks waits, not the help
    from continuity.audit.saying import say  # noqa: PLC0415

    with opened(files) as register:
        rows = register.store.entries(register.case(case).id, entry)
        if not rows:
            raise InputError(f"case {case}: it has no entry {entry}; `continuity case` lists them")
        said = say(register.store, rows[0])
        return receipts.make_receipt(register.store, rows[0].position, said.text), said


def _in_form(receipt: Receipt, said: Said, form: str) -> bytes:
    if form == ".txt":
        return receipt.text().encode()
    from continuity.audit import receiptpage  # noqa: PLC0415 - a text needs no page

    page = receiptpage.Page(receipt, said)
    return receiptpage.write_pdf(page) if form == ".pdf" else receiptpage.write_html(page)
