"""The certificates a venue has signed packs with."""

from django.db import models

from kegsafe.ledger.models import Recorded


class SigningCertificate(Recorded):
    """One certificate a venue made for itself. Its private key is no part of the records."""

    venue = models.ForeignKey("venues.Venue", models.PROTECT, related_name="signing_certificates")
    pem = models.TextField()
    fingerprint = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    class Meta:
        ordering = ("-made_at", "-pk")

    def __str__(self) -> str:
        return f"signing certificate {self.fingerprint[:16]}"
