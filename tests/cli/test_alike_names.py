"""With every move, a decedent in care whose name is alike is told. The names are invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.cli.conftest import Tool


def test_every_move_tells_of_a_decedent_in_care_whose_name_is_alike(tool: Tool) -> None:
    opened = ("record", "case-opened", "--as", "m1", "--personal")
    assert "take care" not in tool(*opened, "name=Marta Lindqvist").err
    assert "2026-0003" in tool(*opened, "name=Lindquist, Marta").err
    tool(
        "record",
        "received",
        "--case",
        "2026-0004",
        "--giver",
        "coroner",
        "--place",
        "table-1",
        "--item",
        "what=decedent,description=adult",
        "--as",
        "m1",
    )
    moved = tool("record", "moved", "--thing", "2026-0004.1", "--place", "cold-room", "--as", "m1")
    assert moved.err.startswith("take care: the decedent of case 2026-0003")
    assert "recorded in 2026-0004" in moved.out
    sighted = tool("record", "sighted", "--thing", "2026-0004.1", "--as", "m1")
    assert sighted.err == ""
