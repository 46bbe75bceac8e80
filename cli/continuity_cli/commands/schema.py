"""`continuity schema`: JSON Schema of what `record` takes, and of every answer with --json."""

from __future__ import annotations

import pkgutil
from importlib import import_module
from typing import TYPE_CHECKING, Any

import click
from pydantic import TypeAdapter

from continuity.care.intent import schema as intent_schema
from continuity.errors import InputError
from continuity_cli import answers
from continuity_cli.printing import show_json

if TYPE_CHECKING:
    from collections.abc import Iterator

INTENT = "continuity-intent/1"


@click.command()
@click.argument("shape", required=False)
@click.option("--list", "only_names", is_flag=True, help="Print only the names of the shapes.")
def command(shape: str | None, *, only_names: bool) -> None:
    """Print JSON Schema (draft 2020-12) of intents and answers, or of one SHAPE.

    continuity-intent/1 is a line that `record FILE.jsonl` takes; every other shape is what a
    command answers with --json, and the answer bears its name. A shape never changes: what must
    change gets a new number.
    """
    schemas = dict(schemas_by_name())
    if only_names:
        for name in schemas:
            click.echo(name)
    elif shape is None:
        show_json(schemas)
    elif shape in schemas:
        show_json(schemas[shape])
    else:
        raise InputError(f"{shape}: there is no such shape; `continuity schema --list` names them")


def schemas_by_name() -> Iterator[tuple[str, dict[str, Any]]]:
    """Every published shape with its schema, the intent's first."""
    yield INTENT, intent_schema()
    for found in pkgutil.iter_modules(answers.__path__):
        module: Any = import_module(f"{answers.__name__}.{found.name}")
        if hasattr(module, "SHAPE"):
            yield module.SHAPE, _answer_schema(module.SHAPE, module.Answer)


def _answer_schema(shape: str, answer: Any) -> dict[str, Any]:
    # An answer's annotations are only read here; elsewhere it is a plain dictionary.
    adapter: TypeAdapter[Any] = TypeAdapter(answer)
    made = adapter.json_schema()
    made["properties"]["shape"] = {"const": shape}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **made}
