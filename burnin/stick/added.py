"""A package that is added to a stick: on the records partition, with its sum beside it.

The start unpacks it over the root (`root/keep.sh`) before drivers are loaded: enough for firmware,
and for modules that are built for the stick's kernel. What a package would do when it is installed
is not done.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.files.disk import replace_whole
from burnin.core.meaning import Note
from burnin.stick.refusals import StickNote, StickRefusal

FOLDER = "packages"
_BEGINS = b"!<arch>\ndebian-binary"
"""deb(5): an archive whose first member is so named."""


def add_package(package: Path, records: Path, sha256: str = "") -> Note:
    """Copy it there; raises BadInput for what is no package or has another sum than was given."""
    raw = package.read_bytes() if package.suffix == ".deb" and package.is_file() else b""
    if not raw.startswith(_BEGINS):
        raise BadInput(StickRefusal.NO_PACKAGE(file=package.name))
    found = hashlib.sha256(raw).hexdigest()
    if sha256 and sha256.strip().lower() != found:
        raise BadInput(StickRefusal.OTHER_SUM(file=package.name, sha256=found))
    folder = records / FOLDER
    folder.mkdir(exist_ok=True)
    replace_whole(folder / package.name, raw)
    line = f"{found}  {package.name}\n"
    replace_whole(folder / f"{package.name}.sha256", line.encode())
    return StickNote.ADDED(file=package.name, sha256=found)
