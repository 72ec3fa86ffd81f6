"""Whose account this process runs under, and the capabilities that the kernel gives it."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.files import BenchFiles, read_text
from burnin.core.files.own_process import name_of, own_uid

ASKED_FOR = {"CAP_DAC_READ_SEARCH": 2, "CAP_SYS_ADMIN": 21, "CAP_SYSLOG": 34}
"""Bits of the capabilities that anything here may take (Linux include/uapi/linux/capability.h)."""


@dataclass(frozen=True)
class Account:
    """Name and number of the account, and which of the capabilities in `ASKED_FOR` it has."""

    user: str
    uid: int
    capabilities: tuple[str, ...]


def this_account(files: BenchFiles) -> Account:
    """The account of this process; what the kernel does not tell is left out."""
    uid = own_uid()
    return Account(name_of(uid), uid, _held(_effective(files)))


def _held(bits: int) -> tuple[str, ...]:
    return tuple(name for name, bit in ASKED_FOR.items() if bits >> bit & 1)


def _effective(files: BenchFiles) -> int:
    """The effective set, ``CapEff`` of proc(5); none where it cannot be read."""
    try:
        lines = read_text(files, "/proc/self/status").splitlines()
    except OSError:
        return 0
    told = [line.partition(":")[2].strip() for line in lines if line.startswith("CapEff:")]
    try:
        return int(told[0], 16) if told else 0
    except ValueError:
        return 0
