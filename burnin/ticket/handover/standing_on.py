"""What a handover stands on: the log as far as it came, every run, the handovers before.

``handover.json`` says it, and the fingerprint that its sheets print is the hash of that file: who
has a sheet has the head of the chain.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.core.files.bounded import NOT_WHOLE, read_at_most
from burnin.core.meaning import Reason
from burnin.record.event_log import MOST_BYTES, checks, log_of
from burnin.record.sums import data_sha256
from burnin.stages.cold_starts.start_log import FILE as STARTS
from burnin.ticket.handover.files_of_folder import sha256_of
from burnin.ticket.handover.meanings import LeftOut, SigningReason
from burnin.ticket.handover.signing import CHECKSUMS, FACTS, SIGNATURE
from burnin.ticket.log.ticket_from_log import LOG, fold
from burnin.ticket.log.whole_ticket import RunListed, WholeTicket
from burnin.ticket.proven.past_runs import PastRun, past_runs

GROWING = ((LOG.parent / STARTS).as_posix(),)
"""Files of a ticket that are only ever appended to, besides its log."""


@dataclass(frozen=True)
class RunBehind:
    """A run as it was when a ticket was handed over; `counts`: the sheet's verdict stands on it.

    Hashes are empty where an older version did not write them, or there was nothing to hash.
    """

    folder: str
    counts: bool
    checksums_sha256: str
    data_sha256: str
    signed: bool


@dataclass(frozen=True)
class StandsOn:
    """What handover.json says; `handovers` are folder and fingerprint of those before.

    `every_run`: it names all runs that the log had by then, not only those that count. `grown`:
    length and SHA-256 of `GROWING` files.
    """

    number: str
    log_sha256: str
    runs: tuple[RunBehind, ...]
    every_run: bool
    handovers: tuple[tuple[str, str], ...]
    grown: Mapping[str, tuple[int, str]]


def stands_on(ticket: WholeTicket, counting: Sequence[PastRun]) -> dict[str, object]:
    """The part of handover.json that makes the chain; all of it follows from one look at the log.

    Raises RecordError, OSError.
    """
    raw = read_at_most(ticket.folder / LOG, MOST_BYTES)
    log = log_of(raw, str(ticket.folder / LOG))
    now = fold(ticket.folder, log) or ticket
    names = {run.folder.name for run in counting}
    others = {run.folder.name: run for run in past_runs(ticket.folder)}
    left_out = dict.fromkeys(name for name in (*now.runs, *others) if name not in names)
    return {
        "log_events": len(log.events),
        "log_lines": len(checks(raw)),
        "log_sha256": hashlib.sha256(raw).hexdigest(),
        "runs_count": len(names) + len(left_out),
        "runs": [_row(ticket.folder / run.folder.name) for run in counting],
        "runs_left_out": [
            {
                **_row(ticket.folder / name),
                "verdict": others[name].verdict.value if name in others else "",
                "why": _why_left_out(now, now.runs.get(name)).as_plain(),
            }
            for name in left_out
        ],
        "handovers": [
            {"folder": made.folder, "fingerprint": made.fingerprint} for made in now.handed_over
        ],
        "files": [_grown(ticket.folder, name) for name in GROWING],
    }


def _row(run: Path) -> dict[str, object]:
    return {
        "folder": run.name,
        "checksums_sha256": sha256_of(run / CHECKSUMS) or "",
        "data_sha256": data_sha256(run) if run.is_dir() else "",
        "signed": (run / SIGNATURE).is_file(),
    }


def _grown(folder: Path, name: str) -> dict[str, object]:
    try:
        raw = read_at_most(folder / name, MOST_BYTES)
    except OSError:
        raw = b""
    return {"file": name, "size_bytes": len(raw), "sha256": hashlib.sha256(raw).hexdigest()}


def _why_left_out(ticket: WholeTicket, listed: RunListed | None) -> Reason:
    if listed is None:
        return LeftOut.NOT_LISTED()
    if listed.other_card:
        return LeftOut.OTHER_CARD()
    if listed.simulated != ticket.simulated:
        return LeftOut.OTHER_MACHINE()
    if listed.before_work:
        return LeftOut.BEFORE_WORK()
    return LeftOut.SAYS_NOTHING() if listed.ended else LeftOut.NOT_ENDED()


def read_stands_on(folder: Path) -> StandsOn | Reason:
    """What a handover's file says; a reason where it is not whole."""
    try:
        content = json.loads(read_at_most(folder / FACTS, MOST_BYTES))
        behind = [_behind(row, counts=True) for row in content["runs"]]
        others = content.get("runs_left_out")
        behind += [_behind(row, counts=False) for row in others or ()]
        before = content.get("handovers", ())
        grown = content.get("files", ())
        return StandsOn(
            number=str(content["number"]),
            log_sha256=str(content["log_sha256"]),
            runs=tuple(behind),
            every_run=others is not None,
            handovers=tuple((str(h["folder"]), str(h["fingerprint"])) for h in before),
            grown={str(f["file"]): (int(f["size_bytes"]), str(f["sha256"])) for f in grown},
        )
    except (OSError, *NOT_WHOLE) as error:
        return SigningReason.HANDOVER_NOT_WHOLE(file=FACTS, error=type(error).__name__)


def _behind(row: Mapping[str, object], *, counts: bool) -> RunBehind:
    return RunBehind(
        folder=Path(str(row["folder"])).name,
        counts=counts,
        checksums_sha256=str(row["checksums_sha256"]),
        data_sha256=str(row.get("data_sha256", "")),
        signed=row.get("signed") is True,
    )


def log_up_to(raw: bytes, sha256: str) -> bytes | None:
    """The beginning of a log that has this SHA-256; None where no beginning has it."""
    whole, at = hashlib.sha256(), 0
    while True:
        end = raw.find(b"\n", at)
        part = raw[at:] if end < 0 else raw[at:end]
        whole.update(part)
        at += len(part)
        if whole.hexdigest() == sha256:
            return raw[:at]
        if end < 0:
            return None
        whole.update(b"\n")
        at += 1
        if whole.hexdigest() == sha256:
            return raw[:at]
