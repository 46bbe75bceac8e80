"""Codes: minted, printed, read back, and never taken for another."""

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity_labels.actions import Action, action_code
from continuity_labels.check import ALPHABET, check_digits
from continuity_labels.code import LAST_PRINT, Code, CodeBook, CodeType, read_any
from continuity_labels.errors import (
    DamagedCodeError,
    LabelError,
    NotALabelError,
    OtherRegisterError,
)

BOOK = CodeBook("example-register")
CODE = Code(CodeType.THING, BOOK.tag, "9QWE2MN8XYZ4")

codes = st.builds(
    Code,
    st.sampled_from(CodeType),
    st.just(BOOK.tag),
    st.text(ALPHABET, min_size=12, max_size=12),
    st.integers(1, LAST_PRINT),
)


def test_the_code_in_the_documentation_stands() -> None:
    """A code once printed must be read for ever: these characters may never change."""
    assert CODE.grouped == "TEK1G-9QWE-2MN8-XYZ4-189"
    assert CODE.identity == CODE.text[:17]


@given(codes)
def test_what_is_printed_is_read_back(code: Code) -> None:
    """Bare from the symbol, in groups from the paper."""
    assert BOOK.parse(code.text) == code
    assert BOOK.parse(code.grouped) == code
    assert len(code.text) == 20
    assert set(code.text) <= set(ALPHABET)


@pytest.mark.parametrize(
    "typed",
    [
        CODE.grouped.lower(),
        CODE.text,
        f"  {CODE.grouped.replace('-', ' ')}\r\n",
        CODE.grouped.replace("-", "\u2013"),
        CODE.grouped.replace("-", "\u00a0"),
    ],
)
def test_typing_is_tolerated(typed: str) -> None:
    """Lower case, spaces, hyphens and dashes of every kind, a scanner's line ending."""
    assert BOOK.parse(typed) == CODE


def test_look_alikes_are_read_as_what_was_printed() -> None:
    """No code holds O, I or L, so they can only be 0 and 1."""
    code = Code(CodeType.THING, BOOK.tag, "0101AAAA0101")
    groups = code.grouped.split("-")
    groups[1] = groups[1].replace("0", "O").replace("1", "l")
    groups[3] = groups[3].replace("0", "o").replace("1", "I")
    assert BOOK.parse("-".join(groups)) == code


@given(codes, st.data())
def test_no_other_single_character_is_ever_accepted(code: Code, data: st.DataObject) -> None:
    """Every place and every character, look-alikes excepted because they are the same character."""
    at = data.draw(st.integers(0, 19))
    folded = {"O": "0", "I": "1", "L": "1"}
    wrong = data.draw(st.sampled_from(string.digits + string.ascii_uppercase))
    if folded.get(wrong, wrong) == code.text[at]:
        return
    with pytest.raises(DamagedCodeError):
        BOOK.parse(code.text[:at] + wrong + code.text[at + 1 :])


@given(codes, st.data())
def test_no_exchange_of_two_characters_is_ever_accepted(code: Code, data: st.DataObject) -> None:
    """Check digits included, at any distance."""
    one, other = data.draw(st.lists(st.integers(0, 19), min_size=2, max_size=2, unique=True))
    characters = list(code.text)
    characters[one], characters[other] = characters[other], characters[one]
    if characters == list(code.text):
        return
    with pytest.raises(DamagedCodeError):
        BOOK.parse("".join(characters))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "letters and digits only"),
        ("https://example.org/a", "letters and digits only"),
        ("4006381333931", "it has 13 characters, a code has 20"),
        (CODE.text[:-1], "it has 19 characters, a code has 20"),
        (CODE.text + "1", "it has 21 characters, a code has 20"),
        ("٣" * 20, "letters and digits only"),
        ("x" * 5000, "it has 5000 characters"),
    ],
)
def test_what_is_not_a_label_is_said_not_to_be(text: str, why: str) -> None:
    """A web address, a grocer's number, a code cut short."""
    with pytest.raises(NotALabelError, match=why) as refusal:
        BOOK.parse(text)
    assert refusal.value.finding == "not-a-label"
    assert len(str(refusal.value)) < 200


def test_another_registers_label_is_told_apart() -> None:
    """It is whole, it is not ours, and both tags are named."""
    other = CodeBook("another-register")
    assert other.tag != BOOK.tag
    foreign = other.mint(CodeType.THING)
    with pytest.raises(OtherRegisterError, match=f"its tag is {other.tag}, this register's is"):
        BOOK.parse(foreign.text)
    with pytest.raises(OtherRegisterError):
        BOOK.reprint(foreign)
    assert read_any(foreign.text) == foreign


def test_a_damaged_foreign_label_is_damaged_first() -> None:
    """An unsound reading says nothing about whose it is."""
    foreign = CodeBook("another-register").mint(CodeType.THING).text
    swapped = foreign[:5] + ("0" if foreign[5] != "0" else "2") + foreign[6:]
    with pytest.raises(DamagedCodeError):
        BOOK.parse(swapped)


def test_tags_differ_and_are_twenty_bits_of_a_digest() -> None:
    """A thousand registers: by the birthday rule about one pair in 2^20 x 2 / 10^6 shares a tag."""
    tags = {CodeBook(f"register-{number}").tag for number in range(1000)}
    assert len(tags) >= 997
    assert {len(tag) for tag in tags} == {4}


def test_a_reprint_is_the_same_thing_with_a_higher_print() -> None:
    """A superseded label is recognised when it turns up again."""
    second = BOOK.reprint(CODE)
    assert (second.identity, second.print_number) == (CODE.identity, 2)
    assert second.supersedes(CODE)
    assert not CODE.supersedes(second)
    assert not CODE.supersedes(CODE)
    assert not second.supersedes(BOOK.mint(CodeType.THING))
    assert BOOK.parse(second.text).print_number == 2


def test_prints_end_with_a_mend() -> None:
    """Thirty-one prints fit one character."""
    with pytest.raises(LabelError, match=r"print number 32 is outside 1 to 31; give the thing"):
        BOOK.reprint(Code(CodeType.THING, BOOK.tag, "9QWE2MN8XYZ4", 31))


def test_print_nought_is_never_accepted() -> None:
    """Its check digits may be right all the same."""
    body = CODE.identity + "0"
    with pytest.raises(DamagedCodeError):
        BOOK.parse(body + check_digits(body))


def test_minted_codes_do_not_repeat_and_use_all_sixty_bits() -> None:
    """Each of the twelve characters takes every value of the alphabet."""
    minted = [BOOK.mint(CodeType.PLACE) for _ in range(600)]
    assert len({code.identity for code in minted}) == 600
    for place in range(12):
        assert {code.unique[place] for code in minted} == set(ALPHABET)


def test_types_are_kept() -> None:
    """A badge is never read as a thing."""
    for kind in CodeType:
        if kind is not CodeType.ACTION:
            assert BOOK.parse(BOOK.mint(kind).text).type is kind
    with pytest.raises(LabelError, match="take it from an action"):
        BOOK.mint(CodeType.ACTION)


@pytest.mark.parametrize(
    ("parts", "why"),
    [
        ((CodeType.THING, "ABC", "9QWE2MN8XYZ4", 1), "tag is 4 characters"),
        ((CodeType.THING, "ABCD", "9QWE2MN8XYZO", 1), "unique part is 12 characters"),
        ((CodeType.THING, "ABCD", "9QWE2MN8XYZ4", 0), "print number 0 is outside"),
    ],
)
def test_a_code_that_could_not_be_printed_is_not_made(
    parts: tuple[CodeType, str, str, int], why: str
) -> None:
    """Each part is checked where it enters."""
    with pytest.raises(LabelError, match=why):
        Code(*parts)


def test_an_empty_register_id_is_refused() -> None:
    """All registers without an id would share their labels."""
    with pytest.raises(LabelError, match="empty"):
        CodeBook(" ")


def test_action_codes_are_the_same_on_every_board_and_differ_by_register() -> None:
    """A board needs no record."""
    ours = {action: action_code(BOOK, action) for action in Action}
    assert ours == {action: action_code(CodeBook("example-register"), action) for action in Action}
    assert len({code.identity for code in ours.values()}) == len(Action) == 27
    assert ours[Action.OPEN].grouped == "AEK1G-7AMH-GKXA-BPX5-158"
    for code in ours.values():
        assert BOOK.parse(code.text) == code
    with pytest.raises(OtherRegisterError):
        CodeBook("another-register").parse(ours[Action.OPEN].text)
