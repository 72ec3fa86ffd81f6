"""The shop's key: ed25519 (RFC 8032), made on first use and readable by its owner alone."""

from __future__ import annotations

import hashlib
import os
import stat
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.errors import BadInput
from burnin.core.files.bounded import SMALL_BYTES, read_at_most
from burnin.core.files.own_process import own_uid
from burnin.core.files.private_files import private_folder
from burnin.ticket.shop.meanings import ShopKeyReason
from burnin.ticket.shop.shop_file import shop_folder

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

KEY_FILE, PUBLIC_FILE = "shop-key.pem", "shop-public.pem"
NEXT_FILE = ".shop-key.pem.next"
"""A fresh key that is about to take the place of the former one."""
_END = b"-----END "


def need_library() -> None:
    """Raise BadInput where the package that signs and verifies is not installed."""
    try:
        import cryptography.hazmat.primitives.asymmetric.ed25519  # noqa: F401
    except ImportError as error:
        raise BadInput(ShopKeyReason.NO_LIBRARY()) from error


def shop_key(folder: Path | None = None) -> Ed25519PrivateKey:
    """The shop's private key, made on first use.

    Raises BadInput where others may read or replace it, and where it is empty, torn or of another
    kind; OSError where it cannot be written.
    """
    need_library()
    place = folder or shop_folder()
    path = place / KEY_FILE
    if not path.exists() and not path.is_symlink():
        _make_key(place)
    _check_modes(place, path)
    return private_key(path)


def private_key(path: Path) -> Ed25519PrivateKey:
    """The private key of a PEM file; raises BadInput for what is none."""
    from cryptography.exceptions import InternalError, UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    raw = pem_of(path, ShopKeyReason.NOT_PRIVATE)
    try:
        key = load_pem_private_key(raw, password=None)
    except TypeError as error:
        raise BadInput(ShopKeyReason.WITH_PASSWORD(file=str(path))) from error
    except (ValueError, UnsupportedAlgorithm, InternalError) as error:
        why = ShopKeyReason.NOT_PRIVATE(file=str(path), error=type(error).__name__)
        raise BadInput(why) from error
    if not isinstance(key, Ed25519PrivateKey):
        raise BadInput(ShopKeyReason.OTHER_KIND(file=str(path)))
    return key


def pem_of(path: Path, no_key: ShopKeyReason) -> bytes:
    """The bytes of a PEM file; raises BadInput where it cannot be read, is empty, or is torn.

    `no_key` is what is said of a file that cannot be read.
    """
    try:
        raw = read_at_most(path, SMALL_BYTES)
    except OSError as error:
        why = no_key(file=str(path), error=error.strerror or type(error).__name__)
        raise BadInput(why) from error
    if not raw.strip():
        raise BadInput(ShopKeyReason.EMPTY(file=str(path)))
    if raw.lstrip().startswith(b"-----BEGIN ") and _END not in raw:
        raise BadInput(ShopKeyReason.TORN(file=str(path)))
    return raw


def _check_modes(place: Path, path: Path) -> None:
    """Raise BadInput where somebody else could read the key or put one of theirs in its place."""
    there = path.stat()
    if there.st_mode & 0o077:
        mode = f"{stat.S_IMODE(there.st_mode):o}"
        raise BadInput(ShopKeyReason.OTHERS_MAY_READ(file=str(path), mode=mode))
    if there.st_uid not in (own_uid(), 0):
        raise BadInput(ShopKeyReason.NOT_OURS(file=str(path)))
    mode_of_folder = place.stat().st_mode
    if mode_of_folder & stat.S_IWOTH and not mode_of_folder & stat.S_ISVTX:
        mode = f"{stat.S_IMODE(mode_of_folder):o}"
        raise BadInput(ShopKeyReason.OTHERS_MAY_WRITE(folder=str(place), mode=mode))


def _make_key(place: Path) -> None:
    """Write a fresh key; where two people do so at once, the first one's stands."""
    private_folder(place)
    passing = place / f".{KEY_FILE}.{os.getpid()}"
    key = write_fresh_key(passing)
    try:
        os.link(passing, place / KEY_FILE)
        write_public(place, key)
    except FileExistsError:
        pass
    finally:
        passing.unlink()


def write_fresh_key(path: Path) -> Ed25519PrivateKey:
    """Make a key and write it, on disk when this returns; raises OSError."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    key = Ed25519PrivateKey.generate()
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        pem = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
        os.write(handle, pem)
        os.fsync(handle)
    finally:
        os.close(handle)
    return key


def write_public(place: Path, key: Ed25519PrivateKey) -> None:
    """Write the public key beside the private one, for whoever verifies elsewhere."""
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    public = key.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    (place / PUBLIC_FILE).write_bytes(public)
    (place / PUBLIC_FILE).chmod(0o644)


def public_bytes(key: Ed25519PrivateKey) -> bytes:
    """The 32 bytes of the public key."""
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    return key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)


def key_fingerprint(public: bytes) -> str:
    """A public key's fingerprint: the first 16 hexadecimal digits of its SHA-256."""
    return hashlib.sha256(public).hexdigest()[:16]
