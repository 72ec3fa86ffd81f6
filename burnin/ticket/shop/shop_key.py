"""The shop's key: ed25519 (RFC 8032), made on first use and readable by its owner alone."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.errors import BadInput
from burnin.ticket.shop.shop_file import shop_folder

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

KEY_FILE, PUBLIC_FILE = "shop-key.pem", "shop-public.pem"


def shop_key(folder: Path | None = None) -> Ed25519PrivateKey:
    """The shop's private key, made on first use; raises BadInput where others may read it."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    place = folder or shop_folder()
    path = place / KEY_FILE
    if not path.exists():
        _make_key(place)
    if path.stat().st_mode & 0o077:
        raise BadInput(f"{path}: others may read the shop's key; `chmod 600 {path}` mends that")
    try:
        key = load_pem_private_key(path.read_bytes(), password=None)
    except (OSError, ValueError) as error:
        raise BadInput(f"{path}: is not a private key: {error}") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise BadInput(f"{path}: is not an ed25519 key")
    return key


def _make_key(place: Path) -> None:
    """Write a fresh key; where two people do so at once, the first one's stands."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        NoEncryption,
        PrivateFormat,
        PublicFormat,
    )

    place.mkdir(parents=True, exist_ok=True)
    key = Ed25519PrivateKey.generate()
    passing = place / f".{KEY_FILE}.{os.getpid()}"
    handle = os.open(passing, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        pem = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
        os.write(handle, pem)
        os.fsync(handle)
    finally:
        os.close(handle)
    try:
        os.link(passing, place / KEY_FILE)
        public = key.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
        (place / PUBLIC_FILE).write_bytes(public)
    except FileExistsError:
        pass
    finally:
        passing.unlink()


def public_bytes(key: Ed25519PrivateKey) -> bytes:
    """The 32 bytes of the public key."""
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    return key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)


def key_fingerprint(public: bytes) -> str:
    """A public key's fingerprint: the first 16 hexadecimal digits of its SHA-256."""
    return hashlib.sha256(public).hexdigest()[:16]


def known_key(shop: Path | None, public_key: Path | None) -> bytes | None:
    """The public key that a signature must be of; None where this bench knows none.

    `public_key` names a PEM file to take in place of the shop's own. Raises BadInput.
    """
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
    from cryptography.hazmat.primitives.serialization import load_pem_public_key

    if public_key is None:
        own = (shop or shop_folder()) / KEY_FILE
        return public_bytes(shop_key(shop)) if own.is_file() else None
    try:
        key = load_pem_public_key(public_key.read_bytes())
    except (OSError, ValueError) as error:
        raise BadInput(f"{public_key}: is not a public key: {error}") from error
    if not isinstance(key, Ed25519PublicKey):
        raise BadInput(f"{public_key}: is not an ed25519 key")
    return key.public_bytes_raw()
