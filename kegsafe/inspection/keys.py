"""The key a venue signs its packs with: made here, kept beside the records, never in them.

The file holds the private key encrypted under the site's secret key, which comes from the
environment: a copy of the data folder alone signs nothing. The certificate is made by the venue
itself. It shows that a pack comes from the holder of this key; nobody vouches for who that is.
"""

import os
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.x509.oid import NameOID
from django.conf import settings
from django.db import transaction

from kegsafe.inspection.models import SigningCertificate
from kegsafe.ledger.services import Recorder, create, take_turn
from kegsafe.venues.models import Venue

# A pack is kept as long as the records it proves, and its certificate should not end before.
_LASTS = timedelta(days=30 * 365)
_ENDING = b"-----END CERTIFICATE-----\n"


class KeyUnreadable(Exception):
    """The venue's key file is there and does not open: the message says what to do."""


@dataclass(frozen=True, slots=True)
class Identity:
    """What signs: a private key, the certificate that goes with it, and its record."""

    private_key: ec.EllipticCurvePrivateKey
    certificate: x509.Certificate
    record: SigningCertificate


@transaction.atomic
def identity_of(venue: Venue, *, at: datetime, by: Recorder) -> Identity:
    """Return what a venue signs with; made on first use and whenever the key file is gone.

    Certificates of earlier keys stay on record, so that earlier packs still check.
    Raises KeyUnreadable when the file cannot be opened with the site's secret key.
    """
    take_turn(by)
    path = _path_of(venue)
    if not path.exists():
        _write_new(path, _new_key_file(venue, at))
    private_key, certificate = _read(path)
    return Identity(private_key, certificate, _on_record(venue, certificate, at, by))


def fingerprint_of(certificate: x509.Certificate) -> str:
    """Return the SHA-256 of the certificate, in lower-case hex."""
    return certificate.fingerprint(hashes.SHA256()).hex()


def _on_record(
    venue: Venue, certificate: x509.Certificate, at: datetime, by: Recorder
) -> SigningCertificate:
    fingerprint = fingerprint_of(certificate)
    kept = SigningCertificate.objects.filter(venue=venue, fingerprint=fingerprint).first()
    if kept is not None:
        return kept
    pem = certificate.public_bytes(serialization.Encoding.PEM).decode("ascii")
    record = SigningCertificate(venue=venue, pem=pem, fingerprint=fingerprint, made_at=at)
    record.full_clean()
    create(record, by=by, action="signing key made")
    return record


def _path_of(venue: Venue) -> Path:
    return settings.DATA_DIR / "keys" / f"{venue.chain_id}.pem"


def _new_key_file(venue: Venue, at: datetime) -> bytes:
    private_key = ec.generate_private_key(ec.SECP256R1())
    pem = private_key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.BestAvailableEncryption(_passphrase(settings.SECRET_KEY)),
    )
    certificate = _self_made(private_key, venue, at)
    return certificate.public_bytes(serialization.Encoding.PEM) + pem


def _self_made(
    private_key: ec.EllipticCurvePrivateKey, venue: Venue, at: datetime
) -> x509.Certificate:
    # The chain's key and not the venue's name, which may be long and may change.
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"kegsafe venue {venue.chain_id}")])
    usage = x509.KeyUsage(
        digital_signature=True,
        content_commitment=True,
        **dict.fromkeys(
            (
                "key_encipherment",
                "data_encipherment",
                "key_agreement",
                "key_cert_sign",
                "crl_sign",
                "encipher_only",
                "decipher_only",
            ),
            False,
        ),
    )
    builder = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(private_key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(at - timedelta(days=1))
        .not_valid_after(at + _LASTS)
        .add_extension(usage, critical=True)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
    )
    return builder.sign(private_key, hashes.SHA256())


def _read(path: Path) -> tuple[ec.EllipticCurvePrivateKey, x509.Certificate]:
    head, ending, pem = path.read_bytes().partition(_ENDING)
    try:
        certificate = x509.load_pem_x509_certificate(head + ending)
    except ValueError as error:
        raise KeyUnreadable(_WHAT_TO_DO) from error
    for secret in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS):
        try:
            return serialization.load_pem_private_key(pem, _passphrase(secret)), certificate
        except ValueError:
            continue
    raise KeyUnreadable(_WHAT_TO_DO)


_WHAT_TO_DO = (
    "The key this venue signs with does not open. Was KEGSAFE_SECRET_KEY changed? Set it back, or "
    "move the venue's file out of the folder keys of the data folder: the next pack then makes a "
    "new key, and the packs signed so far still check."
)


def _passphrase(secret: str) -> bytes:
    derive = HKDF(algorithm=hashes.SHA256(), length=32, salt=None, info=b"kegsafe signing key")
    return derive.derive(secret.encode()).hex().encode("ascii")


def _write_new(path: Path, content: bytes) -> None:
    """Write whole or not at all: a key cut short by a crash would lock the venue out."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    beside = path.with_suffix(".new")
    handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)
