"""Pictures of a ticket: copied by hash, checked to be pictures, shown small."""

from __future__ import annotations

import hashlib
import io
import os
import struct
import warnings
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.errors import BadInput
from burnin.core.files.bounded import read_at_most, size_within
from burnin.core.files.private_files import private_folder
from burnin.core.meaning import Reason
from burnin.core.system import cannot_read
from burnin.record.event_log import Log
from burnin.ticket.intake.refusals import IntakeRefusal
from burnin.ticket.log.store import add
from burnin.ticket.log.whole_ticket import Photo, WholeTicket

if TYPE_CHECKING:
    from PIL.ImageFile import ImageFile

FOLDER = Path("ticket") / "photos"
MOST_BYTES = 60 * (1 << 20)
"""Most of a picture's file; the largest sensors of telephones fill half of it."""
_ENDINGS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp", "GIF": "gif", "TIFF": "tif", "BMP": "bmp"}
_SMALL_PX = 560
_MOST_PIXELS, _MOST_PIXELS_JPEG = 40_000_000, 170_000_000
_NO_PICTURE = (
    *(OSError, SyntaxError, ValueError, KeyError, TypeError, IndexError, OverflowError),
    *(EOFError, AttributeError, ZeroDivisionError, AssertionError, MemoryError),
    *(NotImplementedError, struct.error, zlib.error),
)
"""What the library of pictures raises for bytes that are none, of whatever format."""


def add_photo(
    ticket: WholeTicket,
    source: Path,
    *,
    note: str = "",
    for_customer: bool = False,
    by: str = "",
    now: datetime | None = None,
) -> WholeTicket:
    """Copy a picture into the ticket; raises BadInput for what is no picture.

    The copy is named after its hash, so that no name that comes from outside is ever a path.
    """
    content = _content(source)
    return add_picture(
        ticket, content, source.name, told=str(source), note=note, for_customer=for_customer,
        by=by, now=now,
    )  # fmt: skip


def add_picture(
    ticket: WholeTicket,
    content: bytes,
    original: str,
    *,
    told: str = "",
    note: str = "",
    for_customer: bool = False,
    by: str = "",
    now: datetime | None = None,
) -> WholeTicket:
    """Put a picture's bytes into the ticket; `original` is what its file was called where it was.

    `told` is how a refusal names it. Raises BadInput for what is no picture, is there already, or
    cannot be kept.
    """
    told = told or original
    digest = hashlib.sha256(content).hexdigest()
    name = f"{digest[:16]}.{_ending(content, told)}"

    def kept(_: Log, there: WholeTicket) -> Reason | None:
        if any(p.sha256 == digest for p in there.photos):
            return IntakeRefusal.PICTURE_KEPT(file=told, number=ticket.number)
        return None

    folder = ticket.folder / FOLDER
    private_folder(folder)
    passing = folder / f".{name}.{os.getpid()}.part"
    passing.write_bytes(content)
    passing.replace(folder / name)
    fields = {
        "file": name,
        "sha256": digest,
        "original": original,
        "note": note,
        "for_customer": for_customer,
    }
    return add(ticket, "photo", fields, by=by, now=now, unless=kept)


def check_photo(source: Path) -> None:
    """Raises BadInput for what is no picture; writes nothing."""
    _ending(_content(source), str(source))


def _content(source: Path) -> bytes:
    try:
        return read_at_most(source, MOST_BYTES)
    except (OSError, ValueError) as error:
        raise BadInput(cannot_read(source, error)) from error


def _ending(content: bytes, told: str) -> str:
    """The ending of a picture's file, after its kind; all of it is decoded once."""
    from PIL import Image

    try:
        with _quietly(), _opened(content) as image:
            if not _fits(image):
                size = {"width_px": image.width, "height_px": image.height}
                raise BadInput(IntakeRefusal.TOO_MANY_PIXELS(file=told, **size))
            image.verify()
            ending = _ENDINGS[image.format or ""]
        with _quietly(), _opened(content) as image:  # after `verify` it must be opened anew
            image.draft("RGB", (_SMALL_PX, _SMALL_PX))
            image.load()
    except Image.DecompressionBombError as error:
        raise BadInput(IntakeRefusal.FAR_TOO_MANY_PIXELS(file=told)) from error
    except _NO_PICTURE as error:
        raise BadInput(IntakeRefusal.NO_PICTURE(file=told, kinds=tuple(_ENDINGS))) from error
    return ending


def _opened(content: bytes) -> ImageFile:
    from PIL import Image

    return Image.open(io.BytesIO(content), formats=tuple(_ENDINGS))


@contextmanager
def _quietly() -> Iterator[None]:
    """Without what the library of pictures warns of on the terminal: size is looked at here."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _fits(image: ImageFile) -> bool:
    """Whether it can be made small in little memory: a JPEG is read at an eighth of its size."""
    most = _MOST_PIXELS_JPEG if image.format == "JPEG" else _MOST_PIXELS
    return image.width * image.height <= most


def small_jpeg(ticket: WholeTicket, photo: Photo) -> bytes | None:
    """The picture small, without what the camera wrote beside it; None where the file is gone.

    At most 560 pixels wide or high.
    """
    from PIL import Image, ImageOps

    path = ticket.folder / FOLDER / photo.file
    try:
        size_within(path, MOST_BYTES)
        with _quietly(), Image.open(path, formats=tuple(_ENDINGS)) as image:
            if not _fits(image):
                return None
            image.draft("RGB", (_SMALL_PX, _SMALL_PX))
            turned = ImageOps.exif_transpose(image) or image
            turned.thumbnail((_SMALL_PX, _SMALL_PX))
            out = io.BytesIO()
            turned.convert("RGB").save(out, "JPEG", quality=80)
    except (Image.DecompressionBombError, *_NO_PICTURE):
        return None
    return out.getvalue()


def is_gone(ticket: WholeTicket, photo: Photo) -> bool:
    """Whether nothing lies where the picture's file should be."""
    try:
        return not (ticket.folder / FOLDER / photo.file).exists()
    except (OSError, ValueError):
        return True  # a name that can be none


def is_whole(ticket: WholeTicket, photo: Photo) -> bool:
    """Whether the picture's file is as it was handed in."""
    try:
        content = read_at_most(ticket.folder / FOLDER / photo.file, MOST_BYTES)
    except (OSError, ValueError):
        return False
    return hashlib.sha256(content).hexdigest() == photo.sha256
