"""Whether a record, a handover, a sheet or a whole ticket is as it left, with all around it."""

from __future__ import annotations

from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.files.bounded import sha256_of
from burnin.core.meaning import Note, Reason
from burnin.record.sums import RUN_FILE
from burnin.ticket.handover.chain import PREFIX, Chain, check_chain
from burnin.ticket.handover.meanings import ChainNote, ChainReason, SigningReason
from burnin.ticket.handover.refusals import HandoverRefusal
from burnin.ticket.handover.signing import FACTS, Trusted, Verification, verify
from burnin.ticket.handover.standing_on import read_stands_on
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.shop.known_keys import known_keys

_SHORTEST_HEAD, _LONGEST_HEAD = 8, 64


def check(
    path: Path,
    public_key: Path | None = None,
    *,
    head: str = "",
    stamper: Path | None = None,
) -> Verification:
    """Verify a folder or sheet with the ticket in whose folder it lies, or a ticket's folder.

    `public_key`: PEM or the list of a shop's keys, in place of the bench's own. `head`: a
    fingerprint off a sheet, or a head that `verify` gave out; it must lead up to what lies there.
    `stamper`: certificate for time stamps. Raises BadInput where there is nothing to check.
    """
    trusted = Trusted(known_keys(None, public_key), stamper)
    wanted = digits_of(head) if head else ""
    if _is_ticket(path):
        chain = check_chain(path, trusted, deep=True)
        return _with_head(path, [], [], chain, wanted)
    found = verify(path, trusted=trusted)
    folder = path if path.is_dir() else path.parent
    faults, told = list(found.faults), list(found.told)
    if folder.is_symlink():
        faults.append(SigningReason.LINKED(file=folder.name))
    is_handover = (folder / FACTS).is_file()
    says = read_stands_on(folder) if is_handover else None
    if isinstance(says, Reason) and path.is_dir():
        faults.append(says)
    if not _has_ticket(folder, is_handover=is_handover):
        if is_handover:
            told.append(ChainNote.ALONE())
        alone = Chain(heads=[_sha256(folder / FACTS)] if is_handover else [])
        return _with_head(path, faults, told, alone, wanted)
    torn = folder.name if is_handover and (faults or isinstance(says, Reason)) else ""
    chain = check_chain(folder.parent, trusted, torn=torn)
    seen = {fault["fault"] for fault in chain.faults if fault.means(SigningReason.OF_RECORD)}
    own = [fault for fault in faults if is_handover or fault not in seen]
    return _with_head(path, own, told, chain, wanted)


def _with_head(
    path: Path, faults: list[Reason], told: list[Note], chain: Chain, wanted: str
) -> Verification:
    every = [*faults, *chain.faults]
    notes = [*told, *(chain.told if not chain.faults else ())]
    if wanted:
        if chain.has(wanted):
            notes.append(ChainNote.HEAD_FOUND(head=wanted))
        else:
            every.append(ChainReason.ROLLED_BACK(head=wanted))
    return Verification(path, tuple(every), tuple(notes))


def _is_ticket(path: Path) -> bool:
    """Whether a folder is a ticket's own: it holds a log, or handovers of one that is gone."""
    if not path.is_dir() or (path / RUN_FILE).is_file() or (path / FACTS).is_file():
        return False
    return _holds_ticket(path)


def _holds_ticket(folder: Path) -> bool:
    return (folder / LOG.parts[0]).exists() or any(folder.glob(f"{PREFIX}*/{FACTS}"))


def _has_ticket(folder: Path, *, is_handover: bool) -> bool:
    """Whether the ticket around a folder is to be checked with it.

    A handover may have been carried elsewhere alone; where anything of its ticket lies beside it,
    all of it must.
    """
    above = folder.parent
    if not is_handover:
        return _holds_ticket(above)
    others = (p for p in above.glob("*") if p.name != folder.name)
    beside = any((p / RUN_FILE).is_file() or (p / FACTS).is_file() for p in others)
    return beside or (above / LOG.parts[0]).exists()


def digits_of(text: str) -> str:
    """The digits of a fingerprint or head as somebody typed them; raises BadInput for none."""
    wanted = "".join(text.lower().split())
    good = _SHORTEST_HEAD <= len(wanted) <= _LONGEST_HEAD
    if not good or any(c not in "0123456789abcdef" for c in wanted):
        raise BadInput(HandoverRefusal.NO_FINGERPRINT(text=text))
    return wanted


def find_fingerprint(results: Path, fingerprint: str) -> Path | Reason:
    """The handover whose sheets print this fingerprint, or the reason that there is none."""
    wanted = digits_of(fingerprint)
    for path in sorted(results.glob(f"*/{PREFIX}*/{FACTS}")):
        if _sha256(path).startswith(wanted):
            return path.parent
    return ChainReason.NO_HANDOVER_OF(folder=str(results), fingerprint=wanted)


def _sha256(path: Path) -> str:
    try:
        return sha256_of(path)
    except OSError:
        return ""
