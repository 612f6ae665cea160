"""The bar itself: where it is, which code it answers to, who works there in which role."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from kegsafe.ledger.models import Chain, Recorded
from kegsafe.ledger.services import Recorder
from kegsafe.rules.cleaning.intervals import regions
from kegsafe.rules.codes import Code, code, codes
from kegsafe.rules.limits import LocalLimit as LocalLimitFact


class Role(models.TextChoices):
    """What a person may do at a venue."""

    STAFF = "staff", "Staff"
    MANAGER = "manager", "Manager"
    OWNER = "owner", "Owner"
    INSPECTOR = "inspector", "Inspector (reads only)"


class Units(models.TextChoices):
    """The unit system shown first."""

    METRIC = "metric", "Metric (ml, °C, bar)"
    US = "us", "US customary (oz, °F, psi)"


def known_time_zone(name: str) -> None:
    """Raise ValidationError when the name is not in the IANA time zone database."""
    if name not in available_timezones():
        raise ValidationError(f'"{name}" is no IANA time zone. Write one such as Europe/London.')


def known_code(key: str) -> None:
    """Raise ValidationError when shared/ holds no such code."""
    if key not in codes():
        raise ValidationError(f'"{key}" is no code on file. Known: {", ".join(sorted(codes()))}.')


def known_region(key: str) -> None:
    """Raise ValidationError when shared/ holds no law of such a region."""
    if key not in regions():
        known = ", ".join(regions().values())
        raise ValidationError(f'No law of "{key}" is on file. Known: {known}.')


class Venue(Recorded):
    """One bar, with its own chain of records."""

    name = models.CharField(max_length=120)
    address = models.TextField(blank=True)
    code_key = models.CharField("food code", max_length=40, validators=[known_code])
    region = models.CharField(
        "state or region", max_length=40, blank=True, validators=[known_region]
    )
    time_zone = models.CharField(max_length=64, validators=[known_time_zone])
    units = models.CharField(max_length=10, choices=Units, default=Units.METRIC)
    best_before_binds = models.BooleanField(
        default=False,
        help_text="Treat a lot's best-before date as binding, not as a warning.",
    )
    chain = models.OneToOneField(Chain, models.PROTECT, related_name="venue", editable=False)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name

    def ledger_values(self) -> dict[str, Any]:
        """Leave the region out while none is chosen: older entries know of none."""
        values = super().ledger_values()
        if not self.region:
            del values["region"]
        return values

    @property
    def region_name(self) -> str:
        """Return the region as a page names it; empty where none is chosen."""
        return regions().get(self.region, self.region)

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    @property
    def code(self) -> Code:
        return code(self.code_key)

    def local(self, moment: datetime) -> datetime:
        """Return an instant in the venue's own time."""
        return moment.astimezone(self.zone)


class Membership(Recorded):
    """A person's role at a venue."""

    venue = models.ForeignKey(Venue, models.PROTECT, related_name="memberships")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=12, choices=Role)
    is_active = models.BooleanField(default=True)
    has_others = False  # whether the person has a role elsewhere too; known to signed-in pages only

    class Meta:
        ordering = ("user__username",)
        constraints = (
            models.UniqueConstraint(
                fields=(
                    "venue",
                    "user",
                ),
                name="membership_one_role_per_person",
                violation_error_message="This person already has a role here: change that one.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.user} as {self.get_role_display()}"

    @property
    def recorder(self) -> Recorder:
        """Return who the ledger names for what this person does here."""
        return Recorder(chain_key=self.venue.chain_id, person=self.user.get_username())


class LocalLimit(Recorded):
    """A limit the venue sets for itself, or the authority has set for it.

    Stricter than the code at will; a looser one counts only with the
    authority, its reference and the date of its approval.
    """

    venue = models.ForeignKey(Venue, models.PROTECT, related_name="local_limits")
    rule = models.CharField(max_length=80)
    value = models.DecimalField(max_digits=10, decimal_places=3)
    unit = models.CharField(max_length=20)
    valid_from = models.DateField()
    authority = models.CharField(max_length=160, blank=True)
    reference = models.CharField(max_length=160, blank=True)
    approved_on = models.DateField(null=True, blank=True)
    set_by = models.CharField(max_length=150)
    withdrawn_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ("rule", "-valid_from")
        constraints = (
            models.CheckConstraint(
                name="local_limit_approval_is_whole",
                condition=Q(authority="", reference="", approved_on=None)
                | (~Q(authority="") & ~Q(reference="") & Q(approved_on__isnull=False)),
                violation_error_message=(
                    "An approval needs all three: the authority, its reference and the date."
                ),
            ),
        )

    def __str__(self) -> str:
        return f"{self.rule} {self.value.normalize():f} {self.unit} from {self.valid_from}"

    def as_fact(self) -> LocalLimitFact:
        """Return the limit as the rules read it."""
        return LocalLimitFact(
            rule=self.rule,
            value=self.value,
            unit=self.unit,
            valid_from=self.valid_from,
            authority=self.authority,
            reference=self.reference,
            approved_on=self.approved_on,
            by=self.set_by,
        )
