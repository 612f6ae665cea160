"""Is this pack as it was made, and does what it shows still stand in the ledger?"""

import io
import logging
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from hashlib import sha256
from typing import Any

from kegsafe.inspection.evidence import EVIDENCE_FILE, Evidence, Following, compare
from kegsafe.inspection.models import InspectionPack, SigningCertificate


class Finding(StrEnum):
    """What looking at a file found."""

    UNALTERED = "unaltered"
    ALTERED = "altered"
    UNSIGNED = "not signed"
    UNKNOWN_SIGNER = "signed by a key this site does not know"
    NOT_A_PDF = "not a PDF"
    NOT_AS_MADE = "no pack as it was made here"


@dataclass(frozen=True, slots=True)
class PackCheck:
    """What a check found. Evidence is there only where the file is unaltered."""

    finding: Finding
    because: str
    fingerprint: str = ""
    signed_at: datetime | None = None
    evidence: Evidence | None = None
    following: Following | None = None

    @property
    def is_in_order(self) -> bool:
        """Return whether the file is unaltered and what it shows follows from the chain."""
        return self.following is not None and self.following.follows


def check_pack(content: bytes, *, look_inside: bool = False) -> PackCheck:
    """Look at a file from anywhere; never raises for what is in it.

    A pack in order is byte for byte a file that was kept when it was made, carries one signature
    over the whole of it by a key of its venue, and its evidence stands in the chain. Comparing
    the kept digest first holds the bytes that a signature leaves out (its own place in the file,
    ISO 32000-1:2008, 12.8.1) and keeps a stranger's file, made to unpack to gigabytes, unread.
    `look_inside` reads such a file all the same, to say what became of it.
    """
    digest = sha256(content).hexdigest()
    kept = InspectionPack.objects.filter(sha256=digest).select_related("venue").first()
    if kept is None:
        return _not_as_made(content) if look_inside else _NOT_AS_MADE
    try:
        signature = _signature_of(content)
        evidence = Evidence.from_bytes(signature.attached())
    except Exception:
        return PackCheck(Finding.ALTERED, "The kept file itself cannot be read any more.")
    known = SigningCertificate.objects.filter(
        venue=kept.venue, fingerprint=signature.fingerprint
    ).exists()
    if not (known and signature.is_whole and evidence.chain == kept.venue.chain_id):
        return PackCheck(Finding.ALTERED, "The kept file does not fit the venue's key and chain.")
    return PackCheck(
        Finding.UNALTERED,
        "Byte for byte the file that was made, with the signature of the venue's key.",
        fingerprint=signature.fingerprint,
        signed_at=signature.signed_at,
        evidence=evidence,
        following=compare(evidence),
    )


_NOT_AS_MADE = PackCheck(
    Finding.NOT_AS_MADE,
    "No pack that was made here has exactly these bytes. It was changed after it was made, or "
    "it was made elsewhere.",
)


def _not_as_made(content: bytes) -> PackCheck:
    """Say what a file is that was not kept here as it is."""
    if b"%PDF-" not in content[:1024]:
        return PackCheck(Finding.NOT_A_PDF, "This file is no PDF.")
    try:
        signature = _signature_of(content)
    except _Unsigned:
        return PackCheck(Finding.UNSIGNED, "This PDF carries no signature.")
    except Exception:
        # Whatever a damaged file makes the library raise: it is not as it was made.
        return PackCheck(Finding.ALTERED, "The file or its signature is damaged.")
    if not signature.is_whole:
        return PackCheck(
            Finding.ALTERED,
            "The file does not fit its signature: bytes were changed or added after signing.",
            fingerprint=signature.fingerprint,
        )
    if SigningCertificate.objects.filter(fingerprint=signature.fingerprint).exists():
        return PackCheck(
            Finding.ALTERED,
            "The signed bytes are whole, but no pack was kept that has exactly these bytes: "
            "something outside the signature was changed.",
            fingerprint=signature.fingerprint,
        )
    return PackCheck(
        Finding.UNKNOWN_SIGNER,
        "The file fits its signature, but the key is of no venue here. Ask whoever made it.",
        fingerprint=signature.fingerprint,
    )


class _Unsigned(Exception):
    """A PDF without a signature."""


@dataclass(frozen=True, slots=True)
class _Signature:
    is_whole: bool
    fingerprint: str
    signed_at: datetime | None
    reader: Any

    def attached(self) -> bytes:
        names = self.reader.root["/Names"]["/EmbeddedFiles"]["/Names"]
        files = {str(names[at]): names[at + 1] for at in range(0, len(names), 2)}
        data: bytes = files[EVIDENCE_FILE]["/EF"]["/F"].data
        return data


def _signature_of(content: bytes) -> _Signature:
    # Reading these takes a third of a second, which no other page should pay for.
    from pyhanko.pdf_utils.reader import PdfFileReader
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko.sign.validation.status import SignatureCoverageLevel
    from pyhanko_certvalidator import ValidationContext

    # What a damaged file makes the library complain of is said in the answer, not in the log.
    for library in ("pyhanko", "pyhanko_certvalidator"):
        logging.getLogger(library).setLevel(logging.CRITICAL)
    reader = PdfFileReader(io.BytesIO(content))
    signatures = reader.embedded_signatures
    if not signatures:
        raise _Unsigned
    certificate = signatures[0].signer_cert
    # Nobody vouches for a venue's own certificate: it is trusted by its fingerprint, or not.
    trust = ValidationContext(trust_roots=[certificate], allow_fetching=False)
    status = validate_pdf_signature(signatures[0], signer_validation_context=trust)
    return _Signature(
        is_whole=len(signatures) == 1
        and status.bottom_line
        and status.coverage == SignatureCoverageLevel.ENTIRE_FILE,
        fingerprint=certificate.sha256.hex(),
        signed_at=status.signer_reported_dt,
        reader=reader,
    )
