"""Disclosures: the examples of RFC 9901, and what is refused."""

from __future__ import annotations

import base64

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity.errors import FormatError
from continuity.ledger.disclosure import digest_of, disclose, read

# RFC 9901 section 4.2.1 and 4.2.3 (an object property), section 4.2.2 and 4.2.3 (an array element).
PROPERTY = "WyJfMjZiYzRMVC1hYzZxMktJNmNCVzVlcyIsICJmYW1pbHlfbmFtZSIsICJNw7ZiaXVzIl0"
PROPERTY_DIGEST = "X9yH0Ajrdm1Oij4tWso9UzzKJvPoDxwmuEcO3XAdRC0"
ELEMENT = "WyJsa2x4RjVqTVlsR1RQVW92TU5JdkNBIiwgIkZSIl0"
ELEMENT_DIGEST = "w0I8EKcdCtUPkGCNUrfwVp2xEgNjtoIDlOxc9-PlOhs"

SALT = bytes(range(16))


def encoded(text: str) -> str:
    return base64.urlsafe_b64encode(text.encode()).decode().rstrip("=")


STANDARD_ALPHABET = base64.b64encode(b'["AAECAwQFBgcICQoLDA0ODw","name","a??~~~"]').decode()


def test_the_rfcs_property():
    assert read(PROPERTY) == ("_26bc4LT-ac6q2KI6cBW5es", "family_name", "Möbius")
    assert digest_of(PROPERTY) == PROPERTY_DIGEST


def test_the_rfcs_array_element_is_digested_but_is_no_named_detail():
    assert digest_of(ELEMENT) == ELEMENT_DIGEST
    with pytest.raises(FormatError, match="salt, name and value"):
        read(ELEMENT)


def test_a_disclosure_to_the_byte():
    text, digest = disclose("family_name", "Möbius", SALT)
    assert text == encoded('["AAECAwQFBgcICQoLDA0ODw","family_name","Möbius"]')
    assert digest == digest_of(text)
    assert len(digest) == 43


def test_another_spelling_of_the_same_detail_has_another_digest():
    text, digest = disclose("family_name", "Möbius", SALT)
    spaced = encoded('["AAECAwQFBgcICQoLDA0ODw", "family_name", "Möbius"]')
    assert read(spaced) == read(text)
    assert digest_of(spaced) != digest


def test_salts_are_fresh():
    assert len({disclose("sex", "x")[1] for _ in range(100)}) == 100
    salt, _, _ = read(disclose("sex", "x")[0])
    assert len(base64.urlsafe_b64decode(salt + "==")) == 16


@given(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=30),
    st.binary(min_size=16, max_size=40),
)
def test_what_is_disclosed_is_read_again(value, salt):
    text, _ = disclose("name", {"value": [value, 1, None]}, salt)
    assert read(text)[1:] == ("name", {"value": [value, 1, None]})


@pytest.mark.parametrize("salt", [b"", bytes(15)])
def test_a_short_salt_is_refused(salt):
    with pytest.raises(FormatError, match="at least 16"):
        disclose("name", "value", salt)


@pytest.mark.parametrize("name", ["_sd", "..."])
def test_reserved_names_are_refused(name):
    with pytest.raises(FormatError, match="reserved"):
        disclose(name, "value")


@pytest.mark.parametrize("value", [1.5, 2**53, "\ud800", b"x"])
def test_what_a_record_cannot_hold_is_not_disclosed(value):
    with pytest.raises(FormatError):
        disclose("name", value)


def test_a_disclosure_is_no_longer_than_16384_characters():
    with pytest.raises(FormatError, match="16384"):
        disclose("name", "x" * 16_384)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "é",
        PROPERTY + "=",
        PROPERTY + "\n",
        " " + PROPERTY,
        PROPERTY[:-1],
        PROPERTY[:-1] + "1",  # the last character's spare bits are set
        STANDARD_ALPHABET,
        PROPERTY + "AA",
        encoded("null"),
        encoded("[]"),
        encoded('["AAECAwQFBgcICQoLDA0ODw","name"]'),
        encoded('["AAECAwQFBgcICQoLDA0ODw","name",1,2]'),
        encoded('["short","name",1]'),
        encoded('[1,"name",1]'),
        encoded('["AAECAwQFBgcICQoLDA0ODw",1,1]'),
        encoded('["AAECAwQFBgcICQoLDA0ODw","_sd",1]'),
        encoded('["AAECAwQFBgcICQoLDA0ODw","name",1.5]'),
        encoded('["AAECAwQFBgcICQoLDA0ODw","name",NaN]'),
        encoded('["AAECAwQFBgcICQoLDA0ODw","name",{"a":1,"a":2}]'),
        encoded('["AAECAwQFBgcICQoLDA0ODw","name","\\ud800"]'),
        encoded('{"AAECAwQFBgcICQoLDA0ODw":1,"name":2,"value":3}'),
    ],
)
def test_what_is_not_a_disclosure_is_refused(text):
    with pytest.raises(FormatError):
        read(text)


def test_the_alphabet_is_the_one_for_urls():
    assert "/" in STANDARD_ALPHABET
    assert "=" not in STANDARD_ALPHABET
    assert read(STANDARD_ALPHABET.replace("/", "_").replace("+", "-"))[2] == "a??~~~"


def test_a_digest_is_of_ascii_text():
    with pytest.raises(FormatError):
        digest_of("é")
