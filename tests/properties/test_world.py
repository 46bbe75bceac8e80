"""Random days, told to the register and to a naive world that knows nothing of the fold.

After every step the register must agree with the world: where each thing is, what is refused, and
whether everything of a case is with the decedent or lawfully gone. The number of histories is
CONTINUITY_HISTORIES, 200 unless told otherwise; `make histories` tells 2,000. Under the same
CONTINUITY_SEED they are the same to the byte: a failing run is told again by its seed.
"""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from continuity import recording
from tests.properties.evening import Evenings
from tests.properties.firm import DRAWN

HISTORIES = int(os.environ.get("CONTINUITY_HISTORIES", "200"))
SEED = int(os.environ.get("CONTINUITY_SEED", "0"))
SHARES = 4
"""In how many tests the histories are told, so that they can be told on several processors."""


@pytest.mark.parametrize("share", range(SHARES))
def test_the_register_agrees_with_the_world_after_every_step_of_random_days(
    share: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(recording, "secrets", DRAWN)
    print(f"CONTINUITY_SEED={SEED} CONTINUITY_HISTORIES={HISTORIES}, share {share}")
    machine = seed(SEED * SHARES + share)(type("Evenings", (Evenings,), {}))
    chosen = settings(
        max_examples=-(-HISTORIES // SHARES),
        stateful_step_count=30,
        deadline=None,
        phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )
    run_state_machine_as_test(machine, settings=chosen)
