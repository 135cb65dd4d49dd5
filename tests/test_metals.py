"""Densities of ring metals, held against handbooks and against the atoms they are made of."""

from dataclasses import FrozenInstanceError
from math import sqrt

import pytest

from ringstep.language.measures import mass_g, metal_volume_mm3
from ringstep.shop.metals import Density, density_of


def known(words: str) -> Density:
    found = density_of(words)
    assert found is not None, words
    return found


# Handbook values in g/cm3; agreement within 1.5 % is asked, since alloys and sheets differ.
HANDBOOK = [
    ("aluminium", 2.70),  # CRC Handbook, element (from memory)
    ("aluminium 1100", 2.71),  # nominal densities table, Aluminum Specification (reprint)
    ("5356", 2.64),  # the same table
    ("bright aluminium", 2.64),  # the same table, 5356; which alloy: common practice, no source
    ("anodised aluminium", 2.71),  # the same table, 1100
    ("copper", 8.89),  # IEC 60028, first edition 1913, standard annealed copper at 20 C
    ("brass", 8.53),  # C26000 data sheets of a mill and of a materials site
    ("CuZn30", 8.53),  # the same
    ("CuZn37", 8.44),  # from memory
    ("red brass", 8.75),  # C23000, from memory
    ("bronze", 8.86),  # as phosphor bronze
    ("phosphor bronze", 8.86),  # C51100, data sheet
    ("silicon bronze", 8.53),  # C65500, from memory
    ("nickel silver", 8.73),  # C75200, from memory
    ("steel", 7.85),  # published density table, rolled steel
    ("stainless steel", 7.93),  # 304, supplier sheets 7.93 to 8.0
    ("304", 7.9),  # EN 10088-1 (from memory)
    ("316", 8.0),  # EN 10088-1 (from memory); supplier sheets
    ("titanium", 4.51),  # grade 2, ASM data sheet
    ("titanium grade 5", 4.43),  # from memory
    ("niobium", 8.57),  # R04210, materials data sheet
    ("fine silver", 10.49),  # published density table
    ("sterling silver", 10.36),  # data sheet of a metal supplier
    ("silver", 10.36),  # as sterling
]


@pytest.mark.parametrize(("words", "handbook"), HANDBOOK)
def test_densities_agree_with_handbooks(words: str, handbook: float) -> None:
    assert known(words).g_per_cm3 == pytest.approx(handbook, rel=0.015)


# X-ray density: atoms in the unit cell times their mass over the cell's volume. Atomic weights of
# IUPAC and room-temperature cell edges in angstroms (CRC Handbook), all from memory.
CELLS = [
    ("aluminium", 4, 26.982, 4.0495**3),
    ("copper", 4, 63.546, 3.6149**3),
    ("fine silver", 4, 107.868, 4.0862**3),
    ("niobium", 2, 92.906, 3.3004**3),
    ("titanium", 2, 47.867, sqrt(3) / 2 * 2.9508**2 * 4.6855),
]


@pytest.mark.parametrize(("words", "atoms", "weight", "cell"), CELLS)
def test_pure_metals_weigh_what_their_atoms_do(
    words: str, atoms: int, weight: float, cell: float
) -> None:
    avogadro = 0.602214076  # per mole, for cubic angstroms and g/cm3 (SI, 2019)
    assert known(words).g_per_cm3 == pytest.approx(atoms * weight / avogadro / cell, rel=0.01)


def test_sterling_follows_the_rule_of_mixtures() -> None:
    # 925 parts of silver and 75 of copper by weight (ISO 9202; from memory), no change of volume.
    silver, copper = known("fine silver").g_per_cm3, known("copper").g_per_cm3
    mixed = 1 / (0.925 / silver + 0.075 / copper)
    assert known("sterling silver").g_per_cm3 == pytest.approx(mixed, rel=0.002)


# One ring of 5 mm inside and 1.2 mm wire, by hand: R = 3.1, r = 0.6, and by Pappus
# 19.73921 * 3.1 * 0.36 = 22.02896 mm3 = 0.02202896 cm3, times the density.
RINGS = [
    ("aluminium", 0.05970),
    ("bright aluminium", 0.05816),
    ("copper", 0.19650),
    ("brass", 0.18791),
    ("CuZn37", 0.18592),
    ("red brass", 0.19275),
    ("phosphor bronze", 0.19518),
    ("silicon bronze", 0.18791),
    ("nickel silver", 0.19165),
    ("steel", 0.17293),
    ("stainless steel", 0.17403),
    ("316", 0.17623),
    ("titanium", 0.09935),
    ("titanium grade 5", 0.09759),
    ("niobium", 0.18879),
    ("fine silver", 0.23108),
    ("sterling silver", 0.22822),
]


@pytest.mark.parametrize(("words", "grams"), RINGS)
def test_one_worked_ring_of_each_metal(words: str, grams: float) -> None:
    assert mass_g(metal_volume_mm3(5, 1.2), known(words).g_per_cm3) == pytest.approx(
        grams, abs=5e-6
    )


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Bright Aluminum", "bright aluminium (as 5356)"),
        ("anodized aluminum, teal", "anodised aluminium (as 1100)"),
        ("ALUMINIUM", "aluminium (as 1100)"),
        ("1100 aluminium", "aluminium 1100"),
        ("soft copper wire", "copper"),
        ("enamelled copper", "copper"),
        ("brass", "brass (as CuZn30)"),
        ("brass CuZn37", "brass CuZn37"),
        ("half-hard red brass", "red brass CuZn15 (C23000)"),
        ("phosphor-bronze", "phosphor bronze (C51000, C51100)"),
        ("bronze", "bronze (as phosphor bronze)"),
        ("galvanised mild steel", "carbon steel"),
        ("stainless", "stainless steel (as 304)"),
        ("stainless steel", "stainless steel (as 304)"),
        ("surgical steel", "stainless steel (as 304)"),
        ("stainless steel, 316L", "stainless steel 316"),
        ("304 stainless", "stainless steel 304"),
        ("titanium, grade 5", "titanium grade 5"),
        ("titanium", "titanium (as grade 2)"),
        ("anodised niobium, violet", "niobium"),
        ("silver", "silver (as sterling)"),
        ("Sterling", "sterling silver"),
        ("925 silver", "sterling silver"),
        ("fine silver", "fine silver"),
        ("silver 999", "fine silver"),
        ("anodised aluminium, bronze", "anodised aluminium (as 1100)"),  # the longest name wins
        ("bronze aluminium", "aluminium (as 1100)"),
    ],
)
def test_a_makers_words_find_the_metal(text: str, name: str) -> None:
    assert known(text).name == name


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("silver plated copper", "copper"),
        ("sterling silver plated brass", "brass (as CuZn30)"),
        ("brass, silver-plated", "brass (as CuZn30)"),
        ("steel plated with copper", "carbon steel"),
        ("copper coated in silver", "copper"),
        ("copper coloured anodised aluminium", "anodised aluminium (as 1100)"),
        ("aluminium, silver colour", "aluminium (as 1100)"),
        ("silver-grey steel", "carbon steel"),
        ("clear coated copper", "copper"),
    ],
)
def test_a_skin_or_a_colour_does_not_count(text: str, name: str | None) -> None:
    found = density_of(text)
    assert (found and found.name) == name


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "rubber",
        "gold",
        "silverware",
        "brassy",
        "silver plated",
        "silver filled",
        "brass or steel",
        "aluminium bronze",  # near 7.7, not 2.7
        "tibetan silver",  # a trade word for alloys without silver
        "copper clad aluminium",  # a fifth heavier than aluminium
        "<b>\x1b[31m\\",
    ],
)
def test_what_is_not_known_is_not_guessed(text: str) -> None:
    assert density_of(text) is None


def test_nickel_silver_is_not_silver() -> None:
    assert known("nickel silver").g_per_cm3 < 9
    assert "no silver" in known("German silver").note


@pytest.mark.parametrize(
    ("words", "other"),
    [
        ("aluminium", "5356"),
        ("bright aluminium", "2.71"),
        ("anodised aluminium", "5356"),
        ("brass", "CuZn37"),
        ("bronze", "silicon bronze"),
        ("stainless", "316"),
        ("titanium", "grade 5"),
        ("silver", "fine silver"),
    ],
)
def test_a_trade_word_for_several_alloys_says_so(words: str, other: str) -> None:
    assert other in known(words).note


@pytest.mark.parametrize("words", [words for words, _ in HANDBOOK])
def test_every_density_names_its_source(words: str) -> None:
    assert len(known(words).source) > 8


def test_a_density_cannot_be_changed() -> None:
    with pytest.raises(FrozenInstanceError):
        known("copper").g_per_cm3 = 1.0  # type: ignore[misc]
