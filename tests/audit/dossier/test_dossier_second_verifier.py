"""The second verifier, which shares no line with the library, agrees on every dossier."""

from __future__ import annotations

from dataclasses import replace

import pytest
import second_verifier
from hostile import hostile_firm
from misshapen import BENT, bent, misshapen
from scenario import PIN, Firm
from tampers import TAMPERS, Tamper

from continuity.audit.dossier.page import write_page
from continuity.audit.dossier.what import Dossier
from continuity.errors import FormatError


def test_both_find_a_sound_dossier_sound(sound: Dossier, sound_page: bytes) -> None:
    for data in (sound.encode(), sound_page):
        verdict = second_verifier.verify_dossier(data, PIN)
        assert verdict.broken == []
        assert (verdict.proved, verdict.complete_to) == (25, 25)


def test_both_read_hostile_texts_alike() -> None:
    dossier = hostile_firm().dossier(everything=True)
    for data in (dossier.encode(), write_page(dossier)):
        assert second_verifier.verify_dossier(data, PIN).broken == []


@pytest.mark.parametrize("tamper", TAMPERS, ids=lambda tamper: tamper.name)
def test_both_agree_on_each_tamper(tamper: Tamper, sound: Dossier) -> None:
    altered = tamper.alter(sound)
    assert second_verifier.verify_dossier(altered.encode(), PIN).sound is tamper.sound


@pytest.mark.parametrize("name", misshapen())
def test_both_refuse_what_is_no_dossier(name: str) -> None:
    data = misshapen()[name]
    try:
        verdict = second_verifier.verify_dossier(data)
    except second_verifier.BadError:
        return
    assert not verdict.sound


@pytest.mark.parametrize("name", BENT)
def test_both_refuse_a_part_that_is_misshapen(name: str, sound: Dossier) -> None:
    data = bent(sound.encode(), name)
    with pytest.raises(FormatError):
        Dossier.decode(data)
    with pytest.raises(second_verifier.BadError):
        second_verifier.verify_dossier(data, PIN)


def test_both_take_a_literal_escape_for_what_it_is(firm: Firm) -> None:
    """A text that already looks like the page's own escape is not turned into another."""
    odd = replace(firm.dossier(), made_with="a \\u003c b < c \\\\u003c")
    assert second_verifier.read_dossier(odd.encode())["made_with"] == odd.made_with
    page = write_page(odd)
    assert second_verifier.read_dossier(page)["made_with"] == odd.made_with
