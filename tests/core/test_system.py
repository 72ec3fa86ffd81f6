"""From the operating system's errors to ours: each that the table knows, and any other."""

from __future__ import annotations

import errno
import os

import pytest

from burnin.core import errors
from burnin.core.system import KNOWN, SystemReason, ours
from burnin.report.languages.catalogue import catalogue

MUST_BE_KNOWN = {
    "ENOSPC": errors.DiskFull,
    "EDQUOT": errors.DiskFull,
    "EROFS": errors.DiskReadOnly,
    "EIO": errors.DiskBroken,
    "EACCES": errors.NotPermitted,
    "EPERM": errors.NotPermitted,
    "ENOENT": errors.NotFound,
    "ENOTDIR": errors.NotFound,
    "EMFILE": errors.TooManyFiles,
    "ENFILE": errors.TooManyFiles,
    "EPIPE": errors.NobodyReads,
}


@pytest.mark.parametrize(("name", "kind"), MUST_BE_KNOWN.items())
def test_each_is_mapped(name: str, kind: type[errors.RefusedBySystem]) -> None:
    number = getattr(errno, name)
    found = ours(OSError(number, os.strerror(number), "results/a.csv"))
    assert type(found) is kind


@pytest.mark.parametrize("number", sorted(KNOWN))
def test_each_of_the_table_has_words_with_its_file_in_every_language(number: int) -> None:
    found = ours(OSError(number, os.strerror(number), "results/a.csv"))
    assert found.reason.means(KNOWN[number][1])
    english, german = (catalogue(code).say(found.reason) for code in ("en", "de"))
    assert english != german
    for said in (english, german):
        assert found.reason.code not in said
        assert ("results/a.csv" in said) == ("file" in dict(found.reason.data))


def test_any_other_keeps_the_systems_own_words_and_number() -> None:
    found = ours(OSError(errno.EBUSY, "Device or resource busy", "/dev/thing"))
    assert type(found) is errors.RefusedBySystem
    assert found.reason == SystemReason.REFUSED(
        file="/dev/thing", words="Device or resource busy", number=errno.EBUSY
    )


def test_an_error_without_a_number_is_told_by_its_text() -> None:
    found = ours(OSError("cannot be mapped"))
    assert found.reason["words"] == "cannot be mapped"
    assert catalogue("en").say(found.reason).startswith("this computer: cannot be mapped")


def test_every_kind_of_refusal_is_reached_by_the_table() -> None:
    kinds = {kind for kind, _ in KNOWN.values()}
    assert kinds == set(errors.RefusedBySystem.__subclasses__())
