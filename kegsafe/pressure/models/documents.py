"""Photographs, certificates and reports, kept outside of everything a web server hands out."""

from django.db import models
from django.db.models import Q

from kegsafe.frame.documents import KeptDocument
from kegsafe.ledger.models import Recorded


class Document(KeptDocument, Recorded):
    """One file about one item, keg or room."""

    class Kind(models.TextChoices):
        PHOTOGRAPH = "photograph", "Photograph"
        CERTIFICATE = "certificate", "Certificate or declaration"
        REPORT = "report", "Report of an examination"
        SCHEME = "scheme", "Written scheme of examination"

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="pressure_documents")
    item = models.ForeignKey(
        "pressure.Item", models.PROTECT, null=True, blank=True, related_name="documents"
    )
    keg = models.ForeignKey(
        "equipment.Keg", models.PROTECT, null=True, blank=True, related_name="pressure_documents"
    )
    room = models.ForeignKey(
        "pressure.GasRoom", models.PROTECT, null=True, blank=True, related_name="documents"
    )
    kind = models.CharField(max_length=12, choices=Kind)

    class Meta:
        verbose_name = "document of pressure equipment"
        ordering = ("-sent_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(item__isnull=False, keg=None, room=None)
                | Q(item=None, keg__isnull=False, room=None)
                | Q(item=None, keg=None, room__isnull=False),
                name="document_is_about_one_thing",
            ),
        )


class CheckPhotograph(KeptDocument, Recorded):
    """A photograph of what was seen at one check: it stays with that check, not with the item."""

    of_check = models.ForeignKey("pressure.Check", models.PROTECT, related_name="photographs")

    class Meta:
        verbose_name = "photograph of a check"
        ordering = ("sent_at", "pk")
