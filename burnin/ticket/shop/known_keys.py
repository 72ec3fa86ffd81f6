"""Which keys are the shop's, and from when until when: a key that was rotated stays good for what
it signed in its time.

``shop-keys.json`` beside the key lists every key that the shop had, oldest first. It holds public
keys only: it may be given away, and `--key` takes it as it takes a PEM file.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from burnin.core.clock import iso
from burnin.core.errors import BadInput
from burnin.core.files.bounded import SMALL_BYTES, read_at_most
from burnin.record.durable import write_json
from burnin.ticket.shop.meanings import ShopKeyReason
from burnin.ticket.shop.shop_file import shop_folder
from burnin.ticket.shop.shop_key import (
    KEY_FILE,
    NEXT_FILE,
    key_fingerprint,
    need_library,
    pem_of,
    public_bytes,
    shop_key,
    write_fresh_key,
    write_public,
)

HISTORY_FILE = "shop-keys.json"
_FORMAT = 1


@dataclass(frozen=True)
class KnownKey:
    """A public key of the shop's, and its time: UTC ISO-8601, empty where it is open."""

    public: bytes
    from_utc: str = ""
    until_utc: str = ""

    @property
    def fingerprint(self) -> str:
        """As the sheets and `burnin shop` name it."""
        return key_fingerprint(self.public)


def known_keys(
    shop: Path | None = None, given: Path | None = None
) -> tuple[KnownKey, ...]:
    """Keys of which a signature may be; none where this bench knows no shop's.

    `given` names a PEM file or a ``shop-keys.json`` to take in place of the shop's own. Raises
    BadInput.
    """
    need_library()
    if given is not None:
        return _given(given)
    place = shop or shop_folder()
    if not (place / KEY_FILE).is_file():
        return ()
    own = public_bytes(shop_key(shop))
    path = place / HISTORY_FILE
    found = _history(path) if path.exists() else ()
    return found if any(k.public == own for k in found) else (*found, KnownKey(own))


def key_of(keys: Iterable[KnownKey], public: bytes) -> KnownKey | None:
    """The known key with these bytes, None where it is a stranger's."""
    return next((key for key in keys if key.public == public), None)


def rotate(folder: Path | None, now: datetime) -> KnownKey:
    """Take a fresh key from now on; the former one stays known for what it signed until now.

    Its private part is given up: a key that signs no more is a danger only. A cut between two of
    the steps is mended by rotating again. Raises BadInput, OSError.
    """
    place = folder or shop_folder()
    former = public_bytes(shop_key(folder))
    moment = iso(now)
    listed = {k.public: k for k in known_keys(folder)}
    before = listed.pop(former)
    fresh_file = place / NEXT_FILE
    fresh_file.unlink(missing_ok=True)
    key = write_fresh_key(fresh_file)
    fresh = KnownKey(public_bytes(key), before.until_utc or moment)
    # An open key besides the former one is of a rotation that was cut short: nothing is of it.
    older = [k for k in listed.values() if k.until_utc]
    ended = KnownKey(before.public, before.from_utc, before.until_utc or moment)
    _write(place / HISTORY_FILE, (*older, ended, fresh))
    fresh_file.replace(place / KEY_FILE)
    write_public(place, key)
    return fresh


def _write(path: Path, keys: Iterable[KnownKey]) -> None:
    rows = [
        {
            "public_key": base64.b64encode(key.public).decode(),
            "from_utc": key.from_utc,
            "until_utc": key.until_utc,
        }
        for key in keys
    ]
    write_json(path, {"format": _FORMAT, "keys": rows})
    path.chmod(0o644)


def _history(path: Path) -> tuple[KnownKey, ...]:
    """The keys of a history; raises BadInput where it is not one."""
    try:
        content = json.loads(read_at_most(path, SMALL_BYTES))
        found = tuple(
            KnownKey(
                base64.b64decode(row["public_key"], validate=True),
                str(row["from_utc"]),
                str(row["until_utc"]),
            )
            for row in content["keys"]
        )
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        why = ShopKeyReason.HISTORY_NOT_WHOLE(file=str(path), error=type(error).__name__)
        raise BadInput(why) from error
    if any(len(key.public) != 32 for key in found):
        raise BadInput(ShopKeyReason.HISTORY_NOT_WHOLE(file=str(path), error="public_key"))
    return found


def _given(path: Path) -> tuple[KnownKey, ...]:
    from cryptography.exceptions import InternalError, UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
    from cryptography.hazmat.primitives.serialization import load_pem_public_key

    raw = pem_of(path, ShopKeyReason.NOT_PUBLIC)
    if raw.lstrip().startswith(b"{"):
        return _history(path)
    try:
        key = load_pem_public_key(raw)
    except (ValueError, UnsupportedAlgorithm, InternalError) as error:
        why = ShopKeyReason.NOT_PUBLIC(file=str(path), error=type(error).__name__)
        raise BadInput(why) from error
    if not isinstance(key, Ed25519PublicKey):
        raise BadInput(ShopKeyReason.OTHER_KIND(file=str(path)))
    return (KnownKey(key.public_bytes_raw()),)


