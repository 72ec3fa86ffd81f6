"""What lies in a ticket's folder and is no part of it, or is not the file that it seems."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from burnin.core.meaning import Reason
from burnin.record.sums import RUN_FILE
from burnin.ticket.handover.files_of_folder import added, names_in, not_plain, sha256_of
from burnin.ticket.handover.meanings import SigningReason
from burnin.ticket.handover.standing_on import GROWING
from burnin.ticket.intake.photos import FOLDER as PHOTOS
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.shop.log_head import FILE as HEAD


def surplus(ticket: WholeTicket) -> Iterator[Reason]:
    """Files beside records and handovers that nobody listed; links; photos that were changed."""
    known = {LOG.as_posix(), (LOG.parent / HEAD).as_posix(), *GROWING}
    photos = {(PHOTOS / photo.file).as_posix(): photo.sha256 for photo in ticket.photos}
    for name, digest in photos.items():
        found = sha256_of(ticket.folder / name)
        if found is None:
            yield SigningReason.FILE_MISSING(file=name)
        elif found != digest:
            yield SigningReason.FILE_CHANGED(file=name)
    known |= set(photos)
    for name in names_in(ticket.folder):
        within = Path(name).parts[0]
        path = ticket.folder / within
        if path.is_symlink():
            yield SigningReason.LINKED(file=within)
        elif name in known:
            why = not_plain(ticket.folder, name)
            if why is not None:
                yield why
        elif not _is_part(ticket, within, path):
            yield added(ticket.folder, name)


def _is_part(ticket: WholeTicket, within: str, path: Path) -> bool:
    """Whether a folder is a record or a handover: those are looked at as such."""
    handovers = {made.folder for made in ticket.handed_over}
    is_folder = path.is_dir() and within != LOG.parts[0]
    named = within in ticket.runs or within in handovers
    return is_folder and (named or (path / RUN_FILE).is_file() or _is_handover(path))


def _is_handover(path: Path) -> bool:
    return path.name.startswith("handover-")
