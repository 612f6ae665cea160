"""The catalogue of usual ingredients: a first draft that a label corrects."""

from decimal import Decimal

import pytest

from kegsafe.rules.catalogue import catalogue, search


def ingredient(name):
    return next(each for each in catalogue() if each.name == name)


def test_the_catalogue_holds_188_generic_ingredients_each_once():
    assert len(catalogue()) == len({each.key for each in catalogue()}) == 188
    assert len({each.name.casefold() for each in catalogue()}) == 188


def test_orgeat_is_almond_until_the_label_says_otherwise():
    assert ingredient("orgeat").contains == ("almond",)


def test_a_grain_vodka_names_its_cereals_as_exempt_by_the_still():
    pairs = ingredient("vodka, grain (wheat, rye or barley)").exempt_by_process
    assert ("wheat", "cereal_distillate") in pairs


def test_one_source_is_stated_once_per_ingredient():
    for each in catalogue():
        named = (*each.contains, *each.ask_supplier, *(pair[0] for pair in each.exempt_by_process))
        assert len(named) == len(set(named)), each.name


def test_so2_that_is_not_known_is_none_and_never_nought():
    # Sake, tonic and the like: no default, so the drink declares sulphites until asked.
    unknown = {each.name for each in catalogue() if each.so2_default_mg_per_l is None}
    assert {"sake", "tonic water", "elderflower liqueur"} <= unknown
    assert ingredient("soda water").so2_default_mg_per_l == 0


@pytest.mark.parametrize(
    ("name", "mg_per_l"),
    [
        # Del. Reg. (EU) 2019/934 Annex I Part B, A.1 and A.2 [read]
        ("red wine", 150),
        ("white wine", 200),
        ("sweet white wine", 250),
        # Reg. (EC) 1333/2008 category 14.1.2 [second-hand]
        ("lemon or lime juice, bottled and preserved", 350),
    ],
)
def test_so2_defaults_are_the_legal_maxima(name, mg_per_l):
    assert ingredient(name).so2_default_mg_per_l == Decimal(mg_per_l)


def test_every_source_of_sulphite_has_an_amount_or_is_not_known():
    for each in catalogue():
        if "sulphite" in (*each.contains, *each.ask_supplier):
            assert each.so2_default_mg_per_l != 0, each.name


@pytest.mark.parametrize(
    ("name", "group"),
    [
        ("lime juice, fresh", "citrus_juice"),
        ("cream or half-and-half", "dairy"),
        ("egg white, raw", "raw_egg"),
        ("soda water", ""),
    ],
)
def test_an_ingredient_that_troubles_a_keg_says_so(name, group):
    assert ingredient(name).warning_group == group


def test_default_days_name_what_they_count_from_and_on_what_basis():
    lime = ingredient("lime juice, fresh")
    assert (lime.default_days, lime.default_days_after) == (2, "prepared")
    assert lime.default_days_basis == "common practice, no source"


def test_strength_is_a_range():
    for each in catalogue():
        assert 0 <= each.abv_low_percent <= each.abv_high_percent <= 100, each.name


def test_a_search_finds_words_in_any_order_and_case():
    assert ingredient("lime juice, fresh") in search("JUICE lime")


def test_what_begins_with_the_text_comes_first():
    assert search("orange")[0].name == "orange liqueur"
    assert search("milk")[0].name.startswith("milk")


def test_an_empty_search_finds_nothing():
    assert search("  ") == ()
    assert search("unobtainium") == ()
