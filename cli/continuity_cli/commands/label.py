"""`continuity label`: print labels, place labels, badges, and the action board."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from continuity.errors import InputError
from continuity_cli import options
from continuity_cli.answers.label import answer
from continuity_cli.labelling import prints
from continuity_cli.labelling.orders import Orders
from continuity_cli.paths import opened
from continuity_cli.plain import harmless
from continuity_cli.printing import show, show_json
from continuity_cli.words import table
from continuity_labels.errors import LabelError
from continuity_labels.layout import print_advice
from continuity_labels.stocks import builtin_stocks, find_stock, load_stocks

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from continuity_cli.answers.label import Answer
    from continuity_cli.labelling.prints import Print
    from continuity_cli.paths import Files
    from continuity_cli.signing import Signing
    from continuity_labels.board import PageName
    from continuity_labels.stocks import Stock


@click.command()
@click.argument("things", nargs=-1, metavar="[THING|CASE]...")
@click.option("--place", "places", multiple=True, metavar="PLACE", help="A place's label.")
@click.option("--badge", "badges", multiple=True, metavar="PERSON", help="A person's badge.")
@click.option("--holder", "holders", multiple=True, metavar="HOLDER", help="A holder's label.")
@click.option("--board", "board", is_flag=True, help="The action board of this register.")
@click.option("--due", is_flag=True, help="Of the things named, only those due for a label.")
@click.option("--stock", "stock_name", metavar="NAME", help="What to print on; see --stocks.")
@click.option("--stocks", "list_stocks", is_flag=True, help="List what can be printed on.")
@click.option(
    "--own-stocks",
    type=click.Path(path_type=Path, dir_okay=False),
    envvar="CONTINUITY_STOCKS",
    help="A TOML file of the firm's own stocks; else CONTINUITY_STOCKS.",
)
@click.option(
    "--skip",
    multiple=True,
    type=int,
    metavar="POSITION",
    help="On a sheet: a position that is used up, counted from 1 along the rows; repeatable.",
)
@click.option(
    "--page", type=click.Choice(["a4", "letter"]), default="a4", help="The action board's paper."
)
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The file to write, .pdf or .png; else a PDF in this folder, named for what is on it.",
)
@options.register
@options.signing
@options.as_json
def command(
    *,
    things: tuple[str, ...],
    places: tuple[str, ...],
    badges: tuple[str, ...],
    holders: tuple[str, ...],
    files: Files,
    signing: Signing,
    stock_name: str | None,
    own_stocks: Path | None,
    skip: tuple[int, ...],
    page: PageName,
    output: Path | None,
    board: bool,
    due: bool,
    list_stocks: bool,
    as_json: bool,
) -> None:
    """Print labels: of things, of a case's whole set, of places, badges and holders.

    A THING is a number or a scanned label; a CASE stands for all its things. Printing a thing's
    label is an entry, and voids its earlier print: printing again gives the next print number. The
    entry is written before the file is put in its place, so that no label exists that the register
    does not know. The labels of places, badges, holders and the board are always the same and need
    no entry.
    """
    try:
        stocks = load_stocks(own_stocks) if own_stocks else builtin_stocks()
        if list_stocks:
            show(_stocks(stocks))
            return
        with opened(files) as register:
            stock = find_stock(stock_name, stocks) if stock_name else None
            orders = Orders(register, stocks, stock)
            wanted = [
                *orders.things(things, due=due),
                *orders.places(places),
                *orders.badges(badges),
                *orders.holders(holders),
            ]
            _must_be_one_thing(wanted, board=board, asked=bool(things) and due)
            if board:
                path = output or Path("action-board.pdf")
                made = prints.board(orders.book, path, page, register.house().firm)
            elif wanted:
                path = output or Path(f"{_stem(wanted)}.pdf")
                made = prints.contents(wanted, path, skip=skip)
            else:
                made = {}
            signatories = signing.signatories() if any(each.thing for each in wanted) else ()
            receipts = prints.make(register, wanted, signatories, made)
    except LabelError as error:
        raise InputError(str(error).rstrip(".")) from None
    told = answer(wanted, receipts, made)
    if as_json:
        show_json(told)
        return
    show(_screen(told))
    for advice in dict.fromkeys(_advice(wanted, orders.notes)):
        click.echo(f"note: {harmless(advice)}", err=True)


def _must_be_one_thing(wanted: Sequence[Print], *, board: bool, asked: bool) -> None:
    if board and wanted:
        raise InputError("--board: it fills a page of its own; print the labels by themselves")
    if not (board or wanted or asked):
        raise InputError(
            "label: nothing is named to print; name things or a case, or give --place, --badge,"
            " --holder, --board or --stocks"
        )


def _stem(wanted: Sequence[Print]) -> str:
    """The file's name when none is given: what is on it, if that is one thing or one case."""
    names = {each.thing or each.face.what.partition(":")[0].partition(",")[0] for each in wanted}
    cases = {each.case for each in wanted}
    if len(names) == 1:
        return next(iter(names))
    only = next(iter(cases)) if len(cases) == 1 else None
    return f"{only}-labels" if only else "labels"


def _stocks(stocks: Mapping[str, Stock]) -> Iterator[str]:
    rows = ((name, stock.shape, f"{stock.dpi} dpi", stock.about) for name, stock in stocks.items())
    yield from table(rows, ("name", "shape", "printer", "what"))


def _screen(told: Answer) -> Iterator[str]:
    rows = (
        (
            each["thing"] or each["what"],
            grouped(each["code"]),
            f"print {each['print']}" if each["thing"] else "",
            f"entry {each['entry']}" if each["entry"] is not None else "",
            each["stock"],
            f"modules {each['module_micrometres'] / 1000:.2f} mm, level {each['level']}",
            ", ".join(each["panels"]),
        )
        for each in told["labels"]
    )
    yield from table(rows)
    if not told["files"]:
        yield "no label is due"
    for name in told["files"]:
        yield f"written: {harmless(name)}; print it at 100 %, actual size"


def grouped(code: str) -> str:
    """A code in its five groups, as it stands on the label."""
    return "-".join((code[:5], code[5:9], code[9:13], code[13:17], code[17:]))


def _advice(wanted: Iterable[Print], notes: Iterable[str]) -> Iterator[str]:
    yield from notes
    for each in wanted:
        yield from print_advice(each.face, each.stock, each.drawings)
        if each.thing and each.face.code.print_number > 1:
            yield f"{each.thing}: earlier prints are void; take them off"
