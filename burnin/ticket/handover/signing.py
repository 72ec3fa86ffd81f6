"""Checksums, their signature, and whether a folder is still as it left.

A record's ``checksums.sha256`` lists every file; ``signature.json`` holds an ed25519 signature
(RFC 8032) over the bytes of that list.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.files.bounded import SMALL_BYTES, TEXT_BYTES, read_at_most
from burnin.core.files.disk import replace_whole
from burnin.core.meaning import Note, Reason
from burnin.core.system import cannot_read
from burnin.record.reader import read_record
from burnin.record.schema.folders import what_to_name
from burnin.record.sums import RUN_FILE
from burnin.ticket.handover.files_of_folder import added, listed_in, names_in, not_plain, sha256_of
from burnin.ticket.handover.meanings import HandoverReason, SignedNote, SigningReason
from burnin.ticket.handover.records_judged import why_not_as_it_ended, why_not_sound
from burnin.ticket.handover.refusals import HandoverRefusal
from burnin.ticket.handover.stamps_beside import is_stamp, stamps_in
from burnin.ticket.shop.known_keys import KnownKey, key_of, known_keys
from burnin.ticket.shop.shop_key import key_fingerprint, need_library, public_bytes, shop_key

FACTS = "handover.json"
CHECKSUMS, SIGNATURE = "checksums.sha256", "signature.json"
NOT_LISTED = (CHECKSUMS, SIGNATURE)


def sign_record(folder: Path, shop: Path | None = None) -> Path:
    """Sign a folder's checksums with the shop's key; raises BadInput where there are none.

    A record is judged first: nobody vouches for one that was edited, that is not the one its
    ticket's log saw at the end of the run, or whose verdict does not follow from its values.
    """
    if (folder / RUN_FILE).exists():
        why = why_not_sound(read_record(folder), older=True) or why_not_as_it_ended(folder)
        if why is not None:
            (folder / SIGNATURE).unlink(missing_ok=True)
            raise BadInput(HandoverReason.NOT_SIGNED(folder=str(folder), why=why))
    try:
        listed = read_at_most(folder / CHECKSUMS, TEXT_BYTES)
    except OSError as error:
        raise BadInput(cannot_read(folder / CHECKSUMS, error)) from error
    key = shop_key(shop)
    target = folder / SIGNATURE
    replace_whole(target, _signature_text(public_bytes(key), key.sign(listed)).encode("utf-8"))
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


@dataclass(frozen=True)
class Trusted:
    """What a signature or a stamp is held against: the shop's keys, who stamps the time.

    `keys`: none where the bench knows no shop's. `stamper`: certificate (PEM) of whoever stamps
    the time, or of who certified it; None where there is none.
    """

    keys: tuple[KnownKey, ...]
    stamper: Path | None = None


def verify(
    path: Path,
    shop: Path | None = None,
    *,
    public_key: Path | None = None,
    trusted: Trusted | None = None,
) -> Verification:
    """Check a folder, or a sheet that lies in one; raises BadInput where there is nothing to check.

    A folder passes where every listed file has its checksum and is a file of its own, nothing is
    surplus, and the list is signed by a key that was this shop's at the time, or by that of
    `public_key` (PEM, or the list of a shop's keys).
    """
    need_library()
    held = trusted or Trusted(known_keys(shop, public_key))
    folder = path if path.is_dir() else path.parent
    if not path.exists() and not path.is_symlink():
        raise BadInput(HandoverRefusal.NOT_THERE(path=str(path)))
    if not (folder / CHECKSUMS).is_file():
        if (folder / SIGNATURE).exists():
            return Verification(path, (SigningReason.FILE_MISSING(file=CHECKSUMS),), ())
        raise BadInput(
            HandoverRefusal.NO_SUMS(folder=str(folder), file=CHECKSUMS, name=what_to_name(folder))
        )
    try:
        listed = read_at_most(folder / CHECKSUMS, TEXT_BYTES)
    except OSError as error:
        raise BadInput(cannot_read(folder / CHECKSUMS, error)) from error
    signed, told = _check_signature(folder, listed, held.keys)
    stamped, notes = stamps_in(folder, held.stamper)
    differing = [*_check_files(folder, listed), *stamped]
    if not path.is_dir():
        differing = _of_file(path, listed, differing)
    own = [why for why in (not_plain(folder, name) for name in NOT_LISTED) if why is not None]
    return Verification(path, (*own, *signed, *differing), (*told, *notes))


def _of_file(path: Path, listed: bytes, differing: list[Reason]) -> list[Reason]:
    """What of the differences is about one file; raises BadInput for the list itself."""
    name = path.name
    if name in NOT_LISTED:
        raise BadInput(HandoverRefusal.GIVE_FOLDER(path=str(path)))
    own = [reason for reason in differing if reason["file"] == name]
    there = any(name == known for _, _, known in listed_in(listed))
    return own or ([] if there else [SigningReason.FILE_NOT_LISTED(file=name)])


def _check_files(folder: Path, listed: bytes) -> Iterator[Reason]:
    names = set()
    for number, digest, name in listed_in(listed):
        if not digest or name in names:
            yield SigningReason.LINE_CHANGED(file=CHECKSUMS, line=number)
            continue
        names.add(name)
        why = not_plain(folder, name)
        found = sha256_of(folder / name) if why is None else digest
        if why is not None:
            yield why
        elif found is None:
            yield SigningReason.FILE_MISSING(file=name)
        elif found != digest:
            yield SigningReason.FILE_CHANGED(file=name)
    for name in names_in(folder):
        if name not in names and name not in NOT_LISTED and not is_stamp(folder, name):
            yield added(folder, name)


def _check_signature(
    folder: Path, listed: bytes, keys: Sequence[KnownKey]
) -> tuple[tuple[Reason, ...], tuple[Note, ...]]:
    """What is wrong with the signature, and by whom it is."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    path = folder / SIGNATURE
    if not path.is_file():
        return (SigningReason.NO_SIGNATURE(file=SIGNATURE),), ()
    try:
        raw = read_at_most(path, SMALL_BYTES)
        content = json.loads(raw)
        public = base64.b64decode(content["public_key"], validate=True)
        signature = base64.b64decode(content["signature"], validate=True)
        key = Ed25519PublicKey.from_public_bytes(public)
        key.verify(signature, listed)
    except InvalidSignature:
        return (SigningReason.LIST_CHANGED(file=CHECKSUMS),), ()
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        told = type(error).__name__
        return (SigningReason.SIGNATURE_NOT_READ(file=SIGNATURE, error=told),), ()
    if raw != _signature_text(public, signature).encode():
        return (SigningReason.SIGNATURE_CHANGED(file=SIGNATURE),), ()
    fingerprint = key_fingerprint(public)
    if not keys:
        # Whose word it is was not found out: not measured is never a pass.
        return (SigningReason.KEY_NOT_KNOWN(key=fingerprint),), ()
    known = key_of(keys, public)
    if known is None:
        return (SigningReason.OTHER_KEY(file=SIGNATURE, key=fingerprint),), ()
    late = _out_of_time(folder, known)
    if late is not None:
        return (late,), ()
    if known.until_utc:
        until = known.until_utc
        return (), (SignedNote.BY_FORMER_KEY(key=fingerprint, until_utc=until),)
    return (), (SignedNote.BY_THIS_SHOP(key=fingerprint),)


def _out_of_time(folder: Path, key: KnownKey) -> Reason | None:
    """Why a key could not sign a folder when it was made; None where it could.

    A record's sheet may be made and signed anew later; a handover is signed once, when it is made.
    """
    made_utc = told_utc(folder / FACTS, "made_utc")
    moment = made_utc or told_utc(folder / RUN_FILE, "ended_utc")
    if key.until_utc and moment >= key.until_utc:
        return SigningReason.KEY_ENDED(file=SIGNATURE, key=key.fingerprint, until_utc=key.until_utc)
    if made_utc and made_utc < key.from_utc:
        return SigningReason.KEY_TOO_NEW(file=SIGNATURE, key=key.fingerprint, from_utc=key.from_utc)
    return None


def told_utc(path: Path, name: str) -> str:
    """A moment that a JSON file tells, empty where it tells none."""
    try:
        content = json.loads(read_at_most(path, 8 * TEXT_BYTES))
        found = content.get(name, "")
    except (OSError, ValueError, AttributeError, RecursionError):
        return ""
    return found if isinstance(found, str) else ""


def _signature_text(public: bytes, signature: bytes) -> str:
    """``signature.json``, byte for byte."""
    content = {
        "what": f"ed25519 over the bytes of {CHECKSUMS}",
        "public_key": base64.b64encode(public).decode(),
        "signature": base64.b64encode(signature).decode(),
    }
    return json.dumps(content, indent=1) + "\n"
