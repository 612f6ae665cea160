"""What the room of the inspection keeps: packs, the work of making them, certificates, HACCP."""

from kegsafe.inspection.models.haccp import HaccpStep
from kegsafe.inspection.models.links import InspectorLink, LinkOpening
from kegsafe.inspection.models.pack import InspectionPack, PackWork, PaperSize
from kegsafe.inspection.models.signing import SigningCertificate

__all__ = [
    "HaccpStep",
    "InspectionPack",
    "InspectorLink",
    "LinkOpening",
    "PackWork",
    "PaperSize",
    "SigningCertificate",
]
