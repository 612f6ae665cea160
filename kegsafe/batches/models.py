"""Recipes, preparations, batches, fills and tapping: how lots become a drink in a keg."""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from kegsafe.ledger.models import Recorded
from kegsafe.stock.models import Measure, ShelfLifeRule


class Recipe(Recorded):
    """A drink as proved in a small test batch.

    pH and water activity are measured on the degassed drink; blank is not
    measured.
    """

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="recipes")
    name = models.CharField(max_length=120)
    test_volume_ml = models.DecimalField("test batch", max_digits=10, decimal_places=2)
    rest_hours = models.PositiveSmallIntegerField(
        "rest before pouring (hours)",
        default=24,
        help_text="So that the gas dissolves evenly. Common practice, no source.",
    )
    set_gauge_pa = models.DecimalField(
        "usual set pressure", max_digits=12, decimal_places=1, null=True, blank=True
    )
    serve_ml = models.DecimalField(
        "one serving", max_digits=8, decimal_places=2, null=True, blank=True
    )
    hold_at_or_below_degc = models.DecimalField(
        "hold at or below", max_digits=5, decimal_places=2, null=True, blank=True
    )
    measured_ph = models.DecimalField(
        "measured pH (degassed)", max_digits=4, decimal_places=2, null=True, blank=True
    )
    measured_water_activity = models.DecimalField(
        max_digits=5, decimal_places=4, null=True, blank=True
    )
    measured_on = models.DateField(null=True, blank=True)
    assessment = models.ForeignKey(
        "stock.ProductAssessment", models.PROTECT, null=True, blank=True, related_name="recipes"
    )
    method = models.TextField(blank=True)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=(
                    "venue",
                    "name",
                ),
                name="recipe_name_once_per_venue",
                violation_error_message="There is already a recipe of this name.",
            ),
            models.CheckConstraint(
                condition=Q(test_volume_ml__gt=0),
                name="recipe_has_a_test_volume",
                violation_error_message="The test batch holds more than nothing: 1.5 L, say.",
            ),
            models.CheckConstraint(
                name="recipe_ph_is_a_ph",
                condition=Q(measured_ph=None) | Q(measured_ph__gte=0, measured_ph__lte=14),
                violation_error_message="A pH lies between 0 and 14.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("recipe", args=[self.pk])


class RecipeItem(Recorded):
    """One ingredient of a recipe: into the keg, or added in the glass."""

    class Where(models.TextChoices):
        KEG = "keg", "in the keg"
        GLASS = "glass", "in the glass"

    recipe = models.ForeignKey(Recipe, models.PROTECT, related_name="items")
    position = models.PositiveSmallIntegerField()
    ingredient = models.ForeignKey("stock.Ingredient", models.PROTECT, related_name="recipe_items")
    # "where" is a word of SQL itself, so the column has a longer name.
    where = models.CharField(
        max_length=5, choices=Where, default=Where.KEG, db_column="where_added"
    )
    amount = models.DecimalField(
        max_digits=12,
        decimal_places=3,
        help_text="For the test batch when in the keg, for one serving when in the glass.",
    )
    measure = models.CharField(max_length=4, choices=Measure)
    amount_typed = models.CharField(max_length=60)
    is_removed = models.BooleanField(default=False)

    class Meta:
        ordering = ("position",)
        constraints = (
            models.CheckConstraint(
                condition=Q(amount__gt=0),
                name="recipe_item_is_some",
                violation_error_message="An amount is more than nothing: 30 ml, for example.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.amount_typed} {self.ingredient}"


class KegShelfLife(ShelfLifeRule):
    """How long a drink keeps in its keg, counted from the fill."""

    recipe = models.ForeignKey(Recipe, models.PROTECT, related_name="shelf_lives")

    class Meta(ShelfLifeRule.Meta):
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.recipe}: {self.duration_text} in the keg"


class Preparation(Recorded):
    """A syrup, infusion, juice or cordial made in house: lots in, one lot out."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="preparations")
    lot = models.OneToOneField("stock.Lot", models.PROTECT, related_name="preparation")
    began_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)
    business_date = models.DateField(
        null=True, blank=True, help_text="The working day it belongs to, when past midnight."
    )
    made_by = models.CharField(max_length=150)
    method = models.TextField(blank=True)

    class Meta:
        ordering = ("-began_at",)
        indexes = (models.Index(fields=("venue", "-began_at"), name="preparation_newest_first"),)

    def __str__(self) -> str:
        return f"Preparation {self.lot.code}"

    def get_absolute_url(self) -> str:
        return reverse("preparation", args=[self.pk])


class Batch(Recorded):
    """One making of a recipe, to be filled into kegs."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="batches")
    recipe = models.ForeignKey(Recipe, models.PROTECT, related_name="batches")
    code = models.CharField(max_length=40)
    made_at = models.DateTimeField()
    business_date = models.DateField(null=True, blank=True)
    volume_ml = models.DecimalField(max_digits=12, decimal_places=2)
    filled_ml = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    made_by = models.CharField(max_length=150)
    measured_ph = models.DecimalField(
        "measured pH (degassed)", max_digits=4, decimal_places=2, null=True, blank=True
    )
    measured_water_activity = models.DecimalField(
        max_digits=5, decimal_places=4, null=True, blank=True
    )
    abv_percent = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    total_so2_mg_per_l = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    sugar_g_per_l = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)

    class Meta:
        ordering = ("-made_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=(
                    "venue",
                    "code",
                ),
                name="batch_code_once_per_venue",
            ),
            models.CheckConstraint(
                name="batch_fills_no_more_than_it_holds",
                condition=Q(filled_ml__gte=0, filled_ml__lte=F("volume_ml"), volume_ml__gt=0),
                violation_error_message="The kegs cannot take more than is left of the batch.",
            ),
        )
        indexes = (models.Index(fields=("venue", "-made_at"), name="batch_newest_first"),)

    def __str__(self) -> str:
        return f"{self.recipe} {self.code}"

    def get_absolute_url(self) -> str:
        return reverse("batch", args=[self.pk])


class Draw(Recorded):
    """An amount taken from a lot into a batch or into a preparation."""

    lot = models.ForeignKey("stock.Lot", models.PROTECT, related_name="draws")
    batch = models.ForeignKey(Batch, models.PROTECT, null=True, blank=True, related_name="draws")
    preparation = models.ForeignKey(
        Preparation, models.PROTECT, null=True, blank=True, related_name="draws"
    )
    amount = models.DecimalField(max_digits=12, decimal_places=3)
    amount_typed = models.CharField(max_length=60)
    drawn_at = models.DateTimeField()

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.CheckConstraint(
                name="draw_goes_into_one_thing",
                condition=Q(batch=None, preparation__isnull=False)
                | Q(batch__isnull=False, preparation=None),
            ),
            models.CheckConstraint(
                condition=Q(amount__gt=0),
                name="draw_is_some",
                violation_error_message="An amount is more than nothing: 700 ml, for example.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.amount_typed} of {self.lot}"


class Fill(Recorded):
    """Part of a batch in a keg, from the fill until it is emptied or discarded.

    The `found_` columns and `findings` are what the rules said at the moment
    of filling; the pour check asks them again, live.
    """

    class State(models.TextChoices):
        IN_KEG = "in_keg", "In the keg"
        ON_HOLD = "on_hold", "On hold"
        EMPTIED = "emptied", "Emptied"
        DISCARDED = "discarded", "Discarded"

    OPEN_STATES = (State.IN_KEG, State.ON_HOLD)

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="fills")
    keg = models.ForeignKey("equipment.Keg", models.PROTECT, related_name="fills")
    use = models.OneToOneField("equipment.Use", models.PROTECT, related_name="fill")
    filled_at = models.DateTimeField()
    volume_ml = models.DecimalField(max_digits=10, decimal_places=2)
    liquid_temperature_degc = models.DecimalField(
        "temperature of the drink", max_digits=6, decimal_places=2
    )
    set_gauge_pa = models.DecimalField("gauge pressure set", max_digits=12, decimal_places=1)
    gas_cycles = models.PositiveSmallIntegerField("carbonation cycles", default=1)
    ready_from = models.DateTimeField()
    cross_contact_accepted = models.JSONField(
        default=list,
        blank=True,
        help_text="Allergenic sources left by the last drink, declared as 'may contain'.",
    )
    filled_by = models.CharField(max_length=150)
    state = models.CharField(max_length=10, choices=State, default=State.IN_KEG)
    state_reason = models.CharField(max_length=200, blank=True)
    state_by = models.CharField(max_length=150, blank=True)
    state_at = models.DateTimeField(null=True, blank=True)
    use_by_at = models.DateTimeField(null=True, blank=True)
    is_tcs = models.BooleanField(default=True)
    declaration = models.JSONField(default=dict, blank=True)
    findings = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ("-filled_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=("keg",),
                condition=Q(state__in=("in_keg", "on_hold")),
                name="keg_has_one_open_fill",
                violation_error_message="This keg is still full: empty or discard it first.",
            ),
            models.CheckConstraint(
                condition=Q(volume_ml__gt=0),
                name="fill_is_some",
                violation_error_message="A fill holds more than nothing: 18 L, for example.",
            ),
            models.CheckConstraint(
                condition=Q(set_gauge_pa__gte=0),
                name="fill_pressure_is_not_negative",
                violation_error_message="A gauge pressure here is zero or more: 50 psi, say.",
            ),
            models.CheckConstraint(
                condition=Q(state="in_keg") | ~Q(state_reason=""),
                name="fill_off_use_has_a_reason",
                violation_error_message="Say why.",
            ),
        )
        indexes = (
            models.Index(fields=("keg", "-filled_at"), name="fill_of_keg_newest_first"),
            # What a keg holds now, past all it has held: SQLite cannot use the partial index of
            # keg_has_one_open_fill for states that come as parameters.
            models.Index(fields=("keg", "state"), name="fill_of_keg_by_state"),
        )

    def __str__(self) -> str:
        return f"{self.batch} in {self.keg}"

    def get_absolute_url(self) -> str:
        return reverse("fill", args=[self.pk])

    @property
    def is_open(self) -> bool:
        return self.state in self.OPEN_STATES


class Tapping(Recorded):
    """A fill joined to a line and its tap, from then to then."""

    fill = models.ForeignKey(Fill, models.PROTECT, related_name="tappings")
    tap = models.ForeignKey("equipment.Tap", models.PROTECT, related_name="tappings")
    use = models.OneToOneField("equipment.Use", models.PROTECT, related_name="tapping")
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-began_at",)
        constraints = (
            models.UniqueConstraint(
                fields=("tap",),
                condition=Q(ended_at=None),
                name="tap_pours_one_fill_at_a_time",
                violation_error_message="This tap pours something else: take that off first.",
            ),
            models.UniqueConstraint(
                fields=("fill",),
                condition=Q(ended_at=None),
                name="fill_on_one_tap_at_a_time",
                violation_error_message="This keg is already on a tap.",
            ),
            models.CheckConstraint(
                name="tapping_ends_after_it_began",
                condition=Q(ended_at=None) | Q(ended_at__gte=F("began_at")),
            ),
        )

    def __str__(self) -> str:
        return f"{self.fill} on {self.tap}"
