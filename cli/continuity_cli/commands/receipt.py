"""`continuity receipt`: proof of one entry for the other party to keep, or a receipt held to it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from continuity.errors import InputError
from continuity_cli import options
from continuity_cli.paths import opened
from continuity_cli.plain import harmless
from continuity_cli.statuses import WANTING, YES

if TYPE_CHECKING:
    from continuity.register import Register
    from continuity_cli.paths import Files


@click.command()
@click.argument("case", required=False)
@click.argument("entry", type=click.IntRange(min=0), required=False)
@click.option("--compact", is_flag=True, help="The short form that fits a QR code, where it fits.")
@click.option(
    "--check",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    help="Hold the register against a receipt, or a checkpoint, that was kept outside.",
)
@options.register
def command(
    files: Files, case: str | None, entry: int | None, check: Path | None, *, compact: bool
) -> int:
    """Print the receipt of an entry of a case, or check one that somebody kept.

    A receipt stands on the latest published checkpoint that covers the entry. The exit status with
    --check is 0 only if today's register continues the one that gave it.
    """
    from continuity.audit import receipts  # noqa: PLC0415 - whoever checks waits, not the help

    with opened(files) as register:
        if check is not None:
            report = receipts.verify_receipt(check.read_bytes(), register.store)
            click.echo(harmless(report.words))
            for finding in report.findings:
                click.echo(f"  {finding.code}: {harmless(finding.sentence)}")
            return YES if report.sound else WANTING
        if case is None or entry is None:
            raise InputError("receipt: name the case and the entry, or a file with --check")
        receipt = receipts.make_receipt(
            register.store, _position(register, case, entry), f"case {case}, entry {entry}"
        )
    short = receipt.compact() if compact else None
    if compact and short is None:
        raise InputError("receipt: too long for a QR code; print the checkpoint instead")
    click.echo(short if short is not None else receipt.text(), nl=False)
    return YES


def _position(register: Register, case: str, entry: int) -> int:
    rows = register.store.entries(register.case(case).id, entry)
    if not rows:
        raise InputError(f"case {case}: it has no entry {entry}; `continuity case` lists them")
    return rows[0].position
