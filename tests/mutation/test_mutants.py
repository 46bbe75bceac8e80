"""The changes that are made, and what is left alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.mutation.mutants import mutants
from tests.mutation.survivors import OPEN, Row, write

SOURCE = '''
"""A module."""
from x import y
__all__ = ["f"]
LIMIT: int = 3


@dataclass(frozen=True)
class Some:
    """A class."""

    key: str | None = None

    def f(self, a: int = 1) -> bool:
        """Ask."""
        if a:
            raise ValueError("no such thing")
        return {}
'''


@pytest.mark.parametrize(
    ("code", "after"),
    [
        ("a < b", ["a <= b", "a >= b"]),
        ("a == b is c", ["a != b is c", "a == b is not c"]),
        ("a and b", ["a or b"]),
        ("not a", ["a"]),
        ("a + 1", ["a - 1", "2"]),
        ("f(True, None)", ["False", "..."]),
        ("a is None", ["a is not None"]),
        ("any(a)", ["all(a)"]),
        ("'word'", ["'word-'"]),
        ("'a sentence'", []),
        ("f'{a}-word'", []),
        ("b if a else c", ["not a"]),
        ("[a for a in b if c]", ["not c"]),
    ],
)
def test_an_expression_is_changed(code: str, after: list[str]) -> None:
    found = mutants(SOURCE.format(code))
    here = [m for m in found if m.lines == (18, 18) and m.after != "return None"]
    assert [m.after for m in here] == after
    assert {m.place for m in here} <= {"Some.f"}
    assert {m.head for m in here} <= {14}


def test_around_it_only_what_does_something_is_changed() -> None:
    around = [(m.place, m.before, m.after, m.head) for m in mutants(SOURCE.format("a"))]
    assert around == [
        ("", "3", "4", None),
        ("Some.f", "1", "2", None),
        ("Some.f", "a", "not a", 14),
        ("Some.f", "raise ValueError('no such thing')", "pass", 14),
        ("Some.f", "return a", "return None", 14),
    ]


def test_a_name_that_is_unbound_is_left_alone_and_what_is_taken_out_of_a_thing_is_not() -> None:
    assert mutants("def f(a):\n    del a\n") == []
    assert [m.after for m in mutants("def f(a, b):\n    del a[b]\n")] == ["pass"]


def test_a_planted_mutant_is_the_module_with_one_change() -> None:
    source = "def f(a):\n    return a < 2 and a\n"
    namespace: dict[str, object] = {}
    (mutant,) = [m for m in mutants(source) if m.after == "a <= 2"]
    exec(compile(mutant.planted(source), "f", "exec"), namespace)  # noqa: S102 - the code is written above
    assert namespace["f"](2) == 2
    assert namespace["f"](3) is False


def test_a_table_is_written_module_by_module_and_keeps_its_reasons(tmp_path: Path) -> None:
    table = tmp_path / "SURVIVORS.md"
    rows = [Row(Path(f), 7, "f", "a | b", "c", survived=True) for f in ("care/b.py", "care/a.py")]
    for row in rows:
        write(table, [row, Row(row.file, 8, "g", "1", "2", survived=False)], "all")
    assert "| care/a.py | 1 of 2, 50.0% | all |" in table.read_text()
    told = table.read_text().replace(
        f"| `f: a ¦ b → c` | {OPEN} |", "| `f: a ¦ b → c` | the same |"
    )
    table.write_text(told)
    write(table, [rows[0]], "a sample, seed 1")
    assert table.read_text().count("| `f: a ¦ b → c` | the same |") == 2
    assert "| care/b.py | 0 of 1, 0.0% | a sample, seed 1 |" in table.read_text()
    write(table, [Row(Path("care/b.py"), 7, "f", "a | b", "c", survived=False)], "all")
    assert "## care/b.py" not in table.read_text()
    assert "## care/a.py" in table.read_text()
