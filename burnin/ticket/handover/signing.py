"""Checksums, their signature, and whether a folder is still as it left.

A record's ``checksums.sha256`` lists every file; ``signature.json`` holds an ed25519 signature
(RFC 8032) over the bytes of that list.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.meaning import Note, Reason
from burnin.record.reader import read_record
from burnin.record.sums import RUN_FILE
from burnin.ticket.handover.meanings import HandoverReason, SignedNote, SigningReason
from burnin.ticket.handover.records_judged import why_not_sound
from burnin.ticket.shop.shop_key import key_fingerprint, known_key, public_bytes, shop_key

CHECKSUMS, SIGNATURE = "checksums.sha256", "signature.json"
NOT_LISTED = (CHECKSUMS, SIGNATURE)


def sign_record(folder: Path, shop: Path | None = None) -> Path:
    """Sign a folder's checksums with the shop's key; raises BadInput where there are none.

    A record is judged first: nobody vouches for one that was edited, or whose verdict does not
    follow from its values.
    """
    if (folder / RUN_FILE).exists():
        why = why_not_sound(read_record(folder), older=True)
        if why is not None:
            (folder / SIGNATURE).unlink(missing_ok=True)
            raise BadInput(HandoverReason.NOT_SIGNED(folder=str(folder), why=why))
    try:
        listed = (folder / CHECKSUMS).read_bytes()
    except OSError as error:
        raise BadInput(f"{folder}: has no {CHECKSUMS} to sign: {error.strerror}") from error
    key = shop_key(shop)
    target = folder / SIGNATURE
    passing = target.with_name(f".{SIGNATURE}.part")
    passing.write_text(_signature_text(public_bytes(key), key.sign(listed)), encoding="utf-8")
    passing.replace(target)
    return target


@dataclass(frozen=True)
class Verification:
    """Whether a folder or sheet is as it left; `faults` names every difference."""

    path: Path
    faults: tuple[Reason, ...]
    told: tuple[Note, ...]

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
    signed, told = _check_signature(folder, listed, known_key(shop, public_key))
    differing = list(_check_files(folder, listed))
    if path.is_file():
        differing = _of_file(path, listed, differing)
    return Verification(path, (*signed, *differing), told)


def _of_file(path: Path, listed: bytes, differing: list[Reason]) -> list[Reason]:
    """What of the differences is about one file; raises BadInput for the list itself."""
    name = path.name
    if name in NOT_LISTED:
        raise BadInput(f"{path}: give the folder, a record's file or a sheet")
    own = [reason for reason in differing if reason["file"] == name]
    return own or ([] if _lists(listed, name) else [SigningReason.FILE_NOT_LISTED(file=name)])


def _lists(listed: bytes, name: str) -> bool:
    return any(line.endswith(b"  " + name.encode()) for line in listed.splitlines())


def _check_files(folder: Path, listed: bytes) -> Iterator[Reason]:
    names = set()
    for number, line in enumerate(listed.decode("utf-8", "replace").splitlines(), start=1):
        digest, gap, name = line.partition("  ")
        if not gap or len(digest) != 64 or ".." in Path(name).parts or Path(name).is_absolute():
            yield SigningReason.LINE_CHANGED(file=CHECKSUMS, line=number)
            continue
        names.add(name)
        try:
            found = hashlib.sha256((folder / name).read_bytes()).hexdigest()
        except (OSError, ValueError):
            yield SigningReason.FILE_MISSING(file=name)
            continue
        if found != digest:
            yield SigningReason.FILE_CHANGED(file=name)
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        name = path.relative_to(folder).as_posix()
        if name not in names and name not in NOT_LISTED:
            yield SigningReason.FILE_ADDED(file=name)


def _check_signature(
    folder: Path, listed: bytes, known: bytes | None
) -> tuple[tuple[Reason, ...], tuple[Note, ...]]:
    """What is wrong with the signature, and by whom it is."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    path = folder / SIGNATURE
    if not path.is_file():
        return (SigningReason.NO_SIGNATURE(file=SIGNATURE),), ()
    raw = path.read_bytes()
    try:
        content = json.loads(raw)
        public = base64.b64decode(content["public_key"], validate=True)
        signature = base64.b64decode(content["signature"], validate=True)
        key = Ed25519PublicKey.from_public_bytes(public)
        key.verify(signature, listed)
    except InvalidSignature:
        return (SigningReason.LIST_CHANGED(file=CHECKSUMS),), ()
    except (ValueError, KeyError, TypeError) as error:
        told = type(error).__name__
        return (SigningReason.SIGNATURE_NOT_READ(file=SIGNATURE, error=told),), ()
    if raw != _signature_text(public, signature).encode():
        return (SigningReason.SIGNATURE_CHANGED(file=SIGNATURE),), ()
    fingerprint = key_fingerprint(public)
    if known is None:
        return (), (SignedNote.BY_UNKNOWN(key=fingerprint),)
    if known != public:
        return (SigningReason.OTHER_KEY(file=SIGNATURE, key=fingerprint),), ()
    return (), (SignedNote.BY_THIS_SHOP(key=fingerprint),)


def _signature_text(public: bytes, signature: bytes) -> str:
    """``signature.json``, byte for byte."""
    content = {
        "what": f"ed25519 over the bytes of {CHECKSUMS}",
        "public_key": base64.b64encode(public).decode(),
        "signature": base64.b64encode(signature).decode(),
    }
    return json.dumps(content, indent=1) + "\n"
