"""How facts about allergenic sources add up and read."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.allergen_lists import list_entries, processes
from kegsafe.rules.allergens import (
    AllergenFact,
    State,
    SulphiteAmount,
    allergen_sources,
    cross_contact,
    declare,
    merge,
)
from kegsafe.rules.codes import codes, regimes
from kegsafe.rules.findings import Severity

TODAY = date(2026, 5, 1)
NONE = SulphiteAmount(Decimal(0))


def fact(source, state=State.CONTAINS, exemption=None, from_what="syrup"):
    return AllergenFact(source, state, exemption, from_what)


def on_uk(*facts):
    return declare(facts, "uk", NONE, TODAY)


def test_an_unknown_source_is_refused_by_name():
    with pytest.raises(ValueError, match='"unobtainium" is no allergenic source on file'):
        fact("unobtainium")


def test_every_entry_a_list_has_is_reached_from_some_source():
    reached = {
        (regime, entry)
        for source in allergen_sources()
        for table in (source.entries, source.national)
        for regime, entries in table.items()
        for entry in entries
    }
    groups = {(row.regime, row.group) for row in list_entries() if row.entry != row.group}
    expected = {
        (row.regime, row.entry)
        for row in list_entries()
        if row.standing != "removed" and (row.regime, row.entry) not in groups
    }
    assert expected <= reached


def test_every_process_is_of_use_on_some_list():
    for process in processes().values():
        declared = [
            declare((fact(source, State.EXEMPT_BY_PROCESS, process.key),), regime, NONE, TODAY)
            for source in process.sources
            for regime in regimes()
        ]
        assert any(not declaration.contains for declaration in declared), process.key


def test_every_code_uses_a_list_on_file():
    assert {each.allergen_regime for each in codes().values()} <= set(regimes())


# Adding up


def test_contains_outweighs_everything_else_known_of_a_source():
    facts = [fact("milk", state, from_what=state.value) for state in State]
    assert merge(facts) == (fact("milk", State.CONTAINS, from_what="contains"),)


def test_may_contain_outweighs_not_known_and_free():
    kept = merge(
        [
            fact("egg", State.NOT_KNOWN),
            fact("egg", State.FREE_BY_SUPPLIER),
            fact("egg", State.MAY_CONTAIN),
        ]
    )
    assert [each.state for each in kept] == [State.MAY_CONTAIN]


def test_one_free_ingredient_does_not_clear_another_that_is_not_known():
    kept = merge([fact("egg", State.FREE_BY_SUPPLIER), fact("egg", State.NOT_KNOWN)])
    assert [each.state for each in kept] == [State.NOT_KNOWN]


def test_an_exempt_fact_is_kept_because_another_list_may_not_exempt_it():
    exempt = fact("wheat", State.EXEMPT_BY_PROCESS, "wheat_maltodextrin")
    assert exempt in merge([exempt, fact("wheat", State.MAY_CONTAIN)])


def test_two_ingredients_with_one_source_are_both_named():
    contains = on_uk(fact("almond", from_what="orgeat"), fact("almond", from_what="amaretto"))
    assert contains.contains[0].from_what == ("amaretto", "orgeat")


states = st.sampled_from(list(State))
facts_of_anything = st.lists(
    st.builds(
        AllergenFact,
        source=st.sampled_from([source.key for source in allergen_sources()]),
        state=states,
        exemption=st.sampled_from([None, *processes()]),
        from_what=st.sampled_from(["syrup", "liqueur", "keg 3"]),
    ),
    max_size=12,
)


@given(facts=facts_of_anything, regime=st.sampled_from(sorted(regimes())))
def test_merging_first_changes_no_declaration(facts, regime):
    whole, merged = (declare(each, regime, NONE, TODAY) for each in (facts, merge(facts)))
    for place in ("contains", "may_contain", "not_known", "also_contains", "for_information"):
        assert [each.source for each in getattr(whole, place)] == [
            each.source for each in getattr(merged, place)
        ]


@given(facts=facts_of_anything, more=facts_of_anything, regime=st.sampled_from(sorted(regimes())))
def test_adding_an_ingredient_never_takes_a_declared_source_away(facts, more, regime):
    before = {each.source for each in declare(facts, regime, NONE, TODAY).contains}
    after = {each.source for each in declare([*facts, *more], regime, NONE, TODAY).contains}
    assert before <= after


# Reading


@pytest.mark.parametrize(
    ("regime", "source", "words"),
    [
        ("eu", "almond", "Almond (tree nut)"),
        ("uk", "wheat", "Wheat (cereal containing gluten)"),
        ("us", "wheat", "Wheat"),
        ("us", "crustacean", "Crustacean shellfish"),
        ("canada", "barley", "Barley (gluten)"),
        ("anz", "oats", "Oats (gluten)"),
        ("codex", "rye", "Rye (cereal containing gluten)"),
        ("uk", "triticale", "Triticale (cereal containing gluten)"),
        ("us", "black_walnut", "Black walnut (tree nut)"),
        ("uk", "pine_nut", "Pine nut"),
    ],
)
def test_a_source_reads_as_a_person_says_it(regime, source, words):
    declaration = declare([fact(source)], regime, NONE, TODAY)
    shown = declaration.contains or declaration.also_contains
    assert shown[0].display_name == words


def test_a_statement_says_each_part_in_its_own_sentence():
    declaration = on_uk(
        fact("almond"),
        fact("egg", State.MAY_CONTAIN, from_what="keg 3"),
        fact("celery", State.NOT_KNOWN, from_what="bitters"),
        fact("pine_nut"),
        fact("honey"),
    )
    assert declaration.statement == (
        "Contains: Almond (tree nut). May contain: Eggs. "
        "Not known, ask before serving: Celery from bitters. "
        "Not on the United Kingdom list but in the drink: Pine nut. "
        "On no allergen list but in the drink: Honey."
    )


def test_a_drink_without_a_listed_source_is_not_called_free_of_anything():
    statement = on_uk().statement
    assert statement == ("No allergen of the United Kingdom list is recorded as an ingredient.")


def test_what_is_not_known_asks_a_manager():
    findings = on_uk(fact("celery", State.NOT_KNOWN, from_what="bitters")).findings
    assert findings[0].severity is Severity.ASK
    assert findings[0].statement == "Whether bitters brings in celery is not known."


def test_an_exemption_in_use_is_named_with_its_clause():
    finding = on_uk(
        fact("barley", State.EXEMPT_BY_PROCESS, "cereal_distillate", "malt whisky")
    ).findings[0]
    assert finding.rule == "uk.cereal_distillate"
    assert finding.statement.startswith("Barley in malt whisky is not declared: cereal used")
    assert finding.source.endswith("point 1(d)")


@pytest.mark.parametrize("process", [None, "", "wishful_thinking"])
def test_an_exemption_nobody_knows_exempts_nothing(process):
    declaration = on_uk(fact("milk", State.EXEMPT_BY_PROCESS, process))
    assert declaration.contains[0].source == "milk"


def test_a_source_free_by_the_suppliers_word_is_not_declared():
    declaration = on_uk(fact("milk", State.FREE_BY_SUPPLIER))
    assert not declaration.contains
    assert not declaration.not_known


def test_a_fact_about_sulphite_only_says_where_it_comes_from():
    facts = [fact("sulphite", from_what="white wine")]
    assert not declare(facts, "uk", SulphiteAmount(Decimal(5)), TODAY).contains
    declared = declare(facts, "uk", SulphiteAmount(Decimal(50)), TODAY).contains[0]
    assert (declared.entry, declared.from_what) == ("sulphites", ("white wine",))


def test_no_word_on_so2_at_all_is_declared():
    assert declare([], "uk", None, TODAY).contains[0].source == "sulphite"


def test_equipment_brings_in_what_the_drink_does_not_declare():
    assert cross_contact({"almond", "milk"}, {"milk"}) == {"almond"}
