"""`continuity case`: everything of a case: what is in what, where, who holds it, what is open."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from continuity_cli import options
from continuity_cli.answers.case import answer, entries_answer
from continuity_cli.asked import Asked
from continuity_cli.paths import opened
from continuity_cli.plain import harmless
from continuity_cli.printing import show, show_json
from continuity_cli.words import closed, held, local, sighted, table, titled, what, where

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from continuity_cli.answers.case import Answer, EntryAnswer, IrregularityAnswer
    from continuity_cli.answers.things import ThingAnswer
    from continuity_cli.paths import Files


@click.command()
@click.argument("case")
@click.option("--entries", is_flag=True, help="Its entries too, struck ones marked.")
@click.option("--personal", is_flag=True, help="Its personal details too, as far as kept.")
@options.at_a_moment
@options.as_json
@options.register
def command(
    case: str,
    files: Files,
    known: datetime | None,
    happened: datetime | None,
    *,
    entries: bool,
    personal: bool,
    as_json: bool,
) -> None:
    """Show a case: its things, where each is and who holds it, what is open.

    CASE is its number, one of its things, or a scanned label.
    """
    with opened(files) as register:
        asked = Asked.of(register, case, known, happened)
        as_of = register.store.head().size  # before it is read: what comes meanwhile is not in it
        folded = asked.read(register)
        told = answer(folded, asked, as_of)
        if entries:
            told["entries"] = entries_answer(folded, register.entries(asked.case), asked)
        if personal:
            kept = register.personal_details(asked.case)
            told["personal"] = {str(entry): details for entry, details in kept.items()}
    if as_json:
        show_json(told)
    else:
        show(_screen(told, asked))


def _screen(told: Answer, asked: Asked) -> Iterator[str]:
    yield click.style(f"case {told['case']}", bold=True) + f", {asked.words}"
    yield from titled("about", table(_about(told)))
    head = ("thing", "where", "held by", "last sighted", "closed")
    yield from titled("things", table(_tree(told["things"]), head))
    open_ones = [m for m in told["irregularities"] if m["resolved"] is None]
    yield from titled("open irregularities", table(map(_matter, open_ones)))
    resolved = len(told["irregularities"]) - len(open_ones)
    if resolved:
        yield from titled("resolved irregularities", [f"{resolved}; --json tells them"])
    yield from titled("entries", table(map(_entry, told.get("entries", []))))
    yield from titled("personal details", table(_personal(told.get("personal", {}))))


def _about(told: Answer) -> Iterator[tuple[str, str]]:
    yield "opened", local(told["opened"])
    for name in ("coroner_reference", "release_authority"):
        value = told[name]
        if value:
            yield name.replace("_", " "), value
    plan = told["plan"]
    if plan:
        words = [plan["disposition"], f"on {plan['day']}" if plan["day"] else "on no day yet"]
        words += ["above ground"] if plan["above_ground"] else []
        words += ["after a long delay"] if plan["long_delay"] else []
        yield "plan in force", f"{', '.join(words)}, since {local(plan['since'])}"
    if told["disposed"]:
        yield "disposition", told["disposed"]


def _tree(things: list[ThingAnswer]) -> Iterator[tuple[str, ...]]:
    """Each thing under what it lies in; a loop in the record is shown once."""
    inside: dict[str | None, list[ThingAnswer]] = {}
    known = {thing["thing"] for thing in things}
    for thing in things:
        outer = thing["within"] if thing["within"] in known else None
        inside.setdefault(outer, []).append(thing)
    told: set[str] = set()
    for top in [*inside.get(None, []), *things]:
        yield from _branch(top, inside, told, 0)


def _branch(
    thing: ThingAnswer, inside: dict[str | None, list[ThingAnswer]], told: set[str], depth: int
) -> Iterator[tuple[str, ...]]:
    if thing["thing"] in told:
        return
    told.add(thing["thing"])
    name = f"{'  ' * depth}{thing['thing']} {what(thing)}"
    yield name, where(thing), held(thing), sighted(thing), closed(thing)
    for inner in inside.get(thing["thing"], []):
        yield from _branch(inner, inside, told, depth + 1)


def _matter(matter: IrregularityAnswer) -> tuple[str, ...]:
    about = f" ({', '.join(matter['things'])})" if matter["things"] else ""
    return str(matter["entry"]), local(matter["since"]), matter["what"] + about


def _entry(entry: EntryAnswer) -> tuple[str, ...]:
    struck = "" if entry["struck_by"] is None else f"struck by {entry['struck_by']}"
    late = entry["recorded_at"][:16] != entry["occurred_at"][:16]
    return (
        str(entry["entry"]),
        local(entry["occurred_at"]),
        f"recorded {local(entry['recorded_at'])}" if late else "",
        entry["kind"],
        ", ".join(entry["persons"]),
        _told(entry["details"]),
        struck,
    )


def _told(details: dict[str, Any]) -> str:
    """An entry's own words in short."""
    shown = {k: v for k, v in details.items() if k not in {"known", "personal", "policy"}}
    return "; ".join(f"{name} {_value(value)}" for name, value in shown.items())


def _value(value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(map(_value, value))
    if isinstance(value, dict):
        return " ".join(_value(v) for v in value.values() if v)
    return harmless(value)


def _personal(personal: dict[str, dict[str, str]]) -> Iterator[tuple[str, ...]]:
    for entry, details in personal.items():
        for name, value in details.items():
            yield f"entry {entry}", name, value
