"""A room counted with a scanner: what is not read must not cost what was."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from continuity.errors import InputError
from continuity.register import Register
from continuity_cli.commands import count
from continuity_cli.labelling.codes import place_code
from continuity_labels.code import CodeBook

if TYPE_CHECKING:
    from tests.cli.conftest import Tool

BODY, COFFIN = "2026-0001.1", "2026-0001.4"


def test_the_places_own_label_ends_the_count(tool: Tool) -> None:
    register = Register.open(tool.path)
    with register.store:
        end = place_code(CodeBook(register.id), "table-1").grouped
    told = tool("count", "table-1", stdin=f"{BODY}\n\n{end}\nnever read\n", status=1)
    assert told.out.startswith("table-1 does not agree with the record: 1 seen\n")


def test_at_a_terminal_each_scan_is_answered_and_a_bad_one_left_out(
    tool: Tool, capsys: pytest.CaptureFixture[str]
) -> None:
    register = Register.open(tool.path)
    with register.store:
        texts = [BODY, "torn", "2026-0001.99", "2027-0001.1", COFFIN, BODY]
        assert count._seen(register, texts, told=True) == [BODY, COFFIN]
        heard = capsys.readouterr().err.splitlines()
        with pytest.raises(InputError, match=r"^scan 2: thing 'torn': not a thing's number"):
            count._seen(register, texts)
    assert [line.partition(":")[0] for line in heard] == [
        "1", "\aNOT COUNTED", "\aNOT COUNTED", "\aNOT COUNTED", "2", "2",
    ]  # fmt: skip
    assert heard[0] == f"1: {BODY}"
    assert heard[-1] == f"2: {BODY} again"
    assert heard[2] == (
        "\aNOT COUNTED: thing 2026-0001.99: no such thing in this register; check the label"
    )
