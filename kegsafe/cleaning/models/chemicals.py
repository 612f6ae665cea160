"""The venue's list of cleaning chemicals, as their labels read, and the batches in the cupboard."""

from decimal import Decimal

from django.db import models
from django.db.models import F, Q

from kegsafe.ledger.models import Recorded
from kegsafe.rules.cleaning.chemicals import ChemicalFacts
from kegsafe.rules.cleaning.guidance import amount
from kegsafe.rules.cleaning.limits import Active
from kegsafe.rules.cleaning.vocabulary import Chemistry

_WORDS = {Active.QUAT: "Quaternary ammonium", Active.QUAT_BLEND: "Quaternary ammonium blend"}


def _named(member: Active | Chemistry) -> str:
    return _WORDS.get(member, member.value.replace("_", " ").capitalize())


def strength_words(*ends: Decimal | None) -> str:
    """Return a strength as somebody would type it: '1.75 %', '12.5 mg/l to 25 mg/l'."""
    return " to ".join(amount(end, "mg/l") for end in ends if end is not None)


def _strength(verbose_name: str) -> models.DecimalField:
    return models.DecimalField(verbose_name, max_digits=10, decimal_places=1, null=True, blank=True)


class Chemical(Recorded):
    """One product. Strengths are mg/l of what cleans in it; empty is 'nobody has read it'."""

    CHEMISTRIES = [(each.value, _named(each)) for each in Chemistry]
    ACTIVES = [(each.value, _named(each)) for each in Active if each is not Active.HOT_WATER]

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="chemicals")
    name = models.CharField(max_length=80)
    supplier = models.CharField(max_length=120, blank=True)
    chemistry = models.CharField(max_length=12, choices=CHEMISTRIES)
    active = models.CharField(max_length=20, choices=ACTIVES, blank=True)
    stock_mg_per_l = _strength("strength of the concentrate")
    label_at_least_mg_per_l = _strength("label: weakest in use")
    label_at_most_mg_per_l = _strength("label: strongest in use")
    label_contact_s = models.PositiveIntegerField("label: contact time", null=True, blank=True)
    label_at_least_degc = models.DecimalField(
        "label: coldest", max_digits=5, decimal_places=1, null=True, blank=True
    )
    label_at_most_degc = models.DecimalField(
        "label: hottest", max_digits=5, decimal_places=1, null=True, blank=True
    )
    label_ph_at_most = models.DecimalField(
        "label: highest pH", max_digits=4, decimal_places=2, null=True, blank=True
    )
    label_hardness_at_most_mg_per_l = _strength("label: hardest water")
    strip_blocks = models.JSONField(
        "blocks of the test strip's chart, mg/l", default=list, blank=True
    )
    needs_rinse = models.BooleanField("label asks for a rinse after it", null=True, blank=True)
    is_listed = models.BooleanField("on the list", default=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("venue", "name"),
                name="chemical_name_once_per_venue",
                violation_error_message="There is already a chemical of this name.",
            ),
            models.CheckConstraint(
                name="chemical_label_range_is_in_order",
                condition=Q(label_at_least_mg_per_l=None)
                | Q(label_at_most_mg_per_l=None)
                | Q(label_at_most_mg_per_l__gte=F("label_at_least_mg_per_l")),
                violation_error_message="The strongest in use is not below the weakest.",
            ),
            models.CheckConstraint(
                name="sanitiser_says_what_sanitises",
                condition=~Q(chemistry=Chemistry.SANITISER.value) | ~Q(active=""),
                violation_error_message="Choose what sanitises in it, as the label says.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def stock_words(self) -> str:
        """Return the strength of the concentrate as a page writes it; empty is not recorded."""
        return strength_words(self.stock_mg_per_l)

    @property
    def in_use_words(self) -> str:
        """Return the label's strength in use as a page writes it; empty is not recorded."""
        return strength_words(self.label_at_least_mg_per_l, self.label_at_most_mg_per_l)


class ChemicalBatch(Recorded):
    """One batch of a product. Without an expiry it is 'not on record', unless it has none."""

    chemical = models.ForeignKey(Chemical, models.PROTECT, related_name="batches")
    batch = models.CharField(max_length=60)
    expires_on = models.DateField(null=True, blank=True)
    does_not_expire = models.BooleanField("the label gives no expiry", default=False)
    is_finished = models.BooleanField("used up", default=False)

    class Meta:
        ordering = ("chemical__name", "-pk")
        verbose_name = "batch of a chemical"
        constraints = (
            models.UniqueConstraint(
                fields=("chemical", "batch"),
                name="chemical_batch_once",
                violation_error_message="This batch is on the list already.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.chemical} (batch {self.batch})"

    def facts(self) -> ChemicalFacts:
        """Return what the label and the batch say, as the rules read it."""
        chemical = self.chemical
        contact = chemical.label_contact_s
        return ChemicalFacts(
            name=chemical.name,
            chemistry=Chemistry(chemical.chemistry),
            active=Active(chemical.active) if chemical.active else None,
            is_listed=chemical.is_listed,
            batch=self.batch,
            expires_on=self.expires_on,
            does_not_expire=self.does_not_expire,
            label_at_least_mg_per_l=chemical.label_at_least_mg_per_l,
            label_at_most_mg_per_l=chemical.label_at_most_mg_per_l,
            label_contact_s=None if contact is None else Decimal(contact),
            label_at_least_degc=chemical.label_at_least_degc,
            label_at_most_degc=chemical.label_at_most_degc,
            label_ph_at_most=chemical.label_ph_at_most,
            label_hardness_at_most_mg_per_l=chemical.label_hardness_at_most_mg_per_l,
            needs_rinse=chemical.needs_rinse,
        )
