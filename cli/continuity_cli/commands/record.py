"""`continuity record`: what happened, by its kind or as JSON Lines; recorded or refused whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from continuity.care.entries import KINDS
from continuity_cli import options
from continuity_cli.fields import fields_of, options_of
from continuity_cli.given import from_options, intent_of
from continuity_cli.lines import record_lines
from continuity_cli.paths import opened
from continuity_cli.receipts import teller, warn_of_alike

if TYPE_CHECKING:
    from continuity.care.acts.base import Act
    from continuity.recording import Receipt
    from continuity_cli.paths import Files
    from continuity_cli.signing import Signing

ELSEWHERE = {
    "register-started": "`continuity start`",
    "key-enrolled": "`continuity enrol`",
    "key-replaced": "`continuity enrol`",
    "key-revoked": "`continuity enrol`",
    "cases-indexed": "the register itself, before a checkpoint",
    "place-counted": "`continuity count`",
}
"""Kinds that something else records, because more belongs to them than an entry."""


class Kinds(click.Group):
    """One command for each kind, made when it is used; any other name is a file of JSON Lines."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The kinds, in the order of a case's course."""
        del ctx
        return [kind for kind in KINDS if kind not in ELSEWHERE]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a kind."""
        if cmd_name in ELSEWHERE:
            raise click.UsageError(f"{cmd_name} is recorded by {ELSEWHERE[cmd_name]}", ctx)
        return _kind_command(KINDS[cmd_name]) if cmd_name in KINDS else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Each kind with the first sentence of its meaning."""
        with formatter.section("Kinds"):
            formatter.write_dl(
                [(kind, _first_sentence(KINDS[kind])) for kind in self.list_commands(ctx)]
            )

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """A kind's command; or that of a file, whose name then stays an argument."""
        name = args[0]
        if name == "-" or name.endswith((".jsonl", ".json", ".ndjson")) or "/" in name:
            return name, _from_file, args
        if name.startswith("-"):
            return super().resolve_command(ctx, args)
        command = self.get_command(ctx, name)
        if command:
            return name, command, args[1:]
        from difflib import get_close_matches  # noqa: PLC0415 - only for a slip

        near = get_close_matches(name, self.list_commands(ctx))
        hint = f"did you mean {near[0]}?" if near else "`continuity record --help` lists them"
        raise click.UsageError(
            f"{name}: there is no such kind of entry, and a file's name ends in .jsonl; {hint}", ctx
        )


@click.group(cls=Kinds, subcommand_metavar="KIND|FILE.jsonl|- [OPTIONS]", options_metavar="")
def command() -> None:
    """Record what happened, on the disk before it answers.

    KIND is one of those below; its options are its fields. A file, or - for standard input, holds
    intents as JSON Lines, one a line; each is recorded or refused whole.

    A THING is given by its number, or by the code scanned from its label; #2 is the second new
    thing of the same act. What is given by its label's code was scanned, unless --no-scanned; a
    typed number was not, unless --scanned.
    """


def _kind_command(kind: type[Act]) -> click.Command:
    """The command that records one kind."""
    opens = kind.model_fields["kind"].default == "case-opened"

    @options.register
    @options.signing
    @options.as_json
    def record(files: Files, signing: Signing, *, as_json: bool, **given: Any) -> None:
        envelope = {n: given[n] for n in ("case", "occurred_at", "found") if given.get(n)}
        fields = {**envelope, **fields_of(kind, given)}
        with opened(files) as register:
            # Whoever unlocks a key for a minute means what they saw before it.
            as_of = {"as_of": register.store.head().size}
            intent = intent_of(register, as_of | from_options(register, fields))
            receipt = register.record(intent, signing.signatories())
            teller(as_json=as_json)(receipt)
            warn_of_alike(register, receipt)

    shared: list[click.Parameter] = list(getattr(record, "__click_params__", []))[::-1]
    own = list(options_of(kind))
    return click.Command(
        kind.model_fields["kind"].default,
        callback=record,
        params=[*own, *([] if kind.for_house or opens else [_case()]), *_envelope(), *shared],
        help=kind.__doc__,
    )


def _first_sentence(kind: type[Act]) -> str:
    return " ".join((kind.__doc__ or "").split()).partition(". ")[0]


def _case() -> click.Option:
    return click.Option(
        ["--case"], metavar="NUMBER", help="The case; else that of the first thing named."
    )


def _envelope() -> list[click.Option]:
    return [
        click.Option(
            ["--occurred-at"],
            metavar="TIME",
            help="When it happened, with its offset, as in 2026-03-01T14:05:00+01:00; else now.",
        ),
        click.Option(
            ["--found"],
            is_flag=True,
            help="It is found to be so, whatever the rules say: record it, and open an"
            " irregularity.",
        ),
    ]


@click.command("FILE")
@click.argument("file")
@click.option(
    "--keep-going", is_flag=True, help="Go on behind a line that is wrong or refused, and tell it."
)
@options.register
@options.signing
@options.as_json
def _from_file(
    files: Files, signing: Signing, file: str, *, keep_going: bool, as_json: bool
) -> int:
    """Record intents from JSON Lines; stop at the first that is wrong or refused."""
    with opened(files) as register:
        signatories = signing.signatories()
        print_one = teller(as_json=as_json)

        def tell(receipt: Receipt) -> None:
            print_one(receipt)
            warn_of_alike(register, receipt)

        return record_lines(register, file, signatories, tell, keep_going=keep_going)
