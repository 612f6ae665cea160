"""Safety data sheets of the chemicals, kept as files."""

from django.db import models

from kegsafe.frame.documents import KeptDocument
from kegsafe.ledger.models import Recorded


class DataSheet(KeptDocument, Recorded):
    """A safety data sheet of a product. The newest one counts; those before it stay."""

    chemical = models.ForeignKey("cleaning.Chemical", models.PROTECT, related_name="data_sheets")
    revised_on = models.DateField("date on the sheet", null=True, blank=True)

    class Meta:
        verbose_name = "safety data sheet"
        ordering = ("-sent_at", "-pk")
