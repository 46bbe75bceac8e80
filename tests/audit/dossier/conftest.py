"""The invented case's dossier, sound, made once; `scenario` and `tampers` stand beside this."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from typing import TYPE_CHECKING

from scenario import PIN, Firm, whole

from continuity.audit.trust import Trust
from continuity.ledger.keys import VerifyKey

if TYPE_CHECKING:
    from continuity.audit.dossier.what import Dossier


@pytest.fixture(scope="session")
def firm() -> Firm:
    return whole()


@pytest.fixture(scope="session")
def sound(firm: Firm) -> Dossier:
    """Shows the name, and withholds all else."""
    return firm.dossier("name")


@pytest.fixture(scope="session")
def pinned() -> Trust:
    return Trust(VerifyKey.parse(PIN))
