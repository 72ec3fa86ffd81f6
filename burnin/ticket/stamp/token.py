"""A time stamp as RFC 3161 lays it down: whose bytes it is about, and when it was given.

The token is signed data of RFC 5652 around a TSTInfo; a file holds the answer of the service
(TimeStampResp) or the token alone.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import UTC, datetime

from burnin.core.clock import iso
from burnin.ticket.stamp.der import (
    INTEGER,
    NAME_OF_KIND,
    OCTETS,
    SEQUENCE,
    SET,
    TAGGED_0,
    TAGGED_1,
    TIME,
    NotDer,
    Value,
    value_of,
)

SIGNED_DATA, TST_INFO = "1.2.840.113549.1.7.2", "1.2.840.113549.1.9.16.1.4"
CONTENT_TYPE, MESSAGE_DIGEST = "1.2.840.113549.1.9.3", "1.2.840.113549.1.9.4"
SIGNING_CERTIFICATE, SIGNING_CERTIFICATE_2 = (
    "1.2.840.113549.1.9.16.2.12",
    "1.2.840.113549.1.9.16.2.47",
)
"""Identifiers of RFC 5652 section 5 and 11, RFC 3161 section 2.4.2, RFC 2634, RFC 5035."""
HASHES = {
    "2.16.840.1.101.3.4.2.1": "sha256",
    "2.16.840.1.101.3.4.2.2": "sha384",
    "2.16.840.1.101.3.4.2.3": "sha512",
}
"""Hashes whose collisions nobody can make today (NIST CSOR); no other is taken."""
_GRANTED = (0, 1)


class NotGranted(NotDer):
    """The service answered, and gave no stamp."""


@dataclass(frozen=True)
class Stamp:
    """A stamp: the imprint of what it is about, and when it was given (UTC ISO-8601).

    `info` are the bytes that were signed for; `signed` those over which the signature is, which
    hold the digest of `info`. `signer` is issuer (DER) and serial number of its certificate.
    """

    hash: str
    imprint: bytes
    time_utc: str
    info: bytes
    attributes: dict[str, Value]
    signed: bytes
    signature: bytes
    signature_hash: str
    signature_kind: str
    signer: tuple[bytes, int]
    certificates: tuple[bytes, ...]

    def is_of(self, content: bytes) -> bool:
        """Whether these bytes were stamped."""
        return hashlib.new(self.hash, content).digest() == self.imprint


def read_stamp(raw: bytes) -> Stamp:
    """A stamp out of a file's bytes; raises NotDer for what is none, or of a kind not known."""
    try:
        return _stamp(_token(value_of(raw)))
    except (IndexError, ValueError, OverflowError) as error:
        if isinstance(error, NotDer):
            raise
        raise NotDer(str(error)) from error


def _token(whole: Value) -> Value:
    first, *rest = whole.of(SEQUENCE).parts()
    if first.tag == NAME_OF_KIND:
        return whole
    if first.of(SEQUENCE).parts()[0].number() not in _GRANTED:
        raise NotGranted("not granted")
    return rest[0].of(SEQUENCE)


def _stamp(token: Value) -> Stamp:
    kind, explicit = token.parts()
    if kind.kind() != SIGNED_DATA:
        raise NotDer("no signed data")
    _, _, inner, *rest = explicit.of(TAGGED_0).only().of(SEQUENCE).parts()
    inner_kind, inner_content = inner.of(SEQUENCE).parts()
    if inner_kind.kind() != TST_INFO:
        raise NotDer("no time stamp")
    info = inner_content.of(TAGGED_0).only().of(OCTETS).content
    certificates: tuple[bytes, ...] = ()
    if rest and rest[0].tag == TAGGED_0:
        certificates = tuple(c.whole for c in rest.pop(0).parts() if c.tag == SEQUENCE)
    if rest and rest[0].tag == TAGGED_1:
        rest.pop(0)
    # RFC 3161, section 2.4.2: the token has the signature of the service and no other.
    signer = rest[0].of(SET).only().of(SEQUENCE).parts()
    told = value_of(info).of(SEQUENCE).parts()
    imprint_of, imprint = told[2].of(SEQUENCE).parts()
    _, who, digest, attributes, signed_by, signature = signer[:6]
    issuer, serial = who.of(SEQUENCE).parts()
    named = attributes.of(TAGGED_0)
    return Stamp(
        hash=_hash(imprint_of),
        imprint=imprint.of(OCTETS).content,
        time_utc=_moment(told[4].of(TIME).content.decode("ascii")),
        info=info,
        attributes=dict(_attributes(named)),
        # RFC 5652, section 5.4: signed as a SET, whatever the place says.
        signed=bytes([SET]) + named.whole[1:],
        signature=signature.of(OCTETS).content,
        signature_hash=_hash(digest),
        signature_kind=signed_by.of(SEQUENCE).parts()[0].kind(),
        signer=(issuer.of(SEQUENCE).whole, serial.of(INTEGER).number()),
        certificates=certificates,
    )


def _attributes(named: Value) -> list[tuple[str, Value]]:
    found = []
    for attribute in named.parts():
        kind, values = attribute.of(SEQUENCE).parts()
        found.append((kind.kind(), values.of(SET).only()))
    if len({kind for kind, _ in found}) != len(found):
        raise NotDer("an attribute twice")
    return found


def _hash(algorithm: Value) -> str:
    kind = algorithm.of(SEQUENCE).parts()[0].kind()
    if kind not in HASHES:
        raise NotDer(f"hash {kind} is not taken")
    return HASHES[kind]


def _moment(text: str) -> str:
    """A GeneralizedTime as RFC 3161 narrows it: ``20260302091500.5Z``."""
    whole, _, part = text.removesuffix("Z").partition(".")
    moment = datetime.strptime(whole, "%Y%m%d%H%M%S").replace(tzinfo=UTC)
    if not text.endswith("Z") or (part and not part.isdecimal()):
        raise NotDer("no time in UTC")
    return iso(moment.replace(microsecond=int(part.ljust(6, "0")[:6]) if part else 0))
