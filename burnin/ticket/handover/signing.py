"""Checksums, the shop's key, and whether a folder is still as it left.

A record's ``checksums.sha256`` lists every file; ``signature.json`` holds an ed25519 signature
(RFC 8032) over the bytes of that list. The private key is made on first use and readable by its
owner alone.
"""

from __future__ import annotations

import base64
import hashlib
import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.errors import BadInput
from burnin.ticket.shop import shop_folder

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

CHECKSUMS, SIGNATURE = "checksums.sha256", "signature.json"
KEY_FILE, PUBLIC_FILE = "shop-key.pem", "shop-public.pem"
NOT_LISTED = (CHECKSUMS, SIGNATURE)


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


def list_files(folder: Path) -> Path:
    """Write ``checksums.sha256`` over every file of a folder, in the format of sha256sum."""
    lines = []
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        name = path.relative_to(folder).as_posix()
        if name not in NOT_LISTED and not name.endswith(".new"):
            lines.append(f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {name}\n")
    target = folder / CHECKSUMS
    target.write_text("".join(lines), encoding="utf-8")
    return target


def sign_record(folder: Path, shop: Path | None = None) -> Path:
    """Sign a folder's checksums with the shop's key; raises BadInput where there are none."""
    try:
        listed = (folder / CHECKSUMS).read_bytes()
    except OSError as error:
        raise BadInput(f"{folder}: has no {CHECKSUMS} to sign: {error.strerror}") from error
    key = shop_key(shop)
    content = {
        "what": f"ed25519 over the bytes of {CHECKSUMS}",
        "public_key": base64.b64encode(public_bytes(key)).decode(),
        "signature": base64.b64encode(key.sign(listed)).decode(),
    }
    target = folder / SIGNATURE
    passing = target.with_name(f".{SIGNATURE}.part")
    passing.write_text(json.dumps(content, indent=1) + "\n", encoding="utf-8")
    passing.replace(target)
    return target


def fingerprint_of(folder: Path) -> str:
    """First 16 hexadecimal digits of the SHA-256 of a folder's checksums, as a sheet prints it."""
    return hashlib.sha256((folder / CHECKSUMS).read_bytes()).hexdigest()[:16]


@dataclass(frozen=True)
class Verification:
    """Whether a folder or sheet is as it left; `faults` names every difference."""

    path: Path
    faults: tuple[str, ...]
    told: tuple[str, ...]

    @property
    def good(self) -> bool:
        """Nothing differs, and the signature is this shop's."""
        return not self.faults


def verify(
    path: Path, shop: Path | None = None, *, public_key: Path | None = None
) -> Verification:
    """Check a folder, or a sheet that lies in one; raises BadInput where there is nothing to check.

    A folder passes where every listed file has its checksum, no file is surplus, and the list is
    signed by this shop's key, or by that of `public_key` (PEM).
    """
    folder = path if path.is_dir() else path.parent
    if not path.exists():
        raise BadInput(f"{path}: is not there")
    if not (folder / CHECKSUMS).is_file():
        raise BadInput(
            f"{folder}: has no {CHECKSUMS}, so nobody can say whether it is as it left; give the"
            " record's own folder, or put the sheet back into it"
        )
    listed = (folder / CHECKSUMS).read_bytes()
    signed, told = _check_signature(folder, listed, _known_key(shop, public_key))
    differing = _check_files(folder, listed)
    if path.is_file():
        name = path.name
        if name in NOT_LISTED:
            raise BadInput(f"{path}: give the folder, a record's file or a sheet")
        differing = [d for d in differing if d.startswith(f"{name}:")] or (
            [] if _lists(listed, name) else [f"{name}: is no part of this folder's list"]
        )
    return Verification(path, (*signed, *differing), told)


def _lists(listed: bytes, name: str) -> bool:
    return any(line.endswith(b"  " + name.encode()) for line in listed.splitlines())


def _check_files(folder: Path, listed: bytes) -> list[str]:
    faults = []
    names = set()
    for number, line in enumerate(listed.decode("utf-8", "replace").splitlines(), start=1):
        digest, gap, name = line.partition("  ")
        if not gap or len(digest) != 64 or ".." in Path(name).parts or Path(name).is_absolute():
            faults.append(f"{CHECKSUMS}: line {number} is not as it was written")
            continue
        names.add(name)
        try:
            found = hashlib.sha256((folder / name).read_bytes()).hexdigest()
        except (OSError, ValueError):
            faults.append(f"{name}: is missing")
            continue
        if found != digest:
            faults.append(f"{name}: was changed")
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        name = path.relative_to(folder).as_posix()
        if name not in names and name not in NOT_LISTED:
            faults.append(f"{name}: was added")
    return faults


def _known_key(shop: Path | None, public_key: Path | None) -> bytes | None:
    """The public key that a signature must be of; None where this bench knows none."""
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


def _check_signature(
    folder: Path, listed: bytes, known: bytes | None
) -> tuple[list[str], tuple[str, ...]]:
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    path = folder / SIGNATURE
    if not path.is_file():
        return [f"{SIGNATURE}: is missing: nobody vouches for the checksums"], ()
    raw = path.read_bytes()
    try:
        content = json.loads(raw)
        public = base64.b64decode(content["public_key"], validate=True)
        signature = base64.b64decode(content["signature"], validate=True)
        key = Ed25519PublicKey.from_public_bytes(public)
        key.verify(signature, listed)
    except InvalidSignature:
        return [f"{CHECKSUMS}: the list of checksums or its signature was changed"], ()
    except (ValueError, KeyError, TypeError) as error:
        return [f"{SIGNATURE}: was changed: {type(error).__name__}"], ()
    expected = {
        "what": f"ed25519 over the bytes of {CHECKSUMS}",
        "public_key": base64.b64encode(public).decode(),
        "signature": base64.b64encode(signature).decode(),
    }
    if raw != (json.dumps(expected, indent=1) + "\n").encode():
        return [f"{SIGNATURE}: was changed"], ()
    told = f"signed with key {key_fingerprint(public)}"
    if known is None:
        return [], (f"{told}; this bench knows no shop's key to compare it with, see --key",)
    if known != public:
        return [f"{SIGNATURE}: {told}, which is not this shop's"], ()
    return [], (f"{told}, this shop's",)
