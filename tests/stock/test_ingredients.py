"""An ingredient states its facts once; what nobody stated is not known."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from kegsafe.ledger.queries import history
from kegsafe.ledger.services import last_sequence
from kegsafe.rules.allergen_lists import processes, sources
from kegsafe.rules.catalogue import catalogue
from kegsafe.stock import services
from kegsafe.stock.facts import ALLERGEN_COLUMNS, allergen_facts
from kegsafe.stock.models import Ingredient, IngredientAllergen, IngredientShelfLife
from kegsafe.venues.models import Role
from tests.builders import a_lot, a_recorder, a_venue, an_ingredient


@pytest.fixture
def manager(signed_in):
    return signed_in(Role.MANAGER)


def stated(ingredient: Ingredient) -> dict[str, str]:
    return dict(ingredient.allergens.values_list("source", "statement"))


def test_each_source_is_stated_once_with_its_own_statement(venue):
    orgeat = an_ingredient(
        venue,
        category="sugar_syrup",
        allergens={
            "almond": ("contains", ""),
            "wheat": ("exempt_by_process", "wheat_glucose_syrup"),
            "milk": ("not_known", ""),
        },
    )
    assert stated(orgeat) == {
        "almond": "contains",
        "wheat": "exempt_by_process",
        "milk": "not_known",
    }
    assert orgeat.allergens.get(source="wheat").exemption == "wheat_glucose_syrup"


def test_a_second_statement_amends_the_first_with_its_reason(venue, by):
    gin = an_ingredient(venue, allergens={"almond": ("not_known", "")})
    services.state_allergen(
        ingredient=gin, source="almond", statement="contains", reason="Supplier wrote", by=by
    )
    [row] = gin.allergens.all()
    assert row.statement == "contains"
    newest = history(row)[0]
    assert newest.reason == "Supplier wrote"
    assert ("not_known", "contains") in [(each.first, each.new) for each in newest.changes]


def test_changing_a_statement_without_a_reason_is_refused(venue, by):
    gin = an_ingredient(venue, allergens={"almond": ("contains", "")})
    with pytest.raises(ValidationError, match="Say why"):
        services.state_allergen(
            ingredient=gin, source="almond", statement="free_by_supplier", by=by
        )


@pytest.mark.parametrize(
    ("source", "statement", "exemption", "words"),
    [
        ("moon_dust", "contains", "", "no allergenic source"),
        ("milk", "perhaps", "", "says nothing of milk"),
        ("wheat", "exempt_by_process", "", "is no exemption for wheat"),
        ("wheat", "exempt_by_process", "whey_distillate", "is no exemption for wheat"),
        ("wheat", "contains", "wheat_glucose_syrup", "Only an exempt source"),
    ],
)
def test_a_statement_that_names_nothing_known_is_refused(
    venue, source, statement, exemption, words
):
    with pytest.raises(ValidationError, match=words):
        an_ingredient(venue, allergens={source: (statement, exemption)})
    assert not Ingredient.objects.exists()


@pytest.mark.parametrize("process", processes().values(), ids=lambda process: process.key)
def test_every_process_on_file_exempts_the_sources_it_is_for(venue, process):
    stated_exempt = dict.fromkeys(process.sources, ("exempt_by_process", process.key))
    assert set(stated(an_ingredient(venue, allergens=stated_exempt))) == process.sources


def test_an_unknown_kind_of_food_is_refused(venue):
    with pytest.raises(ValidationError, match="no kind of food"):
        an_ingredient(venue, category="moon_rock")


def test_a_second_ingredient_of_a_name_is_refused(venue):
    an_ingredient(venue, name="Gin")
    with pytest.raises(ValidationError, match="already an ingredient of this name"):
        an_ingredient(venue, name=" Gin ")


def test_the_measure_of_an_ingredient_with_lots_stays(venue, by):
    gin = a_lot(venue).ingredient
    with pytest.raises(ValidationError, match="Add a second ingredient"):
        services.amend_ingredient(
            ingredient=gin,
            name=gin.name,
            category=gin.category,
            measure="g",
            reason="Weighed now",
            by=by,
        )


# How long it keeps


def test_a_shelf_life_on_the_maker_s_label_needs_no_name(venue, by):
    rule = services.add_shelf_life(
        ingredient=an_ingredient(venue), after="opened", days=3, basis="maker_label", by=by
    )
    assert str(rule).endswith("3 days after opening")


@pytest.mark.parametrize("basis", ["house_rule", "laboratory_study"])
def test_a_house_rule_or_a_study_without_a_name_is_refused(venue, by, basis):
    with pytest.raises(ValidationError) as refused:
        services.add_shelf_life(
            ingredient=an_ingredient(venue), after="opened", days=3, basis=basis, by=by
        )
    assert set(refused.value.message_dict) == {"approved_by", "approved_on"}


@pytest.mark.parametrize("length", [{}, {"days": 3, "hours": 8}, {"days": 0}])
def test_a_shelf_life_is_in_days_or_in_hours(venue, by, length):
    with pytest.raises(ValidationError, match="one of the two"):
        services.add_shelf_life(
            ingredient=an_ingredient(venue), after="opened", basis="maker_label", by=by, **length
        )


def test_a_withdrawn_rule_stays_on_record_and_is_withdrawn_once(venue, by):
    rule = services.add_shelf_life(
        ingredient=an_ingredient(venue), after="opened", days=3, basis="maker_label", by=by
    )
    services.withdraw_shelf_life(rule=rule, reason="New label", by=by)
    assert IngredientShelfLife.objects.get().withdrawn_at is not None
    assert history(rule)[0].reason == "New label"
    with pytest.raises(ValidationError, match="already withdrawn"):
        services.withdraw_shelf_life(rule=rule, reason="Again", by=by)


def an_assessment(venue, by, **changes):
    values = {
        "reference": "FT-221",
        "scope": "Lime juice, pressed here",
        "competent_person": "I. Okafor",
        "role": "food technologist",
        "assessed_on": timezone.localdate(),
        "measured_ph": Decimal("2.304"),
        "measured_water_activity": Decimal("0.98"),
    }
    return services.add_assessment(venue=venue, by=by, **{**values, **changes})


def test_an_assessment_is_the_ingredient_s_from_then_on(venue, by):
    juice = an_ingredient(venue)
    made = an_assessment(venue, by, ingredient=juice)
    juice.refresh_from_db()
    assert juice.assessment == made
    assert made.measured_ph == Decimal("2.30")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"measured_ph": None}, "enter both values or name the study"),
        ({"assessed_on": date(2099, 1, 1)}, "has not come yet"),
        ({"expires_on": date(2020, 1, 1)}, "is before the assessment"),
        ({"competent_person": "  "}, "cannot be blank"),
    ],
)
def test_an_assessment_without_evidence_or_a_name_is_refused(venue, by, changes, words):
    with pytest.raises(ValidationError, match=words):
        an_assessment(venue, by, **changes)


# The starter catalogue


def test_everything_in_the_catalogue_can_be_taken_and_no_label_counts_as_read(venue, by):
    added = services.pick_from_catalogue(
        venue=venue, keys=[entry.key for entry in catalogue()], by=by
    )
    assert len(added) == len(catalogue())
    assert set(Ingredient.objects.values_list("allergen_list_basis", flat=True)) == {""}


def test_what_depends_on_the_supplier_is_not_known(venue, by):
    entry = next(entry for entry in catalogue() if entry.ask_supplier)
    [ingredient] = services.pick_from_catalogue(venue=venue, keys=[entry.key], by=by)
    rows = Ingredient.objects.filter(pk=ingredient.pk).values(*ALLERGEN_COLUMNS)
    _, unknown = allergen_facts(rows)
    assert unknown == (ingredient.name,)
    assert all(stated(ingredient)[source] == "not_known" for source in entry.ask_supplier)


def test_what_the_usual_product_contains_is_stated_as_contained(venue, by):
    entry = next(entry for entry in catalogue() if entry.contains)
    [ingredient] = services.pick_from_catalogue(venue=venue, keys=[entry.key], by=by)
    assert all(stated(ingredient)[source] == "contains" for source in entry.contains)


def test_the_ledger_says_where_it_was_taken_from(venue, by):
    [gin] = services.pick_from_catalogue(venue=venue, keys=[catalogue()[0].key], by=by)
    assert history(gin)[0].action == "taken from the starter catalogue"


def test_taking_the_same_again_adds_nothing(venue, by):
    keys = [catalogue()[0].key, catalogue()[1].key]
    services.pick_from_catalogue(venue=venue, keys=keys[:1], by=by)
    assert len(services.pick_from_catalogue(venue=venue, keys=[*keys, *keys], by=by)) == 1


def test_what_is_not_in_the_catalogue_is_refused(venue, by):
    with pytest.raises(ValidationError, match="not in the starter catalogue"):
        services.pick_from_catalogue(venue=venue, keys=["moon_milk"], by=by)


def test_several_are_picked_on_the_page_at_once(manager):
    keys = [entry.key for entry in catalogue()[:3]]
    manager.post(reverse("catalogue"), {"keys": keys})
    assert Ingredient.objects.count() == 3
    assert "on the list" in manager.get(reverse("catalogue")).content.decode()


def test_picking_nothing_says_so(manager):
    page = manager.post(reverse("catalogue"), {}).content.decode()
    assert "Nothing is picked" in page


# The form


def an_ingredient_form(**changes: str) -> dict[str, str]:
    return {
        "name": "Orgeat",
        "category": "sugar_syrup",
        "measure": "ml",
        "warning_group": "",
        "abv_percent": "",
        "sugar_brix": "66 °Brix",
        "total_so2_mg_per_l": "120 mg/L",
        "total_so2_basis": "supplier's value",
        "density_g_per_ml": "",
        "measured_ph": "",
        "measured_water_activity": "0.83",
        "allergen_list_basis": "maker's label, 3 May 2026",
        "source_almond": "contains",
        "source_wheat": "exempt_by_process:wheat_glucose_syrup",
        **changes,
    }


def test_an_ingredient_is_added_in_one_form(manager):
    manager.post(reverse("ingredient-add"), an_ingredient_form())
    orgeat = Ingredient.objects.get()
    assert (orgeat.sugar_brix, orgeat.total_so2_mg_per_l) == (Decimal(66), Decimal(120))
    assert (orgeat.abv_percent, orgeat.measured_ph) == (None, None)
    assert orgeat.measured_water_activity == Decimal("0.83")
    assert stated(orgeat) == {"almond": "contains", "wheat": "exempt_by_process"}


def test_the_form_asks_for_every_source_on_file_and_states_none_by_itself(manager):
    form = manager.get(reverse("ingredient-add")).context["form"]
    asked = {name.removeprefix("source_") for name in form.fields if name.startswith("source_")}
    assert asked == set(sources())
    assert not any(form[f"source_{source}"].value() for source in sources())


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("abv_percent", "40", "has no unit"),
        ("abv_percent", "101 %", "too much"),
        ("total_so2_mg_per_l", "120 ppm", "dilute water only"),
        ("measured_ph", "3,4,5", "not one number"),
        ("category", "", "Choose one."),
        ("source_milk", "exempt_by_process:wheat_glucose_syrup", "not on the list"),
    ],
)
def test_a_mistyped_fact_says_so_at_its_field(manager, field, typed, said):
    answer = manager.post(reverse("ingredient-add"), an_ingredient_form(**{field: typed}))
    assert said in " ".join(answer.context["form"].errors[field])
    assert not Ingredient.objects.exists()


def test_a_statement_once_made_cannot_be_unmade(manager, venue):
    orgeat = an_ingredient(venue, allergens={"almond": ("contains", "")})
    form = manager.get(reverse("ingredient-amend", args=[orgeat.pk])).context["form"]
    assert "" not in dict(form.fields["source_almond"].choices)
    assert "" in dict(form.fields["source_milk"].choices)


def test_amending_keeps_what_nobody_touched(manager, venue):
    orgeat = an_ingredient(
        venue,
        name="Orgeat",
        category="sugar_syrup",
        sugar_brix=Decimal("66.50"),
        allergens={"almond": ("contains", "")},
    )
    url = reverse("ingredient-amend", args=[orgeat.pk])
    shown = manager.get(url).context["form"]
    form = {
        name: shown[name].value() if name != "sugar_brix" else "66.5 °Brix"
        for name in shown.fields
        if shown[name].value() not in (None, "", False)
    }
    manager.post(url, {**form, "reason": "New label", "source_celery": "may_contain"})
    orgeat.refresh_from_db()
    assert orgeat.sugar_brix == Decimal("66.50")
    assert stated(orgeat) == {"almond": "contains", "celery": "may_contain"}
    assert [event.action for event in history(orgeat)] == ["added"]


def test_an_ingredient_amended_since_it_was_shown_is_not_overwritten(manager, venue, by):
    orgeat = an_ingredient(venue, name="Orgeat", category="sugar_syrup")
    seen = last_sequence(orgeat)
    services.amend_ingredient(
        ingredient=orgeat, name="Orgeat, light", category="sugar_syrup", reason="Renamed", by=by
    )
    form = an_ingredient_form(reason="Mine", seen=str(seen))
    answer = manager.post(reverse("ingredient-amend", args=[orgeat.pk]), form)
    assert "Somebody else changed this record" in str(answer.context["form"].errors)
    assert IngredientAllergen.objects.count() == 0


def test_the_page_never_reads_an_unstated_source_as_absent(manager, venue):
    unread = an_ingredient(venue, allergen_list_basis="")
    page = manager.get(unread.get_absolute_url()).content.decode()
    assert "The list was read from nothing" in page
    assert "<dd>Not known</dd>" in page


def test_the_history_tells_of_allergens_and_shelf_lives_too(manager, venue, by):
    orgeat = an_ingredient(venue, allergens={"almond": ("contains", "")})
    services.add_shelf_life(ingredient=orgeat, after="opened", days=3, basis="maker_label", by=by)
    events = manager.get(orgeat.get_absolute_url()).context["events"]
    assert [event.action for event in events] == [
        "set: 3 days after opening",
        "stated: almond",
        "added",
    ]


def test_a_shelf_life_is_set_on_the_page(manager, venue):
    juice = an_ingredient(venue)
    form = {
        "after": "opened",
        "length": "36",
        "unit": "hours",
        "held_at_or_below": "41 °F",
        "basis": "house_rule",
        "approved_by": "Mara Lindqvist",
        "approved_on": (timezone.localdate() - timedelta(days=1)).isoformat(),
    }
    manager.post(reverse("shelf-life-add", args=[juice.pk]), form)
    rule = juice.shelf_lives.get()
    # FDA Food Code 3-501.16 gives 41 degF as 5 degC. [read in food-safety tables]
    assert (rule.hours, rule.days, rule.held_at_or_below_degc) == (36, None, Decimal("5.00"))


def test_an_assessment_is_recorded_on_the_page(manager, venue):
    juice = an_ingredient(venue)
    form = {
        "reference": "FT-221",
        "scope": "Lime juice",
        "competent_person": "I. Okafor",
        "role": "food technologist",
        "assessed_on": venue.local(timezone.now()).date().isoformat(),
        "study": "Challenge study 7",
        "maximum_days": "14",
    }
    manager.post(reverse("assessment-add", args=[juice.pk]), form)
    juice.refresh_from_db()
    assert (juice.assessment.study, juice.assessment.maximum_days) == ("Challenge study 7", 14)


def test_an_assessment_of_another_bar_cannot_be_chosen(manager, venue, by):
    other = a_venue(name="The Other Place")
    foreign = an_assessment(other, a_recorder(other))
    form = {
        "after": "opened",
        "length": "3",
        "unit": "days",
        "basis": "maker_label",
        "assessment": str(foreign.pk),
    }
    url = reverse("shelf-life-add", args=[an_ingredient(venue).pk])
    assert "not on the list" in str(manager.post(url, form).context["form"].errors)
