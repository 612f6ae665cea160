from kegsafe.inspection.models.signing import SigningCertificate

__all__ = ["SigningCertificate"]
