"""The pages of the batches room: who sees what, what they say, and how few queries they make."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from kegsafe.batches import services
from kegsafe.batches.models import Batch, Fill, Preparation, Recipe, RecipeItem, Tapping
from kegsafe.stock import services as stock
from kegsafe.stock.models import Lot
from kegsafe.venues.models import Role
from tests.builders import (
    a_batch,
    a_clean,
    a_fill,
    a_keg,
    a_lot,
    a_preparation,
    a_recipe,
    a_tap,
    a_tapping,
    a_venue,
    an_ingredient,
)


def text_of(answer) -> str:
    return " ".join(answer.content.decode().split())


def a_recipe_more(venue, shared) -> None:
    a_recipe(venue)


def a_preparation_more(venue, shared) -> None:
    a_preparation(venue, shared["lot"], ingredient=shared["made"], drawn=Decimal(1))


def a_batch_more(venue, shared) -> None:
    a_batch(venue, shared["lot"], recipe=shared["recipe"], drawn=Decimal(1))


def a_fill_more(venue, shared) -> None:
    a_fill(venue, batch=shared["batch"], volume_ml=Decimal(1000))


LAY = {
    "recipes": a_recipe_more,
    "preparations": a_preparation_more,
    "batches": a_batch_more,
    "fills": a_fill_more,
}


def lay(venue, name: str, number: int) -> None:
    """Lay so many rows on a list."""
    lot = a_lot(venue, amount=Decimal(100_000))
    recipe = a_recipe(venue, name="Slow Tide")
    shared = {
        "lot": lot,
        "recipe": recipe,
        "made": an_ingredient(venue, made_in_house=True),
        "batch": a_batch(venue, lot, recipe=recipe, volume_ml=Decimal(900_000)),
    }
    for _ in range(number):
        LAY[name](venue, shared)


def rows(draws, **more) -> dict[str, str]:
    """Return the rows of a draw form as a browser sends them: (lot, amount) pairs."""
    sent = {"draw-TOTAL_FORMS": str(len(draws)), "draw-INITIAL_FORMS": "0", **more}
    for place, (lot, amount) in enumerate(draws):
        sent |= {f"draw-{place}-lot": str(lot.pk), f"draw-{place}-amount": amount}
    return sent


class TestQueries:
    """As many at 5 rows as at 200; lists of 50 to a page."""

    @pytest.mark.parametrize("name", LAY)
    @pytest.mark.parametrize("number", [5, 200])
    def test_a_list_makes_the_same_few_queries(
        self, venue, signed_in, django_assert_num_queries, name, number
    ):
        lay(venue, name, number)
        client = signed_in()
        client.get(reverse(name))
        with django_assert_num_queries(4):
            client.get(reverse(name))

    @pytest.mark.parametrize("depth", [1, 6])
    def test_a_preparation_of_any_depth(self, venue, signed_in, django_assert_num_queries, depth):
        made = a_preparation(venue)
        for _ in range(depth):
            made = a_preparation(venue, made.lot)
        client = signed_in()
        with django_assert_num_queries(12):
            client.get(made.get_absolute_url())

    @pytest.mark.parametrize("items", [1, 9])
    def test_a_recipe_of_any_length(self, venue, signed_in, django_assert_num_queries, items):
        recipe = a_recipe(venue, *(an_ingredient(venue) for _ in range(items)))
        client = signed_in()
        with django_assert_num_queries(7):
            client.get(recipe.get_absolute_url())

    @pytest.mark.parametrize("lots", [1, 9])
    def test_a_batch_of_any_number_of_lots(self, venue, signed_in, django_assert_num_queries, lots):
        batch = a_batch(venue, *(a_lot(venue) for _ in range(lots)))
        client = signed_in()
        with django_assert_num_queries(8):
            client.get(batch.get_absolute_url())

    @pytest.mark.parametrize("lots", [1, 9])
    def test_making_one_from_any_number_of_lots(
        self, venue, signed_in, django_assert_num_queries, lots
    ):
        gin = an_ingredient(venue)
        for _ in range(lots):
            a_lot(venue, ingredient=gin)
        recipe = a_recipe(venue, gin)
        client = signed_in()
        with django_assert_num_queries(9):
            client.get(reverse("batch-add"), {"recipe": recipe.pk, "volume": "18 L"})

    def test_a_fill(self, venue, signed_in, django_assert_num_queries):
        fill = a_tapping(venue).fill
        client = signed_in()
        with django_assert_num_queries(8):
            client.get(fill.get_absolute_url())


class TestDoors:
    def test_what_belongs_to_another_bar_is_not_found(self, venue, signed_in):
        other = a_venue(name="Next door")
        tapping = a_tapping(other)
        made = a_preparation(other)
        item = RecipeItem.objects.filter(recipe__venue=other).first()
        fill = tapping.fill
        rule = fill.batch.recipe.shelf_lives.first()
        keys = {
            "recipe": fill.batch.recipe_id, "recipe-scale": fill.batch.recipe_id,
            "recipe-amend": fill.batch.recipe_id, "recipe-item-add": fill.batch.recipe_id,
            "recipe-assess": fill.batch.recipe_id, "recipe-shelf-life-add": fill.batch.recipe_id,
            "recipe-item-remove": item.pk, "recipe-shelf-life-withdraw": rule.pk,
            "preparation": made.pk, "preparation-draw": made.pk,
            "batch": fill.batch_id, "batch-amend": fill.batch_id, "batch-draw": fill.batch_id,
            "fill-keg": fill.batch_id, "fill": fill.pk, "fill-tap": fill.pk, "fill-untap": fill.pk,
            "fill-hold": fill.pk, "fill-release": fill.pk, "fill-empty": fill.pk,
            "fill-discard": fill.pk,
        }  # fmt: skip
        client = signed_in(Role.OWNER)
        answers = {name: client.get(reverse(name, args=[pk])) for name, pk in keys.items()}
        assert {name: answer.status_code for name, answer in answers.items()} == dict.fromkeys(
            keys, 404
        )

    @pytest.mark.parametrize(
        ("role", "status"), [(Role.STAFF, 403), (Role.INSPECTOR, 403), (Role.MANAGER, 302)]
    )
    def test_only_a_manager_releases(self, venue, by, signed_in, role, status):
        fill = services.hold_fill(fill=a_fill(venue), reason="smells odd", by=by)
        answer = signed_in(role).post(
            reverse("fill-release", args=[fill.pk]), {"reason": "tasted again"}
        )
        assert answer.status_code == status
        fill.refresh_from_db()
        assert (fill.state == Fill.State.IN_KEG) == (status == 302)

    @pytest.mark.parametrize(("role", "status"), [(Role.STAFF, 302), (Role.INSPECTOR, 403)])
    @pytest.mark.parametrize("act", ["fill-hold", "fill-empty", "fill-discard"])
    def test_staff_hold_empty_and_discard_and_an_inspector_only_reads(
        self, venue, signed_in, role, status, act
    ):
        fill = a_fill(venue)
        answer = signed_in(role).post(reverse(act, args=[fill.pk]), {"reason": "flat"})
        assert answer.status_code == status

    @pytest.mark.parametrize("name", ["recipe-amend", "recipe-item-add", "recipe-assess"])
    def test_recipes_are_changed_by_managers_only(self, venue, signed_in, name):
        url = reverse(name, args=[a_recipe(venue).pk])
        assert signed_in(Role.STAFF).get(url).status_code == 403
        assert signed_in(Role.MANAGER).get(url).status_code == 200


class TestRecipes:
    def test_a_manager_writes_one_in_the_units_of_the_bar(self, venue, signed_in):
        sent = {"name": "Slow Tide", "test_volume": "50 oz", "set_pressure": "30 psi",
                "rest_hours": "24"}  # fmt: skip
        answer = signed_in().post(reverse("recipe-add"), sent)
        recipe = Recipe.objects.get()
        assert answer.url == recipe.get_absolute_url()
        assert recipe.test_volume_ml == Decimal("1478.68")
        assert recipe.set_gauge_pa == Decimal("206842.7")

    def test_an_item_keeps_what_was_typed(self, venue, signed_in):
        recipe, gin = a_recipe(venue), an_ingredient(venue, name="Gin")
        sent = {"ingredient": gin.pk, "amount": "1 1/2 oz", "where": "glass"}
        signed_in().post(reverse("recipe-item-add", args=[recipe.pk]), sent)
        item = recipe.items.get(ingredient=gin)
        assert (item.amount_typed, item.amount) == ("1 1/2 oz", Decimal("44.360"))

    def test_one_item_after_another_is_added_without_going_back(self, venue, signed_in):
        recipe, gin = a_recipe(venue), an_ingredient(venue)
        url = reverse("recipe-item-add", args=[recipe.pk])
        sent = {"ingredient": gin.pk, "amount": "45 ml", "where": "keg"}
        client = signed_in()
        assert client.post(url, {**sent, "another": "yes"}).url == url
        assert client.post(url, sent).url == recipe.get_absolute_url()

    def test_an_amount_of_the_wrong_kind_is_told_at_its_field(self, venue, signed_in):
        recipe, gin = a_recipe(venue), an_ingredient(venue, name="Gin")
        sent = {"ingredient": gin.pk, "amount": "30 g", "where": "keg"}
        answer = signed_in().post(reverse("recipe-item-add", args=[recipe.pk]), sent)
        assert answer.context["form"].errors["amount"] == [
            '"30 g" is a weight, and a volume belongs here. Write it like this: 19 L or 1 1/2 oz.'
        ]

    def test_amending_without_a_change_changes_nothing(self, venue, signed_in):
        """30.02 psi is shown for 207,000 Pa, and showing it must not store it."""
        recipe = a_recipe(venue, set_gauge_pa=Decimal(207_000))
        client = signed_in()
        url = reverse("recipe-amend", args=[recipe.pk])
        form = client.get(url).context["form"]
        sent = {name: form[name].value() or "" for name in form.fields}
        sent["measured_on"] = recipe.measured_on.isoformat()
        client.post(url, {**sent, "reason": "looked", "method": "Stir."})
        recipe.refresh_from_db()
        assert (recipe.set_gauge_pa, recipe.method) == (Decimal(207_000), "Stir.")

    def test_scaling_to_kegs_shows_what_to_measure_and_the_exact_figure(self, venue, signed_in):
        recipe = a_recipe(venue)
        sent = {"kegs": "2", "capacity": "19 L", "fill_level": "90 %"}
        answer = signed_in().get(reverse("recipe-scale", args=[recipe.pk]), sent)
        assert "3 gal 1 fl oz" in text_of(answer)
        assert "11400 ml" in text_of(answer)

    def test_scaling_to_nothing_says_what_is_missing(self, venue, signed_in):
        url = reverse("recipe-scale", args=[a_recipe(venue).pk])
        answer = signed_in().get(url, {"volume": "", "kegs": "2"})
        assert "Enter a target volume, or count kegs and their capacity: 19 L." in text_of(answer)

    def test_the_estimate_counts_the_rest_as_water_and_says_what_it_is(self, venue, signed_in):
        gin = an_ingredient(venue, abv_percent=Decimal(40), sugar_brix=Decimal(0))
        recipe = a_recipe(venue, gin)
        said = text_of(signed_in().get(recipe.get_absolute_url()))
        assert "An estimate from what the ingredients state" in said
        assert "13.3" in said

    def test_a_long_shelf_life_is_set_and_withdrawn_with_a_reason(self, venue, signed_in):
        recipe, client = a_recipe(venue), signed_in()
        sent = {"length": "14", "unit": "days", "basis": "house_rule", "approved_by": "Mara",
                "approved_on": "2026-01-05"}  # fmt: skip
        client.post(reverse("recipe-shelf-life-add", args=[recipe.pk]), sent)
        rule = recipe.shelf_lives.get(days=14)
        client.post(reverse("recipe-shelf-life-withdraw", args=[rule.pk]), {"reason": "too long"})
        rule.refresh_from_db()
        assert rule.withdrawn_at is not None


class TestMakingPages:
    def test_a_batch_is_proposed_from_the_oldest_lots_as_the_bar_measures(self, venue, signed_in):
        gin = an_ingredient(venue, name="Gin")
        ago = timezone.now()
        newer = a_lot(venue, ingredient=gin, amount=Decimal(9000))
        older = a_lot(venue, ingredient=gin, received_at=ago - timedelta(days=3))
        recipe = a_recipe(venue, gin)
        answer = signed_in().get(reverse("batch-add"), {"recipe": recipe.pk, "volume": "6 L"})
        proposed = [row.initial for row in answer.context["rows"].initial_forms]
        assert [row["lot"] for row in proposed] == [str(older.pk), str(newer.pk)]
        assert proposed[0]["amount"] == "1000 ml"

    def test_a_recorded_batch_goes_on_to_its_page(self, venue, signed_in):
        gin = an_ingredient(venue, abv_percent=Decimal(40), sugar_brix=Decimal(0))
        lot, recipe = a_lot(venue, ingredient=gin), a_recipe(venue, gin)
        url = f"{reverse('batch-add')}?recipe={recipe.pk}&volume=2+L"
        answer = signed_in(Role.STAFF).post(
            url, rows([(lot, "500 ml")], volume_ml="2 L", measured_ph="3.4")
        )
        batch = Batch.objects.get()
        assert answer.url == batch.get_absolute_url()
        assert batch.measured_ph == Decimal("3.40")
        assert batch.abv_percent == pytest.approx(Decimal(10), abs=Decimal("0.1"))

    def test_what_was_typed_stays_and_the_error_stands_at_its_row(self, venue, signed_in):
        gin = an_ingredient(venue, name="Gin")
        lot, recipe = a_lot(venue, ingredient=gin, amount=Decimal(300)), a_recipe(venue, gin)
        url = f"{reverse('batch-add')}?recipe={recipe.pk}&volume=2+L"
        answer = signed_in().post(url, rows([(lot, "500 ml")], volume_ml="2 L"))
        [row] = answer.context["rows"].forms[:1]
        assert "is more than lot" in row.errors["amount"][0]
        assert row["amount"].value() == "500 ml"
        assert Batch.objects.count() == 0

    @pytest.mark.parametrize(
        ("lot", "amount", "field", "words"),
        [
            (True, "", "amount", "Enter how much was taken"),
            (False, "50 ml", "lot", 'Choose the lot that "50 ml" was taken from'),
            (True, "50", "amount", '"50" has no unit'),
            (True, "50 g", "amount", "is a weight, and a volume belongs here"),
            (True, "0 ml", "amount", "is nothing"),
        ],
    )
    def test_half_a_row_is_told_what_is_missing(self, venue, signed_in, lot, amount, field, words):
        there = a_lot(venue)
        sent = {
            "draw-TOTAL_FORMS": "1",
            "draw-INITIAL_FORMS": "0",
            "draw-0-lot": str(there.pk) if lot else "",
            "draw-0-amount": amount,
        }
        answer = signed_in().post(reverse("preparation-add"), sent)
        assert words in answer.context["rows"].forms[0].errors[field][0]

    def test_a_lot_that_may_not_be_drawn_is_not_offered_and_says_why(self, venue, by, signed_in):
        held = a_lot(venue)
        stock.hold_lot(lot=held, reason="label missing", by=by)
        answer = signed_in().get(reverse("preparation-add"))
        assert "label missing" in text_of(answer)
        assert f"{held.code}: " not in text_of(answer)

    def test_more_lots_keeps_what_was_typed_and_judges_nothing(self, venue, signed_in):
        lot = a_lot(venue)
        sent = rows([(lot, "nonsense")], amount="900 ml", more="1")
        answer = signed_in().post(reverse("preparation-add"), sent)
        assert answer.context["rows"].forms[0]["amount"].value() == "nonsense"
        assert answer.context["form"]["amount"].value() == "900 ml"
        assert not answer.context["rows"].is_bound

    def test_a_preparation_is_made_again_from_the_lots_of_today(self, venue, signed_in):
        gin = an_ingredient(venue, name="Gin")
        made = a_preparation(venue, a_lot(venue, ingredient=gin, amount=Decimal(100)))
        today = a_lot(venue, ingredient=gin)
        answer = signed_in().get(reverse("preparation-add"), {"again": made.pk})
        [row] = answer.context["rows"].initial_forms
        assert row.initial["lot"] == str(today.pk)

    def test_a_preparation_is_recorded(self, venue, signed_in):
        syrup = an_ingredient(venue, made_in_house=True)
        sent = rows([(a_lot(venue), "500 ml")], ingredient=str(syrup.pk), amount="1.1 L")
        answer = signed_in(Role.STAFF).post(reverse("preparation-add"), sent)
        made = Preparation.objects.get()
        assert answer.url == made.get_absolute_url()
        assert made.lot.amount_typed == "1.1 L"

    def test_a_forgotten_draw_is_recorded_with_its_reason(self, venue, signed_in):
        batch, lot = a_batch(venue), a_lot(venue)
        sent = rows([(lot, "50 ml")], reason="found the empty bottle")
        signed_in().post(reverse("batch-draw", args=[batch.pk]), sent)
        assert batch.draws.filter(lot=lot).exists()
        assert Lot.objects.get(pk=lot.pk).amount_left == 950


class TestFillPages:
    def sent(self, keg, **more) -> dict[str, str]:
        return {
            "keg": str(keg.pk),
            "volume_ml": "9 L",
            "liquid_temperature_degc": "36 °F",
            "set_gauge_pa": "30 psi",
            "gas_cycles": "3",
            "rest_hours": "24",
            **more,
        }

    def test_looking_first_shows_every_finding_and_records_nothing(self, venue, signed_in):
        batch, keg = a_batch(venue), a_keg(venue)
        answer = signed_in().post(reverse("fill-keg", args=[batch.pk]), self.sent(keg, look="yes"))
        assert "It may not be filled like this." in text_of(answer)
        assert "No cleaning of Keg" in text_of(answer)
        assert Fill.objects.count() == 0

    def test_a_clean_keg_is_filled(self, venue, signed_in):
        batch, keg = a_batch(venue), a_keg(venue)
        a_clean(venue, keg)
        answer = signed_in(Role.STAFF).post(reverse("fill-keg", args=[batch.pk]), self.sent(keg))
        fill = Fill.objects.get()
        assert answer.url == fill.get_absolute_url()
        assert fill.set_gauge_pa == Decimal("206842.7")

    def test_a_stop_is_shown_with_its_reasons_and_keeps_what_was_typed(self, venue, signed_in):
        batch, keg = a_batch(venue), a_keg(venue)
        answer = signed_in().post(reverse("fill-keg", args=[batch.pk]), self.sent(keg))
        assert "No cleaning of Keg" in answer.context["form"].non_field_errors()[0]
        assert answer.context["form"]["set_gauge_pa"].value() == "30 psi"

    def test_kegs_that_cannot_be_filled_are_named_with_why(self, venue, signed_in):
        full = a_fill(venue).keg
        unrated = a_keg(venue, rated_gauge_pa=None)
        said = text_of(signed_in().get(reverse("fill-keg", args=[a_batch(venue).pk])))
        assert f"{full}</a> still holds" in said
        assert f"{unrated}</a> no rated pressure on record" in said

    def test_a_fill_says_what_warmth_does_to_it_and_whom_to_follow(self, venue, signed_in):
        said = text_of(signed_in().get(a_fill(venue).get_absolute_url()))
        assert "Shut off and warmed to 77 °F (25 °C)" in said
        assert "CO2 at equilibrium" in said
        assert "Follow local rules and a competent person" in said

    def test_a_keg_is_tapped_and_taken_off(self, venue, signed_in):
        fill, tap, client = a_fill(venue), a_tap(venue), signed_in(Role.STAFF)
        a_clean(venue, tap.line)
        client.post(reverse("fill-tap", args=[fill.pk]), {"tap": tap.pk})
        assert Tapping.objects.get().ended_at is None
        client.post(reverse("fill-untap", args=[fill.pk]), {})
        assert Tapping.objects.get().ended_at is not None

    def test_taps_that_are_not_free_are_named_with_why(self, venue, signed_in):
        taken, free, fill = a_tapping(venue), a_tap(venue), a_fill(venue)
        answer = signed_in().get(reverse("fill-tap", args=[fill.pk]))
        assert list(answer.context["form"].fields["tap"].queryset) == [free]
        assert f"{taken.tap}: its line carries {taken.fill.batch.recipe}" in text_of(answer)

    def test_a_tap_is_free_again_when_its_keg_came_off(self, venue, by, signed_in):
        taken, fill = a_tapping(venue), a_fill(venue)
        services.untap(tapping=taken, at=timezone.now(), by=by)
        answer = signed_in().get(reverse("fill-tap", args=[fill.pk]))
        assert list(answer.context["form"].fields["tap"].queryset) == [taken.tap]

    def test_a_discard_without_a_reason_is_refused_at_its_field(self, venue, signed_in):
        answer = signed_in().post(reverse("fill-discard", args=[a_fill(venue).pk]), {"reason": ""})
        assert answer.context["form"].errors["reason"] == ["Say why: a few words are enough."]

    @pytest.mark.parametrize("key", ["9" * 30, "²", "-1", "x"])
    def test_a_mistyped_key_is_nothing_chosen(self, venue, signed_in, key):
        client, batch = signed_in(), a_batch(venue)
        assert client.get(reverse("fill-keg", args=[batch.pk]), {"keg": key}).status_code == 200
        assert client.get(reverse("preparation-add"), {"again": key}).status_code == 200
        assert client.get(reverse("batch-add"), {"recipe": key}).status_code == 200
        assert client.post(reverse("preparation-add"), {"draw-TOTAL_FORMS": key}).status_code == 200


@pytest.mark.parametrize("name", LAY)
def test_an_empty_list_says_what_comes_here(venue, signed_in, name):
    assert "yet" in text_of(signed_in().get(reverse(name)))


@pytest.mark.parametrize("name", LAY)
def test_a_list_is_searched(venue, signed_in, name):
    lay(venue, name, 2)
    client = signed_in()
    assert "card-link" in text_of(client.get(reverse(name), {"q": ""}))
    assert "No " in text_of(client.get(reverse(name), {"q": "zzz"}))
