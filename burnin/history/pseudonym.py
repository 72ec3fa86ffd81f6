"""Who a customer is to the history: a name that tells nothing, the same for the same customer.

HMAC-SHA256 (RFC 2104) under a key that lies with the shop's file: without the key nobody finds the
name by trying all that there are. The shop file may say that names stand in the history.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from burnin.core.files.bounded import read_at_most
from burnin.core.files.private_files import private_folder

KEY_FILE = "history.key"
_KEY_BYTES = 32
Named = Callable[[str], str]
"""From a customer's name to what stands in the history."""


@dataclass(frozen=True)
class Pseudonyms:
    """Names under a key; a value that another process can be given."""

    key: bytes

    def __call__(self, customer: str) -> str:
        """What stands in a customer's place, however the name is spaced or written large."""
        if not customer.strip():
            return ""
        name = " ".join(customer.casefold().split()).encode()
        return f"customer-{hmac.new(self.key, name, hashlib.sha256).hexdigest()[:12]}"


def pseudonyms(folder: Path) -> Named:
    """Pseudonyms under the key in the shop's folder, made at its first use; raises OSError."""
    return Pseudonyms(history_key(folder))


def without(name: str, instead: str, text: str) -> str:
    """A text in which a customer's whole name stands no more, nor as JSON writes it."""
    written = json.dumps(name.strip(), ensure_ascii=False)[1:-1]
    for one in dict.fromkeys((name.strip(), written)):
        text = _without(one, instead, text)
    return text


def _without(wanted: str, instead: str, text: str) -> str:
    if not wanted or wanted.casefold() not in text.casefold():
        return text
    kept, low, sought = [], text.casefold(), wanted.casefold()
    if len(low) != len(text):  # some letters become two: then nothing of it is kept
        return instead
    at = 0
    while (found := low.find(sought, at)) >= 0:
        kept += [text[at:found], instead]
        at = found + len(sought)
    return "".join((*kept, text[at:]))


def history_key(folder: Path) -> bytes:
    """The shop's key for what the history hides or seals, made at its first use; raises OSError."""
    path = folder / KEY_FILE
    if not path.exists():
        private_folder(folder)
        passing = path.with_name(f".{path.name}.{os.getpid()}.part")
        handle = os.open(passing, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "w") as file:
            file.write(os.urandom(_KEY_BYTES).hex())
            file.flush()
            os.fsync(file.fileno())
        try:
            os.link(passing, path)  # whoever was first keeps it
        except FileExistsError:
            pass
        finally:
            passing.unlink()
    try:
        return bytes.fromhex(read_at_most(path, 1 << 10).decode("ascii").strip())
    except ValueError as error:
        raise OSError(22, f"is no key: {error}", str(path)) from error
