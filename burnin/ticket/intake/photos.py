"""Pictures of a ticket: copied by hash, checked to be pictures, shown small."""

from __future__ import annotations

import hashlib
import io
from datetime import datetime
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.ticket.log.store import add
from burnin.ticket.log.whole_ticket import Photo, WholeTicket

FOLDER = Path("ticket") / "photos"
_MOST_BYTES = 60 * (1 << 20)
_ENDINGS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp", "GIF": "gif", "TIFF": "tif", "BMP": "bmp"}
_SMALL_PX = 560


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
    try:
        content = source.read_bytes()
    except OSError as error:
        raise BadInput(f"{source}: cannot be read: {error.strerror or error}") from error
    if len(content) > _MOST_BYTES:
        raise BadInput(f"{source}: {len(content) >> 20} MiB; a photo has at most 60 MiB")
    digest = hashlib.sha256(content).hexdigest()
    name = f"{digest[:16]}.{_ending(content, source)}"
    if any(p.sha256 == digest for p in ticket.photos):
        raise BadInput(f"{source}: this picture is on ticket {ticket.number} already")
    folder = ticket.folder / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    passing = folder / f".{name}.part"
    passing.write_bytes(content)
    passing.replace(folder / name)
    fields = {
        "file": name,
        "sha256": digest,
        "original": source.name,
        "note": note,
        "for_customer": for_customer,
    }
    return add(ticket, "photo", fields, by=by, now=now)


def check_photo(source: Path) -> None:
    """Raises BadInput for what is no picture; writes nothing."""
    try:
        _ending(source.read_bytes(), source)
    except OSError as error:
        raise BadInput(f"{source}: cannot be read: {error.strerror or error}") from error


def _ending(content: bytes, source: Path) -> str:
    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(content)) as image:
            image.verify()
            return _ENDINGS[image.format or ""]
    except (UnidentifiedImageError, KeyError, OSError, SyntaxError, ValueError) as error:
        raise BadInput(f"{source}: is no picture (JPEG, PNG, WebP, GIF, TIFF, BMP)") from error
    except Image.DecompressionBombError as error:
        raise BadInput(f"{source}: has too many pixels") from error


def small_jpeg(ticket: WholeTicket, photo: Photo) -> bytes | None:
    """The picture small, without what the camera wrote beside it; None where the file is gone.

    At most 560 pixels wide or high.
    """
    from PIL import Image, ImageOps

    path = ticket.folder / FOLDER / photo.file
    try:
        with Image.open(path) as image:
            turned = ImageOps.exif_transpose(image) or image
            turned.thumbnail((_SMALL_PX, _SMALL_PX))
            out = io.BytesIO()
            turned.convert("RGB").save(out, "JPEG", quality=80)
    except (OSError, SyntaxError, ValueError):
        return None
    return out.getvalue()


def is_whole(ticket: WholeTicket, photo: Photo) -> bool:
    """Whether the picture's file is as it was handed in."""
    try:
        content = (ticket.folder / FOLDER / photo.file).read_bytes()
    except OSError:
        return False
    return hashlib.sha256(content).hexdigest() == photo.sha256
