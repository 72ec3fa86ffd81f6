"""A record's sheet made anew, in another language or on other paper, and signed as it was."""

from __future__ import annotations

from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.record.sums import write_checksums
from burnin.report.formats import report_formats
from burnin.report.make import make_sheet
from burnin.ticket.handover.meanings import SigningReason
from burnin.ticket.handover.signing import SIGNATURE, sign_record, verify


def sheet_anew(
    folder: Path, paper: str, language: str
) -> tuple[dict[str, Path], tuple[Reason, ...]]:
    """The files that were made, and why the record was not signed anew; none where it was.

    A record that was signed is signed again only where nothing but the files that are made anew
    differed: what somebody put in beside them is never vouched for. One that has no signature (its
    run was killed before its end) is judged from its data and signed as it is: what was lost stands
    on the sheet. Raises RecordError, BadInput, OSError.
    """
    faults = _faults_that_stay(folder) if (folder / SIGNATURE).is_file() else ()
    paths = make_sheet(folder, paper, language)
    if faults:
        return paths, faults
    # A cut between list and signature leaves a record that nobody signed, never a false one.
    (folder / SIGNATURE).unlink(missing_ok=True)
    write_checksums(folder, keep_data=True)
    try:
        sign_record(folder)
    except BadInput as error:
        return paths, (_told(error),)
    return paths, ()


def _faults_that_stay(folder: Path) -> tuple[Reason, ...]:
    """What differs, but for the files that are about to be made anew."""
    made = {form.file for form in report_formats().values()}
    try:
        found = verify(folder).faults
    except BadInput as error:
        return (_told(error),)
    about_made = (
        SigningReason.FILE_CHANGED,
        SigningReason.FILE_MISSING,
        SigningReason.FILE_ADDED,
        SigningReason.SHEET_COPIED,
    )
    return tuple(f for f in found if not (f.means(*about_made) and f["file"] in made))


def _told(error: BadInput) -> Reason:
    if isinstance(error.told, Reason):
        return error.told
    return SigningReason.NOT_SIGNED_BECAUSE(error=error.told)
