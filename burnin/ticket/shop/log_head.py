"""Who vouches for a ticket's log: its last line, signed with the shop's key, in a file beside it.

Each line of the log vouches for those before it; whoever takes a line out can make all checks
anew, but not this signature. A line is vouched for before it is written, and once more when it is
there: whenever the power is cut, the log ends at a line for which somebody vouches. A log that
holds another line than those is never signed again: the tool vouches for what it wrote itself.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.files.bounded import NOT_WHOLE, SMALL_BYTES, read_at_most
from burnin.core.meaning import Reason
from burnin.record.durable import write_json
from burnin.record.event_log import MOST_BYTES, Seal, checks
from burnin.ticket.shop.known_keys import KnownKey, key_of, known_keys
from burnin.ticket.shop.meanings import LogHeadReason
from burnin.ticket.shop.shop_key import key_fingerprint, public_bytes, shop_key

FILE = "log-head.json"


@dataclass(frozen=True)
class LogHead:
    """A log of `lines` lines, the last with `check`; the checks of lines about to follow.

    `older`: an older version vouched, which signed when the line was there: one line or two more
    may have been written since.
    """

    lines: int
    check: str
    coming: tuple[str, ...]
    public: bytes
    older: bool = False

    def why_not(self, there: Sequence[str]) -> Reason | None:
        """Why a log with these checks is not the one that is vouched for; None where it is."""
        if len(there) < self.lines:
            return LogHeadReason.LOG_SHORTER(lines_count=self.lines, there_count=len(there))
        if self.lines < (1 if self.older else 0) or (
            self.lines and there[self.lines - 1] != self.check
        ):
            return LogHeadReason.LOG_CHANGED(lines_count=self.lines)
        more = tuple(there[self.lines :])
        if self.older or more == self.coming[: len(more)]:
            return None
        return LogHeadReason.LINES_ADDED(
            file=FILE, lines_count=self.lines, more_count=len(more)
        )


def can_vouch() -> bool:
    """Whether this bench has a key to sign with."""
    try:
        shop_key()
    except (BadInput, OSError):
        return False
    return True


def check_head(log: Path) -> None:
    """Raise BadInput where the file that vouches for a log is there and holds no such thing.

    Nothing is written beside it: whoever made it up may have changed more, and only a copy of the
    folder tells.
    """
    path = log.with_name(FILE)
    try:
        content = json.loads(read_at_most(path, SMALL_BYTES))
        known = {"lines", "check", "public_key", "signature"} <= content.keys()
    except FileNotFoundError:
        return
    except (OSError, *NOT_WHOLE):
        known = False
    if not known:
        raise BadInput(LogHeadReason.NOT_WHOLE(file=str(path)))


def vouching(log: Path) -> Seal:
    """What signs the log with each line that is appended; without a key, nothing is done.

    Nothing is done either where the log is not as somebody vouched for it: its lines are kept, but
    nobody vouches for what somebody else may have written.
    """

    def seal(there: Sequence[str], coming: Sequence[str]) -> None:
        try:
            # The first of the two calls looks at what lies there, the second follows on the first.
            if _may_promise(log, there) if coming else _was_promised(log, there):
                _sign(log, there, coming)
        except (BadInput, OSError):
            return

    return seal


def _may_promise(log: Path, there: Sequence[str]) -> bool:
    """Whether what lies there is vouched for by a key of this bench, or nothing ever was."""
    keys = known_keys()
    if not there:
        head = _read(log)
        return isinstance(head, Reason) and head.means(LogHeadReason.MISSING)
    return bool(keys) and why_not_vouched_lines(log, there, keys) is None


def _was_promised(log: Path, there: Sequence[str]) -> bool:
    head = _read(log)
    return isinstance(head, LogHead) and bool(head.coming) and head.why_not(there) is None


def _sign(log: Path, there: Sequence[str], coming: Sequence[str]) -> None:
    key = shop_key()
    check = there[-1] if there else ""
    content = {
        "lines": len(there),
        "check": check,
        "coming": list(coming),
        "public_key": base64.b64encode(public_bytes(key)).decode(),
        "signature": base64.b64encode(key.sign(_told(len(there), check, coming))).decode(),
    }
    write_json(log.with_name(FILE), content)


def why_not_vouched(
    log: Path, keys: Sequence[KnownKey] | None = None, last_utc: str = ""
) -> Reason | None:
    """Why a log is not as somebody vouched for it; None where it is.

    `keys` left out: the shop's own. `last_utc`: when its last line was written, for the time of
    the key. Raises BadInput where keys cannot be read, OSError where the log cannot.
    """
    return why_not_vouched_lines(log, checks(read_at_most(log, MOST_BYTES)), keys, last_utc)


def why_not_vouched_lines(
    log: Path, there: Sequence[str], keys: Sequence[KnownKey] | None = None, last_utc: str = ""
) -> Reason | None:
    """The same of a log whose lines have the checks `there`."""
    known = known_keys() if keys is None else keys
    head = _read(log)
    if isinstance(head, Reason):
        return head
    key = key_of(known, head.public)
    if known and key is None:
        return LogHeadReason.OTHER_KEY(file=FILE)
    if key is not None and key.until_utc and last_utc >= key.until_utc:
        told = key_fingerprint(head.public)
        return LogHeadReason.OUT_OF_TIME(file=FILE, key=told, until_utc=key.until_utc)
    return head.why_not(there)


def _read(log: Path) -> LogHead | Reason:
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        content = json.loads(read_at_most(log.with_name(FILE), SMALL_BYTES))
        lines, check = int(content["lines"]), str(content["check"])
        public = base64.b64decode(content["public_key"], validate=True)
        signature = base64.b64decode(content["signature"], validate=True)
        older = "coming" not in content
        coming = () if older else tuple(str(c) for c in content["coming"])
        told = _told_before(lines, check) if older else _told(lines, check, coming)
        Ed25519PublicKey.from_public_bytes(public).verify(signature, told)
    except FileNotFoundError:
        return LogHeadReason.MISSING(file=FILE)
    except (OSError, InvalidSignature, *NOT_WHOLE):
        return LogHeadReason.CHANGED(file=FILE)
    return LogHead(lines, check, coming, public, older)


def _told_before(lines: int, check: str) -> bytes:
    """What an older version signed."""
    return f"ticket log, line {lines}, check {check}\n".encode()


def _told(lines: int, check: str, coming: Sequence[str]) -> bytes:
    parts = [f"ticket log, line {lines}, check {check}\n", *(f"then {c}\n" for c in coming)]
    # The first words differ from an older version's: no signature serves for the other.
    return ("burnin log head 2\n" + "".join(parts)).encode()
