"""Who gave a time stamp: its signature against a certificate that somebody trusts.

RFC 3161 (section 2.3: the key serves time stamps alone), RFC 5652 (section 5.4 to 5.6), RFC 5816.
"""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.errors import BadInput
from burnin.core.files.bounded import TEXT_BYTES, read_at_most
from burnin.core.meaning import Reason
from burnin.ticket.log.days_and_spans import moment_of
from burnin.ticket.stamp.der import OCTETS, SEQUENCE, Value
from burnin.ticket.stamp.meanings import StampReason
from burnin.ticket.stamp.token import (
    CONTENT_TYPE,
    HASHES,
    MESSAGE_DIGEST,
    SIGNING_CERTIFICATE,
    SIGNING_CERTIFICATE_2,
    TST_INFO,
    Stamp,
)

if TYPE_CHECKING:
    from cryptography.x509 import Certificate

_LONGEST_CHAIN = 5
_PSS = "1.2.840.113549.1.1.10"


def why_not_by(stamp: Stamp, file: str, given: Path) -> Reason | None:
    """Why a stamp is not signed by somebody whom a certificate (PEM) vouches for; None where it is.

    `given` holds the certificate of the service, or of whoever certified it. `file` is what the
    stamp is about. Raises BadInput for a file that holds no certificate.
    """
    from cryptography.exceptions import InternalError, InvalidSignature, UnsupportedAlgorithm
    from cryptography.x509 import DuplicateExtension, ExtensionNotFound, load_der_x509_certificate

    trusted = certificates_of(given)
    try:
        brought = [load_der_x509_certificate(raw) for raw in stamp.certificates]
        signer = next((c for c in (*trusted, *brought) if _is_signer(stamp, c)), None)
        if signer is None or not _leads_to(signer, brought, trusted, stamp.time_utc):
            return StampReason.OTHER_SERVICE(file=file)
        _check(stamp, signer)
    except InvalidSignature:
        return StampReason.NOT_SIGNED(file=file)
    except (ExtensionNotFound, DuplicateExtension):
        return StampReason.OTHER_SERVICE(file=file)
    except (ValueError, TypeError, LookupError, UnsupportedAlgorithm, InternalError) as error:
        return StampReason.NOT_READ(file=file, error=type(error).__name__)
    return None


def certificates_of(given: Path) -> tuple[Certificate, ...]:
    """The certificates of a PEM file; raises BadInput where there are none."""
    from cryptography.x509 import load_pem_x509_certificates

    try:
        return tuple(load_pem_x509_certificates(read_at_most(given, TEXT_BYTES)))
    except (OSError, ValueError) as error:
        told = type(error).__name__
        raise BadInput(StampReason.NO_CERTIFICATE(path=str(given), error=told)) from error


def _is_signer(stamp: Stamp, certificate: Certificate) -> bool:
    issuer, serial = stamp.signer
    return certificate.serial_number == serial and certificate.issuer.public_bytes() == issuer


def _leads_to(
    signer: Certificate,
    brought: list[Certificate],
    trusted: tuple[Certificate, ...],
    time_utc: str,
) -> bool:
    """Whether a certificate is trusted, or is certified by one that is; each valid at the time."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.x509 import BasicConstraints, ExtensionNotFound

    moment, at = moment_of(time_utc), signer
    for _ in range(_LONGEST_CHAIN):
        if not at.not_valid_before_utc <= moment <= at.not_valid_after_utc:
            return False
        if at in trusted:
            return True
        for above in (*trusted, *brought):
            try:
                at.verify_directly_issued_by(above)
                is_authority = above.extensions.get_extension_for_class(BasicConstraints).value.ca
            except (ValueError, TypeError, InvalidSignature, ExtensionNotFound):
                continue
            if is_authority and above != at:
                at = above
                break
        else:
            return False
    return False


def _check(stamp: Stamp, signer: Certificate) -> None:
    """Raise InvalidSignature or ValueError where the certificate's key did not sign the stamp."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec, ed25519, padding, rsa
    from cryptography.x509 import ExtendedKeyUsage
    from cryptography.x509.oid import ExtendedKeyUsageOID

    usage = signer.extensions.get_extension_for_class(ExtendedKeyUsage).value
    if list(usage) != [ExtendedKeyUsageOID.TIME_STAMPING]:
        raise InvalidSignature
    if stamp.attributes[CONTENT_TYPE].kind() != TST_INFO:
        raise InvalidSignature
    digest = hashlib.new(stamp.signature_hash, stamp.info).digest()
    if stamp.attributes[MESSAGE_DIGEST].of(OCTETS).content != digest:
        raise InvalidSignature
    if not _names(stamp.attributes, signer):
        raise InvalidSignature
    known = {"sha256": hashes.SHA256(), "sha384": hashes.SHA384(), "sha512": hashes.SHA512()}
    with_hash = known[stamp.signature_hash]
    key = signer.public_key()
    if isinstance(key, rsa.RSAPublicKey) and stamp.signature_kind != _PSS:
        key.verify(stamp.signature, stamp.signed, padding.PKCS1v15(), with_hash)
    elif isinstance(key, ec.EllipticCurvePublicKey):
        key.verify(stamp.signature, stamp.signed, ec.ECDSA(with_hash))
    elif isinstance(key, ed25519.Ed25519PublicKey):
        key.verify(stamp.signature, stamp.signed)
    else:
        raise ValueError(f"signature of kind {stamp.signature_kind}")


def _names(attributes: dict[str, Value], signer: Certificate) -> bool:
    """Whether the stamp names its certificate by its hash, as RFC 5816 asks."""
    from cryptography.hazmat.primitives.serialization import Encoding

    raw = signer.public_bytes(Encoding.DER)
    if SIGNING_CERTIFICATE_2 in attributes:
        first = attributes[SIGNING_CERTIFICATE_2].of(SEQUENCE).parts()[0].parts()[0].parts()
        named = "sha256"
        if first[0].tag == SEQUENCE:
            named = HASHES[first[0].parts()[0].kind()]
            first = first[1:]
        return first[0].of(OCTETS).content == hashlib.new(named, raw).digest()
    if SIGNING_CERTIFICATE not in attributes:
        return False
    first = attributes[SIGNING_CERTIFICATE].of(SEQUENCE).parts()[0].parts()[0].parts()
    return first[0].of(OCTETS).content == hashlib.sha1(raw, usedforsecurity=False).digest()
