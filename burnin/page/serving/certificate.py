"""The page's own certificate (RFC 5280): one an address, signed by itself, kept until it runs out.

No authority vouches for it: whoever opens the page compares the fingerprint that the terminal shows
with that of the browser. Browsers take certificates of at most 398 days (common practice).
"""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address, IPv6Address
from pathlib import Path

from burnin.page.serving.key_file import private_bytes, write_private

_DAYS = 397
_RENEWED_BEFORE = timedelta(days=30)
Address = IPv4Address | IPv6Address


def certificate_file(folder: Path, address: Address) -> Path:
    """PEM file with key and certificate for an address, made where none is there or fits.

    Raises BadInput where other accounts could read it, OSError where it cannot be kept.
    """
    path = folder / f"certificate-{str(address).replace(':', '-')}.pem"
    now = datetime.now(UTC)
    if path.exists() or path.is_symlink():
        if _fits(private_bytes(path), now):
            return path
        path.unlink()
    write_private(path, _made(address, now))
    return path


def fingerprint(path: Path) -> str:
    """SHA-256 of the certificate as browsers show it: pairs of digits."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    found = x509.load_pem_x509_certificate(_certificate_part(path.read_bytes()))
    digest = hashlib.sha256(found.public_bytes(Encoding.DER)).hexdigest().upper()
    return ":".join(digest[at : at + 2] for at in range(0, len(digest), 2))


def _certificate_part(raw: bytes) -> bytes:
    return raw[max(0, raw.find(b"-----BEGIN CERTIFICATE-----")) :]


def _fits(raw: bytes, now: datetime) -> bool:
    from cryptography import x509

    try:
        found = x509.load_pem_x509_certificate(_certificate_part(raw))
    except ValueError:
        return False
    begins, ends = found.not_valid_before_utc, found.not_valid_after_utc
    return begins <= now and now + _RENEWED_BEFORE < ends


def _made(address: Address, now: datetime) -> bytes:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        NoEncryption,
        PrivateFormat,
    )
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"burnin page at {address}")])
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=_DAYS - 1))
        .add_extension(x509.SubjectAlternativeName([x509.IPAddress(address)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(key, SHA256())
    )
    private = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    return private + made.public_bytes(Encoding.PEM)
