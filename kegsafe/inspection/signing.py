"""Signing a pack: the PDF as it is, its evidence attached, and one signature over all of it."""

import io
from typing import Any, BinaryIO

from cryptography.hazmat.primitives import serialization

from kegsafe.inspection.evidence import EVIDENCE_FILE
from kegsafe.inspection.keys import Identity

FIELD = "kegsafe"


def sign(unsigned: BinaryIO, evidence: bytes, *, identity: Identity, title: str) -> io.BytesIO:
    """Return the PDF with its evidence attached and a certifying signature that allows no change.

    `unsigned` is read and not changed. Two signings of the same bytes differ, as the signature
    scheme (ECDSA) uses a random number each time. The time in it is this machine's own.

    Source: ISO 32000-1:2008, 12.8 (digital signatures), 12.8.2.2 (DocMDP, permission 1),
    7.11.4 (embedded files); ETSI EN 319 142-1 (PAdES baseline). [memory]
    """
    # Reading these takes a third of a second, which no other page should pay for.
    from pyhanko.pdf_utils import embed
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.sign import fields, signers
    from pyhanko.sign.signers.pdf_cms import SimpleSigner
    from pyhanko_certvalidator.registry import SimpleCertificateStore

    writer = IncrementalPdfFileWriter(unsigned)
    attached = embed.EmbeddedFileObject.from_file_data(
        writer, evidence, mime_type="application/json"
    )
    embed.embed_file(
        writer,
        embed.FileSpec(
            file_spec_string=EVIDENCE_FILE,
            embedded_data=attached,
            description="What the pages show, as entries of the ledger",
        ),
    )
    key, certificate = _for_the_library(identity)
    metadata = signers.PdfSignatureMetadata(
        field_name=FIELD,
        md_algorithm="sha256",
        subfilter=fields.SigSeedSubFilter.PADES,
        certify=True,
        docmdp_permissions=fields.MDPPerm.NO_CHANGES,
        reason=title,
    )
    signer = SimpleSigner(
        signing_cert=certificate, signing_key=key, cert_registry=SimpleCertificateStore()
    )
    signed = io.BytesIO()
    signers.sign_pdf(writer, metadata, signer=signer, output=signed)
    signed.seek(0)
    return signed


def _for_the_library(identity: Identity) -> tuple[Any, Any]:
    from asn1crypto import keys, x509

    der = identity.private_key.private_bytes(
        serialization.Encoding.DER,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    certificate = identity.certificate.public_bytes(serialization.Encoding.DER)
    return keys.PrivateKeyInfo.load(der), x509.Certificate.load(certificate)
