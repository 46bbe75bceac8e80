"""Every kind of entry is found by its name, in the module that the table says."""

from __future__ import annotations

import pkgutil
import subprocess
import sys

import pytest

from continuity.care import acts, entries
from continuity.errors import InputError


def test_the_table_names_every_kind_that_a_module_defines() -> None:
    defined = {
        module.name: tuple(
            act.model_fields["kind"].default
            for act in entries._acts(f"{acts.__name__}.{module.name}")
        )
        for module in pkgutil.iter_modules(acts.__path__)
        if module.name != "base"
    }
    assert defined == entries._MODULES, "name the kind beside its module in care/entries.py"


def test_every_kind_is_found_under_its_own_name() -> None:
    assert len(entries.KINDS) == sum(map(len, entries._MODULES.values())) > 40
    for name, kind in entries.KINDS.items():
        assert kind.model_fields["kind"].default == name


def test_the_kind_that_erases_is_the_one_with_a_ground_for_it() -> None:
    assert {"fields", "ground"} <= set(entries.KINDS[entries.ERASING].model_fields)


def test_a_kind_reads_its_own_module_and_no_other() -> None:
    script = (
        "import sys; from continuity.care.entries import read_act;"
        "read_act({'kind': 'weighed', 'thing': '2026-0001.1', 'grams': 3});"
        "print(*sorted(m for m in sys.modules if m.startswith('continuity.care.acts.')))"
    )
    answer = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True)
    assert answer.stdout.split() == [
        b"continuity.care.acts.base",
        b"continuity.care.acts.treatment",
    ]


@pytest.mark.parametrize("name", ["discarded", "", None, 3, ["moved"], {"moved": 1}])
def test_an_unknown_kind_is_wrong_input(name: object) -> None:
    with pytest.raises(InputError, match=r"^kind .*: no such kind of entry"):
        entries.read_act({"kind": name})
