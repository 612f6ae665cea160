"""Allergen lists, exemptions and worked drinks.

Sources
- EU: Reg. (EU) 1169/2011 Annex II, as amended by 78/2014 and 2024/2512. [read; 2024/2512
  second-hand]
- UK: the same Annex as kept in GB law. [read]
- US: FDA FAQ on food allergen labeling (January 2025), the nine [read]; Questions and Answers
  Regarding Food Allergens, Edition 5 (6 January 2025), 12 tree nuts kept, 11 dropped
  [second-hand].
- Canada: Food and Drug Regulations B.01.010.1. [read]
- ANZ: Food Standards Code, Standard 1.2.3, table to s 1.2.3-4. [second-hand]
- Codex: CXS 1-1985 as revised in 2024. [second-hand; wording from memory]
The drinks A01 to A18 were worked by hand from these lists; where a reading is this project's
own the case says so.
"""

from datetime import date
from decimal import Decimal

import pytest

from kegsafe.rules.allergen_lists import exemptions, list_entries
from kegsafe.rules.allergens import (
    AllergenFact,
    Declaration,
    State,
    SulphiteAmount,
    cross_contact,
    declare,
)

TODAY = date(2026, 5, 1)
NO_SULPHITE = SulphiteAmount(Decimal(0))
LISTS = ("eu", "uk", "us", "canada", "anz", "codex")
NOTHING = "-"


def contains(source: str) -> AllergenFact:
    return AllergenFact(source, State.CONTAINS, None, source)


def exempt(source: str, process: str) -> AllergenFact:
    return AllergenFact(source, State.EXEMPT_BY_PROCESS, process, process)


def on_list(facts, regime, so2=NO_SULPHITE) -> Declaration:
    return declare(facts, regime, so2, TODAY)


def codes_of(declared) -> set[str]:
    return {entry for each in declared for entry in each.entries}


def sources_of(declared) -> set[str]:
    return {each.source for each in declared}


def cell(text: str) -> set[str]:
    return set() if text == NOTHING else {name.strip() for name in text.split(";")}


# The lists count what their law counts


def groups_of(regime: str) -> set[str]:
    return {
        row.group for row in list_entries() if row.regime == regime and row.standing == "listed"
    }


@pytest.mark.parametrize(
    ("regime", "count"),
    [("eu", 14), ("uk", 14), ("us", 9), ("canada", 11), ("anz", 13), ("codex", 8)],
)
def test_each_list_has_as_many_groups_as_its_law(regime, count):
    assert len(groups_of(regime)) == count


@pytest.mark.parametrize(
    ("regime", "prefix", "count"),
    [
        ("eu", "nuts.", 8),
        ("eu", "gluten_cereals.", 4),
        ("uk", "nuts.", 8),
        ("us", "tree_nuts.", 12),
        ("us", "removed.", 11),
        ("canada", "tree_nuts.", 9),
        ("canada", "gluten.", 5),
        ("codex", "tree_nuts.", 6),
        ("codex", "national.", 9),
    ],
)
def test_each_group_names_as_many_members_as_its_law(regime, prefix, count):
    named = [row for row in list_entries() if row.regime == regime and row.entry.startswith(prefix)]
    assert len(named) == count


def test_anz_requires_23_names_of_which_nine_are_nuts():
    anz = [row for row in list_entries() if row.regime == "anz" and row.standing == "listed"]
    assert len(anz) == 23
    assert len([row for row in anz if row.kind == "tree nut"]) == 9


@pytest.mark.parametrize(("regime", "count"), [("eu", 14), ("uk", 13), ("anz", 8)])
def test_each_list_has_as_many_exemptions_as_its_law(regime, count):
    named = [row for row in exemptions() if row.regime == regime and row.effect == "exempt"]
    assert len(named) == count


# Drinks, worked by hand

WHEAT_BEER = (exempt("wheat", "cereal_in_beer"), exempt("barley", "cereal_in_beer"))
DRINKS = [
    pytest.param(
        (contains("almond"),),
        "nuts.almond|tree_nuts.almond|tree_nuts.almond|almond|tree_nuts.almond",
        id="A01 rum, lime, orgeat of real almond: no lower limit, the nut is named",
    ),
    pytest.param(
        (contains("apricot_kernel"),),
        "-|-|-|-|-",
        id="A02 amaretto of apricot kernel: not almond on any list",
    ),
    pytest.param(
        (contains("almond"),),
        "nuts.almond|tree_nuts.almond|tree_nuts.almond|almond|tree_nuts.almond",
        id="A03 amaretto macerated with almond: no distillate exemption",
    ),
    pytest.param(
        (exempt("barley", "cereal_distillate"),),
        "-|-|-|-|-",
        id="A04 malt whisky and soda: Annex II 1(d)",
    ),
    pytest.param(
        WHEAT_BEER,
        "gluten_cereals.wheat; gluten_cereals.barley|wheat|wheat; gluten.wheat; gluten.barley"
        "|-|cereals_gluten.wheat; cereals_gluten.barley",
        id="A05 wheat beer and lemonade: barley is not a US allergen",
    ),
    pytest.param((contains("egg"),), "eggs|egg|eggs|egg|eggs", id="A06 gin, lemon, raw egg white"),
    pytest.param(
        (exempt("wheat", "cereal_distillate"), contains("milk"), contains("soy")),
        "milk; soy|milk; soybeans|milk; soybeans|milk; soy|milk",
        id="A07 vodka, cold brew, cream liqueur with soy lecithin",
    ),
    pytest.param(
        (contains("fish"), contains("barley"), contains("celery")),
        "fish; gluten_cereals.barley; celery|fish|fish; gluten.barley|fish; barley; gluten"
        "|fish; cereals_gluten.barley",
        id="A11 tomato, anchovy sauce with malt vinegar, celery salt",
    ),
    pytest.param(
        (contains("coconut"),), "-|-|-|-|-", id="A12 rum, pineapple, coconut cream: on no list"
    ),
    pytest.param(
        (contains("pine_nut"),),
        "-|tree_nuts.pine_nut|tree_nuts.pine_nut|pine_nut|-",
        id="A13 gin infused with pine nuts",
    ),
    pytest.param(
        (exempt("barley", "cereal_in_beer"), exempt("fish", "isinglass_in_beer_or_wine")),
        "gluten_cereals.barley|-|gluten.barley|-|cereals_gluten.barley",
        id="A14 cask ale fined with isinglass and ginger syrup",
    ),
    pytest.param(
        (contains("fish"),), "fish|fish|fish|fish|fish", id="A15 cider fined with isinglass"
    ),
    pytest.param(
        (contains("oats"), contains("soy")),
        "gluten_cereals.oats; soy|soybeans|gluten.oats; soybeans|oats; gluten; soy|-",
        id="A16 oat drink, soy lecithin, rum",
    ),
    pytest.param(
        (contains("mollusc"),), "molluscs|-|molluscs|mollusc|-", id="A17 vodka, clam and tomato"
    ),
    pytest.param(
        (contains("milk"),), "milk|milk|milk|milk|milk", id="A18 milk punch through a filter"
    ),
]


@pytest.mark.parametrize(("facts", "expected"), DRINKS)
def test_a_drink_declares_what_each_list_names(facts, expected):
    eu, *others = expected.split("|")
    for regime, codes in zip(LISTS, [eu, eu, *others], strict=True):
        assert codes_of(on_list(facts, regime).contains) == cell(codes), regime


SULPHITE_NAMES = {
    "eu": "sulphites",
    "uk": "sulphites",
    "us": "sulfites",
    "canada": "added_sulphites",
    "anz": "sulphites",
    "codex": "sulphite",
}


@pytest.mark.parametrize(
    ("amount", "declaring"),
    [
        pytest.param("103.33", set(LISTS), id="A08 wine spritz"),
        pytest.param("8.33", set(), id="A09 lime cordial, topped"),
        pytest.param("10.00", {"us", "canada", "anz", "codex"}, id="A10 exactly ten"),
        pytest.param("10.01", set(LISTS), id="EU a hair above ten"),
        pytest.param("9.99", set(), id="US a hair below ten"),
        pytest.param(None, set(LISTS), id="unknown in one ingredient"),
    ],
)
def test_sulphites_are_declared_by_amount(amount, declaring):
    so2 = SulphiteAmount(None if amount is None else Decimal(amount))
    for regime in LISTS:
        expected = {SULPHITE_NAMES[regime]} if regime in declaring else set()
        assert codes_of(on_list((), regime, so2).contains) == expected, regime


# What the lists leave out is still said


def test_a02_apricot_kernel_is_shown_as_information():
    shown = on_list((contains("apricot_kernel"),), "uk").for_information
    assert sources_of(shown) == {"apricot_kernel"}


def test_a05_cereals_exempt_in_beer_are_shown_all_the_same():
    # House line: the law of ANZ exempts them, the protein is still there.
    assert sources_of(on_list(WHEAT_BEER, "anz").also_contains) == {"wheat", "barley"}


def test_a07_codex_names_soya_as_a_countrys_option_only():
    assert sources_of(on_list((contains("soy"),), "codex").also_contains) == {"soy"}


@pytest.mark.parametrize("regime", ["us", "canada"])
def test_a14_isinglass_is_not_known_where_the_law_asks_for_protein(regime):
    ale = (exempt("fish", "isinglass_in_beer_or_wine"),)
    assert sources_of(on_list(ale, regime).not_known) == {"fish"}


@pytest.mark.parametrize("regime", ["eu", "uk", "anz"])
def test_a14_isinglass_in_beer_is_exempt_by_name(regime):
    ale = (exempt("fish", "isinglass_in_beer_or_wine"),)
    declaration = on_list(ale, regime)
    assert not declaration.contains
    assert not declaration.not_known


@pytest.mark.parametrize("regime", ["us", "canada"])
def test_a15_proof_that_no_protein_remains_clears_a_fining(regime):
    assert not on_list((exempt("fish", "no_protein_on_file"),), regime).contains


def test_celery_is_shown_to_american_guests_though_off_their_list():
    assert sources_of(on_list((contains("celery"),), "us").also_contains) == {"celery"}


# Exemptions


@pytest.mark.parametrize("regime", ["eu", "uk"])
def test_wheat_glucose_syrup_is_exempt_in_eu_and_uk(regime):
    declaration = on_list((exempt("wheat", "wheat_glucose_syrup"),), regime)
    assert not declaration.contains
    assert declaration.findings[0].rule == f"{regime}.wheat_glucose_syrup"


def test_wheat_glucose_syrup_is_wheat_in_anz_without_the_gluten_figure_on_file():
    plain = on_list((exempt("wheat", "wheat_glucose_syrup"),), "anz")
    measured = on_list((exempt("wheat", "wheat_glucose_syrup_low_gluten"),), "anz")
    assert codes_of(plain.contains) == {"wheat", "gluten"}
    assert not measured.contains


@pytest.mark.parametrize("regime", ["us", "canada"])
def test_wheat_glucose_syrup_is_declared_as_not_known_where_undecided(regime):
    declaration = on_list((exempt("wheat", "wheat_glucose_syrup"),), regime)
    assert sources_of(declaration.not_known) == {"wheat"}
    assert "Not known, ask before serving: Wheat" in declaration.statement


@pytest.mark.parametrize("regime", ["us", "canada"])
def test_wheat_glucose_syrup_drops_out_when_protein_free_by_a_document(regime):
    declaration = on_list((exempt("wheat", "no_protein_on_file"),), regime)
    assert not declaration.contains
    assert not declaration.not_known


def test_wheat_maltodextrin_is_not_on_the_list_of_anz():
    declaration = on_list((exempt("wheat", "wheat_maltodextrin"),), "anz")
    assert codes_of(declaration.contains) == {"wheat", "gluten"}


def test_refined_soya_oil_without_proof_is_soya_everywhere_but_codex():
    for regime in LISTS:
        names = codes_of(on_list((contains("soy"),), regime).contains)
        assert bool(names) == (regime != "codex"), regime


@pytest.mark.parametrize("regime", ["eu", "uk", "us", "anz"])
def test_fully_refined_soya_oil_is_exempt(regime):
    assert not on_list((exempt("soy", "refined_soya_oil"),), regime).contains


def test_behenic_acid_from_mustard_is_exempt_in_the_eu_from_april_2025_and_not_in_gb():
    fact = (exempt("mustard", "mustard_behenic_acid"),)
    assert codes_of(declare(fact, "eu", NO_SULPHITE, date(2025, 3, 31)).contains) == {"mustard"}
    assert not declare(fact, "eu", NO_SULPHITE, date(2025, 4, 1)).contains
    assert codes_of(on_list(fact, "uk").contains) == {"mustard"}


def test_an_exemption_for_one_source_does_not_cover_another():
    # Barley malt extract is not barley glucose syrup, and wheat's row is not barley's.
    fact = (exempt("barley", "wheat_glucose_syrup"),)
    assert codes_of(on_list(fact, "eu").contains) == {"gluten_cereals.barley"}


# Cross-contact (the state of equipment is tested with the equipment)


def test_x07_a_residue_that_is_an_ingredient_anyway_is_no_cross_contact():
    assert cross_contact({"almond"}, {"almond", "milk"}) == frozenset()


def test_x08_residues_of_two_drinks_both_reach_the_third():
    assert cross_contact({"milk", "egg"}, set()) == {"milk", "egg"}
