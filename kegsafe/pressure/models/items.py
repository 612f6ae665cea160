"""The equipment itself: what its maker's plate says, where it is, whether it may be used."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from kegsafe.equipment.models import Metal, Service, new_label_code
from kegsafe.ledger.models import Recorded


def _pressure(name: str, **options: object) -> models.DecimalField:
    """A gauge pressure in Pa; blank is not recorded, never unlimited."""
    return models.DecimalField(
        name, max_digits=12, decimal_places=1, null=True, blank=True, **options
    )


def _mass(name: str) -> models.DecimalField:
    return models.DecimalField(name, max_digits=10, decimal_places=1, null=True, blank=True)


class GasRoom(Recorded):
    """A room where gas is kept or led through."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="gas_rooms")
    name = models.CharField(max_length=80)
    volume_m3 = models.DecimalField("volume", max_digits=9, decimal_places=2, null=True, blank=True)
    air_changes_per_h = models.DecimalField(
        "air changes an hour", max_digits=6, decimal_places=2, null=True, blank=True
    )
    is_below_ground = models.BooleanField("below ground", null=True, blank=True)
    ventilation = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("venue", "name"),
                name="gas_room_name_once_per_venue",
                violation_error_message="There is already a room of this name.",
            ),
            models.CheckConstraint(
                condition=Q(volume_m3=None) | Q(volume_m3__gte=1, volume_m3__lte=100_000),
                name="gas_room_volume_is_a_rooms",
                violation_error_message="A room holds 1 to 100 000 m3: 40 m3, for example.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("gas-room", args=[self.pk])


class Item(Recorded):
    """One piece of pressure equipment that is no keg. Pressures are gauge, in Pa.

    What the plate does not say stays blank, and blank is not allowed under pressure. A
    relief valve that sits on a keg's lid is fitted to that keg: lids get swapped.
    """

    class Kind(models.TextChoices):
        CYLINDER = "cylinder", "Gas cylinder"
        REGULATOR = "regulator", "Regulator"
        RELIEF_VALVE = "relief_valve", "Relief valve"
        HOSE = "hose", "Hose"
        MANIFOLD = "manifold", "Manifold"
        CHECK_VALVE = "check_valve", "Check valve"
        MONITOR = "monitor", "CO2 monitor"

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="pressure_items")
    kind = models.CharField(max_length=12, choices=Kind)
    name = models.CharField(max_length=40, help_text="What is written on it, such as C3.")
    label_code = models.CharField(
        max_length=16, unique=True, default=new_label_code, editable=False
    )
    serial = models.CharField("serial number", max_length=60, blank=True)
    maker = models.CharField(max_length=80, blank=True)
    room = models.ForeignKey(GasRoom, models.PROTECT, null=True, blank=True, related_name="items")
    keg = models.ForeignKey(
        "equipment.Keg",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="relief_valves",
        verbose_name="fitted to keg",
    )
    service = models.CharField(max_length=16, choices=Service, default=Service.IN_USE)
    service_reason = models.CharField(max_length=200, blank=True)
    metal = models.CharField(
        "metals touching the drink", max_length=12, choices=Metal, default=Metal.NOT_KNOWN
    )
    seals = models.CharField("seals", max_length=80, blank=True)

    rated_gauge_pa = _pressure("rated pressure")
    inlet_rated_gauge_pa = _pressure("rated inlet pressure")
    test_gauge_pa = _pressure("test pressure")
    relief_gauge_pa = _pressure("relief opens at")
    set_gauge_pa = _pressure("set pressure", editable=False)
    volume_ml = models.DecimalField(
        "water capacity", max_digits=10, decimal_places=1, null=True, blank=True
    )
    marked_on = models.DateField("maker's date mark", null=True, blank=True)
    replace_by = models.DateField("replace by, as the maker says", null=True, blank=True)

    owner = models.CharField("owner of the cylinder", max_length=80, blank=True)
    cylinder_rule = models.CharField("specification", max_length=40, blank=True)
    stamped_on = models.DateField("last test stamp", null=True, blank=True)
    has_star = models.BooleanField("a star is stamped behind the date", default=False)
    requalify_by = models.DateField("day given by owner or permit", null=True, blank=True)
    tare_g = _mass("tare")
    charge_g = _mass("full charge of CO2")

    first_alarm_ppm = models.PositiveIntegerField("first alarm (ppm)", null=True, blank=True)
    main_alarm_ppm = models.PositiveIntegerField("main alarm (ppm)", null=True, blank=True)

    class Meta:
        verbose_name = "pressure equipment"
        ordering = ("kind", "name")
        constraints = (
            models.UniqueConstraint(
                fields=("venue", "kind", "name"),
                name="pressure_item_name_once_per_kind",
                violation_error_message="There is already one of this kind and name.",
            ),
            models.CheckConstraint(
                condition=Q(keg=None) | Q(kind="relief_valve"),
                name="only_a_relief_valve_is_fitted_to_a_keg",
                violation_error_message="Only a relief valve is fitted to a keg.",
            ),
            models.CheckConstraint(
                condition=Q(set_gauge_pa=None) | Q(kind="regulator"),
                name="only_a_regulator_is_set",
            ),
            models.CheckConstraint(
                condition=(Q(stamped_on=None) & Q(requalify_by=None) & Q(cylinder_rule=""))
                | Q(kind="cylinder"),
                name="only_a_cylinder_is_stamped",
                violation_error_message="Only a gas cylinder has a specification and a stamp.",
            ),
            models.CheckConstraint(
                condition=Q(rated_gauge_pa=None) | Q(rated_gauge_pa__gt=0),
                name="pressure_item_rating_is_positive",
                violation_error_message="Copy the gauge pressure from the plate, or leave blank.",
            ),
            models.CheckConstraint(
                condition=Q(relief_gauge_pa=None) | Q(relief_gauge_pa__gt=0),
                name="pressure_item_relief_is_positive",
                violation_error_message="A relief valve opens above zero; leave blank if unknown.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.name}"

    def get_absolute_url(self) -> str:
        return reverse("pressure-item", args=[self.pk])


class KegPlate(Recorded):
    """What else a keg's plate and papers say, beyond its capacity and rated pressure."""

    class Mark(models.TextChoices):
        NONE_SEEN = "none_seen", "None seen"
        CE = "ce", "CE"
        UKCA = "ukca", "UKCA"
        PI = "pi", "Pi"
        ASME = "asme", "ASME"
        OTHER = "other", "Another"

    keg = models.OneToOneField("equipment.Keg", models.PROTECT, related_name="plate")
    maker = models.CharField(max_length=80, blank=True)
    made_year = models.PositiveSmallIntegerField("year", null=True, blank=True)
    test_gauge_pa = _pressure("test pressure")
    mark = models.CharField("mark on the plate", max_length=10, choices=Mark, default="none_seen")
    is_for_drinks_distribution = models.BooleanField(
        "declared as designed for transporting and distributing drinks", null=True, blank=True
    )
    declaration = models.CharField("maker's declaration", max_length=120, blank=True)

    class Meta:
        verbose_name = "keg plate"

    def __str__(self) -> str:
        return f"Plate of {self.keg}"
