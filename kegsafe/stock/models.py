"""What comes in at the door: suppliers, ingredients with their facts, deliveries and lots."""

from decimal import Decimal

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from kegsafe.ledger.models import Recorded
from kegsafe.rules.allergens import State
from kegsafe.rules.tcs import ProductAssessment as ProductAssessmentFact


class Measure(models.TextChoices):
    """The base unit an ingredient is counted in; people type any unit of its kind."""

    VOLUME = "ml", "by volume"
    MASS = "g", "by weight"
    COUNT = "each", "by the piece"


class Supplier(Recorded):
    """A business that deliveries come from: one step back in the trace."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="suppliers")
    name = models.CharField(max_length=120)
    address = models.TextField(blank=True)
    contact = models.CharField(max_length=160, blank=True, help_text="Telephone or e-mail.")
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=(
                    "venue",
                    "name",
                ),
                name="supplier_name_once_per_venue",
                violation_error_message="There is already a supplier of this name.",
            ),
        )

    def __str__(self) -> str:
        return self.name


class ProductAssessment(Recorded):
    """A competent person's recorded judgement of an ingredient or a drink.

    The judgement belongs to that person: kegsafe repeats it, with name and
    reference, and makes none of its own.
    """

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="assessments")
    reference = models.CharField(max_length=160, help_text="Document or report number.")
    scope = models.CharField(max_length=200, help_text="Which product, as made how.")
    competent_person = models.CharField(max_length=120)
    role = models.CharField(max_length=120, help_text="Such as food technologist.")
    assessed_on = models.DateField()
    expires_on = models.DateField(null=True, blank=True)
    measured_ph = models.DecimalField(max_digits=4, decimal_places=2, null=True, blank=True)
    measured_water_activity = models.DecimalField(
        max_digits=5, decimal_places=4, null=True, blank=True
    )
    study = models.CharField(
        max_length=200, blank=True, help_text="The laboratory study, where there is one."
    )
    concludes_not_tcs = models.BooleanField(
        "concludes that no time/temperature control is needed", default=False
    )
    maximum_days = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering = ("-assessed_on",)
        constraints = (
            models.CheckConstraint(
                name="assessment_rests_on_evidence",
                condition=(Q(measured_ph__isnull=False) & Q(measured_water_activity__isnull=False))
                | ~Q(study=""),
                violation_error_message=(
                    "An assessment rests on a measured pH and water activity, or on a study: "
                    "enter both values or name the study."
                ),
            ),
        )

    def __str__(self) -> str:
        return f"{self.reference} by {self.competent_person}"

    def as_fact(self) -> ProductAssessmentFact:
        """Return the assessment as the rules read it."""
        return ProductAssessmentFact(
            reference=self.reference,
            competent_person=self.competent_person,
            role=self.role,
            assessed_on=self.assessed_on,
            expires_on=self.expires_on,
            ph=self.measured_ph,
            water_activity=self.measured_water_activity,
            concludes_not_tcs=self.concludes_not_tcs,
            maximum_days=self.maximum_days,
            scope=self.scope,
        )


class Ingredient(Recorded):
    """Something drinks are made of, with its facts stated once.

    A blank number is not known. `allergen_list_basis` says what the list of
    allergens was read from; while it is blank every source not named is not
    known, never absent.
    """

    class WarningGroup(models.TextChoices):
        NONE = "", "None"
        CITRUS_JUICE = "citrus_juice", "Citrus juice"
        DAIRY = "dairy", "Dairy or cream"
        RAW_EGG = "raw_egg", "Raw egg"

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="ingredients")
    name = models.CharField(max_length=120)
    measure = models.CharField(max_length=4, choices=Measure, default=Measure.VOLUME)
    category = models.CharField(
        max_length=40, help_text="The kind of food: decides what the code says about it."
    )
    warning_group = models.CharField(
        max_length=16, choices=WarningGroup, blank=True, default=WarningGroup.NONE
    )
    made_in_house = models.BooleanField(default=False)
    density_g_per_ml = models.DecimalField(
        "density (g/ml)", max_digits=6, decimal_places=4, null=True, blank=True
    )
    abv_percent = models.DecimalField(
        "alcohol (% vol)", max_digits=5, decimal_places=2, null=True, blank=True
    )
    total_so2_mg_per_l = models.DecimalField(
        "total SO2 (mg/L)", max_digits=8, decimal_places=2, null=True, blank=True
    )
    total_so2_basis = models.CharField(
        "SO2 basis", max_length=160, blank=True, help_text="Supplier's value, legal maximum, ..."
    )
    sugar_brix = models.DecimalField(
        "sugar (°Brix)", max_digits=5, decimal_places=2, null=True, blank=True
    )
    measured_ph = models.DecimalField(
        "measured pH", max_digits=4, decimal_places=2, null=True, blank=True
    )
    measured_water_activity = models.DecimalField(
        "measured water activity", max_digits=5, decimal_places=4, null=True, blank=True
    )
    heat_treated_and_packaged = models.BooleanField(
        default=False,
        help_text="Heat-treated and then packed closed, with the record of it (table A).",
    )
    shelf_stable_unopened = models.BooleanField(
        default=False, help_text="Keeps at room temperature until opened."
    )
    date_mark_exempt = models.BooleanField(
        "exempt from date marking",
        default=False,
        help_text="Cultured dairy and the like, packed in an inspected plant: 3-501.17(F).",
    )
    assessment = models.ForeignKey(
        ProductAssessment, models.PROTECT, null=True, blank=True, related_name="ingredients"
    )
    allergen_list_basis = models.CharField(
        "allergen list read from",
        max_length=160,
        blank=True,
        help_text="Such as: maker's label, 3 May 2026. Blank: the list is not known to be whole.",
    )
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=(
                    "venue",
                    "name",
                ),
                name="ingredient_name_once_per_venue",
                violation_error_message="There is already an ingredient of this name.",
            ),
            models.CheckConstraint(
                name="ingredient_alcohol_is_a_percentage",
                condition=Q(abv_percent=None) | Q(abv_percent__gte=0, abv_percent__lte=100),
                violation_error_message="Alcohol by volume lies between 0 and 100 %.",
            ),
            models.CheckConstraint(
                name="ingredient_ph_is_a_ph",
                condition=Q(measured_ph=None) | Q(measured_ph__gte=0, measured_ph__lte=14),
                violation_error_message="A pH lies between 0 and 14.",
            ),
            models.CheckConstraint(
                name="ingredient_water_activity_is_a_fraction",
                condition=Q(measured_water_activity=None)
                | Q(measured_water_activity__gte=0, measured_water_activity__lte=1),
                violation_error_message="Water activity lies between 0 and 1.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("ingredient", args=[self.pk])


class IngredientAllergen(Recorded):
    """What is known of one allergenic source in one ingredient."""

    class Statement(models.TextChoices):
        CONTAINS = State.CONTAINS.value, "Contains"
        MAY_CONTAIN = State.MAY_CONTAIN.value, "May contain"
        FREE_BY_SUPPLIER = State.FREE_BY_SUPPLIER.value, "Free from, by the supplier's word"
        EXEMPT_BY_PROCESS = State.EXEMPT_BY_PROCESS.value, "Exempt by process"
        NOT_KNOWN = State.NOT_KNOWN.value, "Not known"

    ingredient = models.ForeignKey(Ingredient, models.PROTECT, related_name="allergens")
    source = models.CharField("allergenic source", max_length=40)
    statement = models.CharField(max_length=20, choices=Statement)
    exemption = models.CharField(
        max_length=80, blank=True, help_text="The row of the exemption the process falls under."
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("source",)
        constraints = (
            models.UniqueConstraint(
                fields=(
                    "ingredient",
                    "source",
                ),
                name="allergen_source_once_per_ingredient",
            ),
            models.CheckConstraint(
                name="exempt_allergen_names_its_exemption",
                condition=~Q(statement=State.EXEMPT_BY_PROCESS.value) | ~Q(exemption=""),
                violation_error_message="Name the exemption that the process falls under.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.ingredient}: {self.get_statement_display()} {self.source}"


class ShelfLifeRule(Recorded):
    """How long something keeps after an event, on what basis, and who answers for it."""

    class Basis(models.TextChoices):
        MAKER_LABEL = "maker_label", "Maker's label"
        CODE_CLAUSE = "code_clause", "Clause of the code"
        LABORATORY_STUDY = "laboratory_study", "Laboratory study"
        HOUSE_RULE = "house_rule", "House rule"

    days = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Calendar days; the day of the event is day 1."
    )
    hours = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Elapsed hours, instead of days."
    )
    held_at_or_below_degc = models.DecimalField(
        "held at or below", max_digits=5, decimal_places=2, null=True, blank=True
    )
    basis = models.CharField(max_length=20, choices=Basis)
    reference = models.CharField(max_length=200, blank=True)
    approved_by = models.CharField(max_length=120, blank=True)
    approved_on = models.DateField(null=True, blank=True)
    assessment = models.ForeignKey(
        ProductAssessment, models.PROTECT, null=True, blank=True, related_name="+"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        abstract = True
        constraints = (
            models.CheckConstraint(
                name="%(class)s_in_days_or_hours",
                # Not null is said outright: a comparison with null is no refusal in SQL.
                condition=Q(days__isnull=False, days__gte=1, hours=None)
                | Q(days=None, hours__isnull=False, hours__gte=1),
                violation_error_message="Say how long: in days or in hours, one of the two.",
            ),
        )

    @property
    def duration_text(self) -> str:
        """Return the length in words: '3 days' or '8 hours'."""
        number, noun = (self.days, "day") if self.days else (self.hours, "hour")
        return f"{number} {noun}{'' if number == 1 else 's'}"


class IngredientShelfLife(ShelfLifeRule):
    """How long an ingredient keeps after it was opened, prepared, thawed or put into a keg."""

    class After(models.TextChoices):
        OPENED = "opened", "opening"
        PREPARED = "prepared", "preparing"
        THAWED = "thawed", "thawing"
        KEGGED = "kegged", "filling into a keg"

    ingredient = models.ForeignKey(Ingredient, models.PROTECT, related_name="shelf_lives")
    after = models.CharField(max_length=10, choices=After)

    class Meta(ShelfLifeRule.Meta):
        ordering = ("after",)

    def __str__(self) -> str:
        return f"{self.ingredient}: {self.duration_text} after {self.get_after_display()}"


class Delivery(Recorded):
    """Goods that came from one supplier at one time, on one document."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="deliveries")
    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="deliveries")
    received_at = models.DateTimeField()
    document = models.CharField("delivery note or invoice number", max_length=80, blank=True)
    received_by = models.CharField(max_length=150)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("-received_at",)
        indexes = (models.Index(fields=("venue", "-received_at"), name="delivery_newest_first"),)

    def __str__(self) -> str:
        return f"{self.supplier}, {self.received_at:%Y-%m-%d}"

    def get_absolute_url(self) -> str:
        return reverse("delivery", args=[self.pk])


class Lot(Recorded):
    """A quantity of one ingredient that shares its dates: bought in, or made in house.

    `amount_left` is a balance the database guards: it never falls below
    nothing and never exceeds what was received. The lot of a preparation
    carries the alcohol, sulphites and sugar computed from what went into it;
    for a bought lot these are the ingredient's.
    """

    class Status(models.TextChoices):
        ACCEPTED = "accepted", "Accepted"
        REJECTED = "rejected", "Rejected on arrival"
        ON_HOLD = "on_hold", "On hold"
        DISCARDED = "discarded", "Discarded"

    class DateKind(models.TextChoices):
        USE_BY = "use_by", "Use by"
        BEST_BEFORE = "best_before", "Best before"
        NONE = "none", "No date on it"

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="lots")
    ingredient = models.ForeignKey(Ingredient, models.PROTECT, related_name="lots")
    delivery = models.ForeignKey(
        Delivery, models.PROTECT, null=True, blank=True, related_name="lots"
    )
    code = models.CharField("our lot code", max_length=40)
    supplier_lot_code = models.CharField(max_length=80, blank=True)
    measure = models.CharField(max_length=4, choices=Measure)
    amount_received = models.DecimalField(max_digits=12, decimal_places=3)
    amount_left = models.DecimalField(max_digits=12, decimal_places=3)
    amount_typed = models.CharField(max_length=60, blank=True)
    date_kind = models.CharField(max_length=12, choices=DateKind)
    date_on = models.DateField("date on the pack", null=True, blank=True)
    came_into_being_at = models.DateTimeField(help_text="When received, or when making began.")
    opened_at = models.DateTimeField(null=True, blank=True)
    place = models.ForeignKey(
        "equipment.Place", models.PROTECT, null=True, blank=True, related_name="lots"
    )
    arrival_temperature_degc = models.DecimalField(
        "temperature on arrival", max_digits=6, decimal_places=2, null=True, blank=True
    )
    status = models.CharField(max_length=12, choices=Status, default=Status.ACCEPTED)
    status_reason = models.CharField(max_length=200, blank=True)
    abv_percent = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    total_so2_mg_per_l = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    sugar_g_per_l = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)

    class Meta:
        ordering = ("-came_into_being_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=(
                    "venue",
                    "code",
                ),
                name="lot_code_once_per_venue",
            ),
            models.CheckConstraint(
                name="lot_amount_is_positive",
                condition=Q(amount_received__gt=0),
                violation_error_message="A lot holds more than nothing: 700 ml, for example.",
            ),
            models.CheckConstraint(
                name="lot_balance_within_what_was_received",
                condition=Q(amount_left__gte=0, amount_left__lte=F("amount_received")),
                violation_error_message="No more can be drawn than is left of the lot.",
            ),
            models.CheckConstraint(
                name="lot_date_matches_its_kind",
                condition=Q(date_kind="none", date_on=None)
                | (~Q(date_kind="none") & Q(date_on__isnull=False)),
                violation_error_message="Enter the date on the pack, or say that there is none.",
            ),
            models.CheckConstraint(
                name="lot_off_use_has_a_reason",
                condition=Q(status="accepted") | ~Q(status_reason=""),
                violation_error_message="Say why.",
            ),
        )
        indexes = (
            models.Index(fields=("venue", "status", "amount_left"), name="lot_in_stock"),
            # The used-up lots of years stay out of what an ingredient has left.
            models.Index(
                fields=("ingredient", "status", "amount_left"), name="lot_of_ingredient_in_stock"
            ),
            models.Index(fields=("venue", "-came_into_being_at"), name="lot_newest_first"),
        )

    def __str__(self) -> str:
        return f"{self.ingredient} {self.code}"

    def get_absolute_url(self) -> str:
        return reverse("lot", args=[self.pk])

    @property
    def is_empty(self) -> bool:
        return self.amount_left == Decimal(0)

    @property
    def bears_label(self) -> bool:
        """Whether a container of it stands somewhere that a label belongs on."""
        return self.status in {self.Status.ACCEPTED, self.Status.ON_HOLD} and not self.is_empty


class FrozenSpan(Recorded):
    """A lot was frozen from then to then; the days between are not counted."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="frozen_spans")
    frozen_at = models.DateTimeField()
    thawed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("frozen_at",)
        constraints = (
            models.CheckConstraint(
                name="thawed_after_frozen",
                condition=Q(thawed_at=None) | Q(thawed_at__gt=F("frozen_at")),
                violation_error_message="Thawing comes after freezing: check the two times.",
            ),
            models.UniqueConstraint(
                fields=("lot",), condition=Q(thawed_at=None), name="lot_frozen_once_at_a_time"
            ),
        )

    def __str__(self) -> str:
        return f"{self.lot} frozen {self.frozen_at:%Y-%m-%d}"


class DeliveryFile(models.Model):
    """A file of deliveries as it was sent, kept between looking at it and importing it."""

    venue = models.ForeignKey("venues.Venue", models.CASCADE, related_name="delivery_files")
    name = models.CharField(max_length=120)
    text = models.TextField()
    sent_by = models.CharField(max_length=150)
    sent_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("delivery-file", args=[self.pk])


class ImportedRow(models.Model):
    """A row of a file that became a lot, so that the same row is known when it comes again.

    `digest` is of what tells one lot from another, `cells` is all the row said.
    No ledger entry of its own: the lot's names the file and the line.
    """

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="imported_rows")
    lot = models.OneToOneField(Lot, models.PROTECT, related_name="imported_row")
    digest = models.CharField(max_length=64)
    cells = models.JSONField()

    class Meta:
        constraints = (
            models.UniqueConstraint("venue", "digest", name="row_imported_once_per_venue"),
        )

    def __str__(self) -> str:
        return f"{self.lot} from a file"
