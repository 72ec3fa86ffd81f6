"""Whether a record, a handover or a sheet is as it left, with all that it stands on."""

from __future__ import annotations

import hashlib
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.ticket.handover.handover import FACTS, PREFIX, runs_behind
from burnin.ticket.handover.meanings import SigningReason
from burnin.ticket.handover.signing import CHECKSUMS, Verification, verify


def check(path: Path, public_key: Path | None = None) -> Verification:
    """Verify a folder or sheet; a handover's records are verified with it.

    Raises BadInput where there is nothing to check.
    """
    found = verify(path, public_key=public_key)
    folder = path if path.is_dir() else path.parent
    if path.is_file() or not (folder / FACTS).is_file():
        return found
    behind = runs_behind(folder)
    if isinstance(behind, Reason):
        return Verification(path, (*found.faults, behind), found.told)
    faults = [
        SigningReason.OF_RECORD(run=run.name, fault=fault)
        for run, digest in behind
        for fault in _record_faults(run, digest)
    ]
    return Verification(path, (*found.faults, *faults), found.told)


def _record_faults(run: Path, digest: str) -> list[Reason]:
    """What of a run differs from what the handover stood on; its own signature may be missing."""
    if not run.is_dir():
        return [SigningReason.RECORD_GONE()]
    if not digest:
        return []
    try:
        now = hashlib.sha256((run / CHECKSUMS).read_bytes()).hexdigest()
    except OSError:
        return [SigningReason.FILE_MISSING(file=CHECKSUMS)]
    if now != digest:
        return [SigningReason.LIST_CHANGED_SINCE(file=CHECKSUMS)]
    return [fault for fault in verify(run).faults if not fault.means(SigningReason.NO_SIGNATURE)]


def find_fingerprint(results: Path, fingerprint: str) -> Path:
    """The handover whose sheets print this fingerprint; raises BadInput where there is none."""
    wanted = "".join(fingerprint.lower().split())
    if len(wanted) < 8 or any(c not in "0123456789abcdef" for c in wanted):
        raise BadInput(f"{fingerprint[:40]!r} is no fingerprint: at least 8 digits of 0-9, a-f")
    for path in sorted(results.glob(f"*/{PREFIX}*/{FACTS}")):
        if hashlib.sha256(path.read_bytes()).hexdigest().startswith(wanted):
            return path.parent
    raise BadInput(
        f"no handover in {results} has the fingerprint {wanted}: the sheet is not of this shop,"
        " or what it stood on was changed"
    )
