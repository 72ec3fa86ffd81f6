"""Whether the files of installed packages are those that came in their archives.

A package lists its files with their sums (``RECORD``, "Recording installed projects" of the
packaging specifications). That finds a file that was changed, lost or put in since; not one whose
line in the list was changed with it.
"""

from __future__ import annotations

import hashlib
import os
from base64 import urlsafe_b64encode
from collections.abc import Iterable, Iterator
from importlib.metadata import Distribution, PackagePath
from pathlib import Path

from burnin.cli.packages.meanings import PackageFault
from burnin.core.meaning import Reason

SUMS = ("sha256", "sha384", "sha512")
_WITHOUT_SUM = ("RECORD", "RECORD.jws", "RECORD.p7s")
_MADE_HERE = "__pycache__"


def files_of(package: Distribution) -> list[PackagePath] | None:
    """The files that a package lists; None where there is no list that can be read."""
    if not package.read_text("RECORD"):
        return None
    try:
        return package.files
    except (ValueError, TypeError):
        return None


def altered(name: str, package: Distribution) -> Iterator[Reason]:
    """What is wrong with a package's files; nothing where all are as they came."""
    listed = files_of(package)
    if listed is None:
        yield PackageFault.NO_FILE_LIST(name=name)
        return
    for file in listed:
        if file.suffix == ".pyc" or file.name in _WITHOUT_SUM:
            continue
        if file.hash is None or file.hash.mode not in SUMS:
            yield PackageFault.FILE_WITHOUT_SUM(name=name, file=str(file))
            continue
        try:
            told = _sum(Path(str(file.locate())), file.hash.mode)
        except OSError:
            yield PackageFault.FILE_MISSING(name=name, file=str(file))
            continue
        if told != file.hash.value:
            yield PackageFault.FILE_CHANGED(name=name, file=str(file))


def of_nobody(packages: Iterable[Distribution]) -> Iterator[Reason]:
    """Files in the packages' folders that no package lists."""
    owned: set[str] = set()
    folders: dict[str, None] = {}
    for package in packages:
        folders[os.path.realpath(str(package.locate_file("")))] = None
        for file in files_of(package) or ():
            owned.add(os.path.normpath(os.path.realpath(str(file.locate()))))
    for folder in folders:
        for at, below, names in os.walk(folder):
            below[:] = sorted(name for name in below if name != _MADE_HERE)
            for name in sorted(names):
                path = os.path.realpath(os.path.join(at, name))  # noqa: PTH118 - thousands of them
                if path not in owned:
                    yield PackageFault.FILE_OF_NOBODY(file=os.path.relpath(path, folder))


def _sum(path: Path, kind: str) -> str:
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, kind).digest()
    return urlsafe_b64encode(digest).rstrip(b"=").decode("ascii")
