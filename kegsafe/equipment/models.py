"""Kegs, lines, taps and places, and the plain memory of what each held and where it stood."""

import secrets

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from kegsafe.ledger.models import Recorded

# No letters that are read for one another when a label is typed in by hand.
_LABEL_ALPHABET = "23456789abcdefghjkmnpqrstuvwxyz"


def new_label_code() -> str:
    """Return the random code a keg's label carries: short, and not to be guessed in sequence."""
    return "".join(secrets.choice(_LABEL_ALPHABET) for _ in range(10))


class Metal(models.TextChoices):
    """What touches the drink, as far as the codes ask."""

    STAINLESS = "stainless", "Stainless steel"
    COPPER = "copper", "Copper"
    BRASS = "brass", "Brass"
    BRONZE = "bronze", "Bronze"
    ALUMINIUM = "aluminium", "Aluminium"
    PLASTIC = "plastic", "Food-grade plastic only"
    NOT_KNOWN = "not_known", "Not known"


class Service(models.TextChoices):
    """Whether a piece of equipment may be used."""

    IN_USE = "in_use", "In use"
    OUT_OF_SERVICE = "out_of_service", "Out of service"
    QUARANTINED = "quarantined", "Quarantined"
    SCRAPPED = "scrapped", "Scrapped"


class Place(Recorded):
    """Somewhere kegs and lots stand: a walk-in, a keg cooler, a shelf."""

    class Kind(models.TextChoices):
        WALK_IN = "walk_in", "Walk-in cold room"
        FRIDGE = "fridge", "Fridge"
        KEG_COOLER = "keg_cooler", "Keg cooler"
        FREEZER = "freezer", "Freezer"
        DRY_STORE = "dry_store", "Dry store"

    CHILLED = frozenset({Kind.WALK_IN, Kind.FRIDGE, Kind.KEG_COOLER})

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="places")
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=12, choices=Kind)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=(
                    "venue",
                    "name",
                ),
                name="place_name_once_per_venue",
                violation_error_message="There is already a place of this name.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def is_chilled(self) -> bool:
        return self.kind in self.CHILLED


class Keg(Recorded):
    """A stainless keg: what it holds, what it bears, what touches the drink.

    `rated_gauge_pa` is the maker's plate; blank means not allowed under
    pressure, never unlimited.
    """

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="kegs")
    name = models.CharField(max_length=40, help_text="What is painted on it, such as K7.")
    label_code = models.CharField(
        max_length=16, unique=True, default=new_label_code, editable=False
    )
    serial = models.CharField(max_length=60, blank=True)
    capacity_ml = models.DecimalField("capacity", max_digits=10, decimal_places=1)
    rated_gauge_pa = models.DecimalField(
        "rated pressure", max_digits=12, decimal_places=1, null=True, blank=True
    )
    metal = models.CharField(
        "metals touching the drink",
        max_length=12,
        choices=Metal,
        default=Metal.NOT_KNOWN,
        help_text="Name copper, brass or bronze if any part that touches the drink is made of it.",
    )
    service = models.CharField(max_length=16, choices=Service, default=Service.IN_USE)
    service_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=(
                    "venue",
                    "name",
                ),
                name="keg_name_once_per_venue",
                violation_error_message="There is already a keg of this name.",
            ),
            models.CheckConstraint(
                condition=Q(capacity_ml__gt=0),
                name="keg_holds_something",
                violation_error_message="A keg's capacity is more than nothing: 19 L, for example.",
            ),
            models.CheckConstraint(
                condition=Q(rated_gauge_pa=None) | Q(rated_gauge_pa__gt=0),
                name="keg_rating_is_positive",
                violation_error_message="Copy the gauge pressure from the plate, or leave blank.",
            ),
        )

    def __str__(self) -> str:
        return f"Keg {self.name}"

    def get_absolute_url(self) -> str:
        return reverse("keg", args=[self.pk])


class Line(Recorded):
    """The tube from a coupler to a tap."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="lines")
    name = models.CharField(max_length=40)
    inner_diameter_mm = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    length_m = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    metal = models.CharField(
        "metals touching the drink", max_length=12, choices=Metal, default=Metal.NOT_KNOWN
    )
    service = models.CharField(max_length=16, choices=Service, default=Service.IN_USE)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=(
                    "venue",
                    "name",
                ),
                name="line_name_once_per_venue",
                violation_error_message="There is already a line of this name.",
            ),
        )

    def __str__(self) -> str:
        return f"Line {self.name}"


class Tap(Recorded):
    """Where the drink comes out, at the end of one line."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="taps")
    name = models.CharField(max_length=40)
    line = models.ForeignKey(Line, models.PROTECT, related_name="taps")
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=(
                    "venue",
                    "name",
                ),
                name="tap_name_once_per_venue",
                violation_error_message="There is already a tap of this name.",
            ),
        )

    def __str__(self) -> str:
        return f"Tap {self.name}"


class Use(Recorded):
    """The memory of a keg or a line: it held this drink, with these allergens, from then on."""

    keg = models.ForeignKey(Keg, models.PROTECT, null=True, blank=True, related_name="uses")
    line = models.ForeignKey(Line, models.PROTECT, null=True, blank=True, related_name="uses")
    drink = models.CharField(max_length=120)
    allergens = models.JSONField(
        default=list,
        blank=True,
        help_text="Allergenic sources contained, perhaps contained, or not known.",
    )
    carried_over = models.JSONField(
        default=list,
        blank=True,
        help_text="Allergenic sources that earlier drinks had left when this one began.",
    )
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-began_at",)
        constraints = (
            models.CheckConstraint(
                name="use_is_of_one_item",
                condition=Q(keg=None, line__isnull=False) | Q(keg__isnull=False, line=None),
            ),
            models.CheckConstraint(
                name="use_ends_after_it_began",
                condition=Q(ended_at=None) | Q(ended_at__gte=F("began_at")),
            ),
            models.UniqueConstraint(
                fields=("keg",),
                condition=Q(ended_at=None),
                name="keg_holds_one_drink_at_a_time",
                violation_error_message="This keg still holds a drink: empty it first.",
            ),
            models.UniqueConstraint(
                fields=("line",),
                condition=Q(ended_at=None),
                name="line_carries_one_drink_at_a_time",
                violation_error_message="This line still carries a drink: take it off tap first.",
            ),
        )
        indexes = (
            models.Index(fields=("keg", "-began_at"), name="use_of_keg_newest_first"),
            models.Index(fields=("line", "-began_at"), name="use_of_line_newest_first"),
        )

    def __str__(self) -> str:
        return f"{self.drink} in {self.keg or self.line}"


class Placement(Recorded):
    """A keg stood in a place from then to then."""

    keg = models.ForeignKey(Keg, models.PROTECT, related_name="placements")
    place = models.ForeignKey(Place, models.PROTECT, related_name="placements")
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-began_at",)
        constraints = (
            models.CheckConstraint(
                name="placement_ends_after_it_began",
                condition=Q(ended_at=None) | Q(ended_at__gte=F("began_at")),
            ),
            models.UniqueConstraint(
                fields=("keg",),
                condition=Q(ended_at=None),
                name="keg_stands_in_one_place_at_a_time",
            ),
        )
        indexes = (models.Index(fields=("keg", "-began_at"), name="placement_newest_first"),)

    def __str__(self) -> str:
        return f"{self.keg} in {self.place}"
