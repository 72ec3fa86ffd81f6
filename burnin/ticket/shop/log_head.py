"""Who vouches for a ticket's log: its last line, signed with the shop's key, in a file beside it.

Each line of the log vouches for those before it; whoever takes a line out can make all checks
anew, but not this signature. Lines that follow on the vouched one are good: a power cut may have
come between the line and its signature.
"""

from __future__ import annotations

import base64
import fcntl
import json
import os
import re
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.record.durable import write_json
from burnin.ticket.shop.meanings import LogHeadReason
from burnin.ticket.shop.shop_key import known_key, public_bytes, shop_key

FILE = "log-head.json"
_CHECK = re.compile(rb'"check": "([0-9a-f]{16})"\}$')


def can_vouch() -> bool:
    """Whether this bench has a key to sign with."""
    try:
        shop_key()
    except (BadInput, OSError, ImportError):
        return False
    return True


def vouch(log: Path) -> None:
    """Sign the log as it stands, with nobody writing meanwhile; without a key, nothing is done."""
    try:
        key = shop_key()
        handle = os.open(log, os.O_RDONLY)
    except (BadInput, OSError, ImportError):
        return
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        checks = _checks(log.read_bytes())
        if checks:
            told = _told(len(checks), checks[-1])
            content = {
                "lines": len(checks),
                "check": checks[-1],
                "public_key": base64.b64encode(public_bytes(key)).decode(),
                "signature": base64.b64encode(key.sign(told)).decode(),
            }
            write_json(log.with_name(FILE), content)
    except OSError:
        return
    finally:
        os.close(handle)


def why_not_vouched(log: Path) -> Reason | None:
    """Why a log is not as somebody vouched for it; None where it is."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        content = json.loads(log.with_name(FILE).read_bytes())
        lines, check = int(content["lines"]), str(content["check"])
        public = base64.b64decode(content["public_key"], validate=True)
        signature = base64.b64decode(content["signature"], validate=True)
        Ed25519PublicKey.from_public_bytes(public).verify(signature, _told(lines, check))
    except FileNotFoundError:
        return LogHeadReason.MISSING(file=FILE)
    except (OSError, ValueError, KeyError, TypeError, InvalidSignature):
        return LogHeadReason.CHANGED(file=FILE)
    known = known_key(None, None)
    if known is not None and known != public:
        return LogHeadReason.OTHER_KEY(file=FILE)
    checks = _checks(log.read_bytes())
    if lines < 1 or len(checks) < lines or checks[lines - 1] != check:
        return LogHeadReason.LOG_CHANGED(lines_count=lines)
    return None


def _checks(raw: bytes) -> list[str]:
    """The check of each whole line, in order."""
    found = (_CHECK.search(line) for line in raw.split(b"\n"))
    return [match[1].decode() for match in found if match]


def _told(lines: int, check: str) -> bytes:
    return f"ticket log, line {lines}, check {check}\n".encode()
