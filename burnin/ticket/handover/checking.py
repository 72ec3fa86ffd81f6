"""Whether a record, a handover or a sheet is as it left, with all that it stands on."""

from __future__ import annotations

import hashlib
from pathlib import Path

from burnin.core.errors import BadInput, RecordError
from burnin.ticket.handover.handover import FACTS, PREFIX, runs_behind
from burnin.ticket.handover.signing import CHECKSUMS, Verification, verify


def check(path: Path, public_key: Path | None = None) -> Verification:
    """Verify a folder or sheet; a handover's records are verified with it.

    Raises BadInput where there is nothing to check.
    """
    found = verify(path, public_key=public_key)
    folder = path if path.is_dir() else path.parent
    if path.is_file() or not (folder / FACTS).is_file():
        return found
    faults = list(found.faults)
    try:
        for run, digest in runs_behind(folder):
            faults += [f"{run.name}: {fault}" for fault in _run_faults(run, digest)]
    except RecordError as error:
        faults.append(str(error))
    return Verification(path, tuple(faults), found.told)


def _run_faults(run: Path, digest: str) -> list[str]:
    """What of a run differs from what the handover stood on; its own signature may be missing."""
    if not run.is_dir():
        return ["the record is gone"]
    if not digest:
        return []
    try:
        now = hashlib.sha256((run / CHECKSUMS).read_bytes()).hexdigest()
    except OSError:
        return [f"{CHECKSUMS}: is missing"]
    if now != digest:
        return [f"{CHECKSUMS}: was changed since the handover"]
    return [fault for fault in verify(run).faults if not fault.startswith("signature.json: is")]


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
