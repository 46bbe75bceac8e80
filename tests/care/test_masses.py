"""Published masses: each bound as its source prints it, wider where less is known."""

from __future__ import annotations

import pytest

from continuity.care import masses, policy
from continuity.care.masses import Bounds, bounds
from continuity.care.things import AgeGroup, Sex

MARGIN = 50

# Molina & DiMaio: men (Am J Forensic Med Pathol 2012;33(4) and 2012;33:368-372), women 2015
# (PMID 26108038). The right kidney's upper end and the left kidney of men are from memory.
ADULTS = [
    ("heart", Sex.MALE, 188, 575),
    ("right lung", Sex.MALE, 185, 967),
    ("left lung", Sex.MALE, 186, 885),
    ("liver", Sex.MALE, 838, 2584),
    ("spleen", Sex.MALE, 43, 344),
    ("right kidney", Sex.MALE, 79, 223),
    ("left kidney", Sex.MALE, 74, 235),
    ("brain", Sex.MALE, 1070, 1767),
    ("body", Sex.MALE, 48_500, 153_000),
    ("right lung", Sex.FEMALE, 142, 835),
    ("left lung", Sex.FEMALE, 108, 736),
    ("liver", Sex.FEMALE, 775, 2395),
    ("spleen", Sex.FEMALE, 51, 275),
    ("right kidney", Sex.FEMALE, 67, 261),
    ("left kidney", Sex.FEMALE, 55, 274),
    ("brain", Sex.FEMALE, 1000, 1618),
    ("body", Sex.FEMALE, 35_900, 152_000),
]

# ICRP 89: newborn, 1, 5, 10, 15 years, adult man; the newborn's spleen, 9.5 g, as 10.
CHILDREN = {
    "liver": [130, 330, 570, 830, 1300, 1800],
    "lungs": [60, 150, 300, 500, 900, 1200],
    "kidneys": [25, 70, 110, 180, 250, 310],
    "spleen": [10, 29, 50, 80, 130, 150],
    "body": [3500, 10_000, 19_000, 32_000, 56_000, 73_000],
}
GROUPS = [
    AgeGroup.UNDER_1,
    AgeGroup.FROM_1,
    AgeGroup.FROM_5,
    AgeGroup.FROM_10,
    AgeGroup.FROM_15,
]


@pytest.mark.parametrize(("organ", "sex", "least", "most"), ADULTS)
def test_adults_as_molina_and_dimaio_print_them(
    organ: str, sex: Sex, least: int, most: int
) -> None:
    found = bounds(organ, sex, AgeGroup.ADULT, MARGIN)
    assert found is not None
    assert (found.least, found.most) == (least, most)
    assert "Molina & DiMaio" in found.source


def test_a_womans_heart_is_two_standard_deviations_about_the_mean() -> None:
    """Cureus 2022;14(7):e27044: 241 g, SD 71; the range of Molina & DiMaio is not known here."""
    found = bounds("heart", Sex.FEMALE, AgeGroup.ADULT, MARGIN)
    assert found is not None
    assert (found.least, found.most) == (241 - 2 * 71, 241 + 2 * 71)
    assert "Cureus 2022;14(7):e27044" in found.source


@pytest.mark.parametrize("sex", list(Sex))
@pytest.mark.parametrize("pair", [("lungs", "lung"), ("kidneys", "kidney")])
def test_a_pair_is_the_sum_of_its_two(sex: Sex, pair: tuple[str, str]) -> None:
    both = bounds(pair[0], sex, AgeGroup.ADULT, MARGIN)
    right = bounds(f"right {pair[1]}", sex, AgeGroup.ADULT, MARGIN)
    left = bounds(f"left {pair[1]}", sex, AgeGroup.ADULT, MARGIN)
    assert both
    assert right
    assert left
    assert (both.least, both.most) == (right.least + left.least, right.most + left.most)


# ICRP 89, adult man and woman: gallbladder, stomach, adrenals, pancreas, thyroid, bladder, thymus,
# oesophagus, small bowel and content, right and left colon and rectosigmoid with content, uterus.
REST = {
    Sex.MALE: [68, 400, 14, 140, 20, 50, 25, 40, 650, 350, 150, 150, 150, 75, 70, 75],
    Sex.FEMALE: [56, 370, 13, 120, 17, 40, 20, 35, 600, 280, 145, 160, 145, 80, 70, 80, 80],
}


@pytest.mark.parametrize("sex", list(Sex))
def test_the_whole_block_is_the_sum_of_what_is_published(sex: Sex) -> None:
    def ends(*organs: str) -> tuple[int, int]:
        found = [bounds(organ, sex, AgeGroup.ADULT, MARGIN) for organ in organs]
        return sum(b.least for b in found if b), sum(b.most for b in found if b)

    block = bounds("viscera", sex, AgeGroup.ADULT, MARGIN)
    assert block
    small = ["lungs", "liver", "spleen", "kidneys"] + (["heart"] if sex is Sex.MALE else [])
    assert block.least == ends(*small)[0]
    large = ends("lungs", "liver", "spleen", "kidneys", "heart", "brain")[1]
    assert block.most == large + sum(REST[sex])


@pytest.mark.parametrize("organ", list(CHILDREN))
@pytest.mark.parametrize("index", range(5))
def test_children_lie_between_two_ages_of_icrp_89_give_or_take(organ: str, index: int) -> None:
    found = bounds(organ, None, GROUPS[index], 0)
    young, old = CHILDREN[organ][index : index + 2]
    assert found is not None
    assert (found.least, found.most) == (young, old)
    assert found.source.startswith("ICRP Publication 89")
    wide = bounds(organ, Sex.FEMALE, GROUPS[index], 50)
    assert wide is not None
    assert (wide.least, wide.most) == (young * 50 // 100, old * 150 // 100)


def test_what_is_not_known_of_the_person_widens_the_bounds() -> None:
    assert bounds("liver", None, AgeGroup.ADULT, MARGIN) == Bounds(
        775,
        2584,
        "Molina & DiMaio, Am J Forensic Med Pathol 2012;33:368-372: men 18-35, n=232; Molina &"
        " DiMaio, Am J Forensic Med Pathol 2015 (PMID 26108038): women 18-35, n=102",
    )
    anybody = bounds("liver", None, None, MARGIN)
    assert anybody is not None
    assert (anybody.least, anybody.most) == (65, 2700)
    assert bounds("liver", Sex.MALE, None, 0) == Bounds(
        130,
        2584,
        "Molina & DiMaio, Am J Forensic Med Pathol 2012;33:368-372: men 18-35, n=232; ICRP"
        " Publication 89",
    )


def test_an_organ_is_known_by_its_name_in_any_case() -> None:
    assert bounds(" Liver ", Sex.MALE, AgeGroup.ADULT, MARGIN) == bounds(
        "liver", Sex.MALE, AgeGroup.ADULT, MARGIN
    )


@pytest.mark.parametrize(
    ("organ", "group"), [("thymus", AgeGroup.ADULT), ("liver", AgeGroup.UNBORN)]
)
def test_where_nothing_is_published_there_are_no_bounds(organ: str, group: AgeGroup) -> None:
    assert bounds(organ, None, group, MARGIN) is None


def test_cremated_remains_as_warren_and_maples_print_them() -> None:
    assert masses.cremated() == Bounds(
        876, 3784, "Warren & Maples, J Forensic Sci 1997;42:417-423: adults, n=91"
    )


def test_every_row_has_its_source_and_its_ends_in_order() -> None:
    tables = masses._tables()
    assert all(row["source"] and row["least"] < row["most"] for row in tables["range"])
    assert all(
        row["source"] and row["grams"] == sorted(row["grams"]) for row in tables["reference"]
    )
    assert len({(row["organ"], row["sex"]) for row in tables["range"]}) == len(tables["range"])


def test_the_margin_for_children_is_the_policys() -> None:
    assert policy.default().threshold("reference-margin") == 50
