"""An installation compared with its locks and its own lists, without any network."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from burnin.cli.packages.copyleft import is_copyleft
from burnin.cli.packages.files_on_disk import altered, files_of, of_nobody
from burnin.cli.packages.installed import RUN, TOOL, Found, Package, packages
from burnin.cli.packages.licences import LicenceFrom
from burnin.cli.packages.locks import Locked
from burnin.cli.packages.meanings import PackageFault, PackageNote, PackageTerm
from burnin.core.meaning import Note, Reason, Term

WITH_PYTHON = ("pip", "setuptools", "wheel")
"""What a fresh virtual environment holds before anything is installed in it."""
ACCEPTED: Mapping[str, tuple[str, Term]] = {
    "hypothesis": ("MPL-2.0", PackageTerm.TESTS_ALONE()),
    "pathspec": ("MPL-2.0", PackageTerm.TESTS_ALONE()),
    "psycopg": ("LGPL-3.0-only", PackageTerm.AN_EXTRA()),
    "psycopg-binary": ("LGPL-3.0-only", PackageTerm.AN_EXTRA()),
}
"""Packages under a copyleft that somebody has looked at: under which, and why it may be."""


@dataclass(frozen=True)
class Checked:
    """What a check found, what it has to say, and how much it looked at."""

    faults: tuple[Reason, ...]
    notes: tuple[Note, ...]
    packages_count: int
    files_count: int


def check(here: Found, locked: Sequence[Locked], required: Sequence[Locked]) -> Checked:
    """Versions, licences and files of everything that is installed.

    `locked` is what may be here, `required` what must be.
    """
    installed = packages(here)
    faults: list[Reason] = list(_against_locks(installed, locked, required))
    notes = [
        PackageNote.WITH_PYTHON(name=one.name, version=one.version)
        for one in installed
        if one.name in WITH_PYTHON
    ]
    for package in installed:
        faults.extend(_of_licence(package))
        if is_copyleft(package.licence) and _accepted(package):
            licence, why = ACCEPTED[package.name]
            notes.append(PackageNote.ACCEPTED(name=package.name, licence=licence, why=why))
    for name, one in sorted(here.items()):
        faults.extend(altered(name, one))
    faults.extend(of_nobody(here.values()))
    files = sum(len(files_of(one) or ()) for one in here.values())
    return Checked(tuple(faults), tuple(notes), len(installed), files)


def _against_locks(
    installed: Sequence[Package], locked: Sequence[Locked], required: Sequence[Locked]
) -> Iterator[Reason]:
    """Each installed package in the locks at its version, each required one installed."""
    allowed: dict[str, set[str]] = {}
    for line in (*locked, *required):
        if line.here:
            allowed.setdefault(line.name, set()).add(line.version)
    for package in installed:
        versions = allowed.get(package.name)
        if package.name in WITH_PYTHON and versions is None:
            continue
        if versions is None:
            yield PackageFault.NOT_LOCKED(name=package.name, version=package.version)
        elif package.version not in versions:
            yield PackageFault.OTHER_VERSION(
                name=package.name, version=package.version, locked=tuple(sorted(versions))
            )
    there = {package.name for package in installed} | {TOOL}
    for name in sorted({line.name for line in required if line.here} - there):
        yield PackageFault.MISSING(name=name, locked=tuple(sorted(allowed[name])))


def _of_licence(package: Package) -> Iterator[Reason]:
    if package.licence.source is LicenceFrom.NOWHERE:
        yield PackageFault.LICENCE_UNKNOWN(name=package.name)
    elif is_copyleft(package.licence) and not _accepted(package):
        yield PackageFault.COPYLEFT(name=package.name, licence=package.licence.text)


def _accepted(package: Package) -> bool:
    """Whether somebody has looked at it, at this licence, and it is not needed to run."""
    licence, _ = ACCEPTED.get(package.name, ("", None))
    return licence == package.licence.text and RUN not in package.needed_for
