"""A stick, its settings and what builds it: not as they should be."""

from __future__ import annotations

import os
from pathlib import Path
from unittest.mock import patch

from burnin.cli.stick.unattended import unattended
from burnin.core.meaning import ReasonCode
from burnin.stick.added import add_package
from burnin.stick.bios_start import first_sector
from burnin.stick.gpt import FIRST_SECTOR, SECTOR_BYTES, table
from burnin.stick.layout import MIB, Part, disk_sectors, laid_out, own_id
from burnin.stick.places import Places, places
from burnin.stick.reading_back import read_back
from burnin.stick.refusals import StickRefusal
from burnin.stick.root_tree import wheels
from burnin.stick.settings import FILE, read_settings
from burnin.stick.tools import carry_out
from burnin.stick.wish import Wish
from tests.errors.case import Case, each, written

_HASH = "5a" * 32


def _disk(*parts: Part) -> bytes:
    laid = [one for one in laid_out(dict.fromkeys(Part, MIB), _HASH) if one.name in parts]
    sectors = disk_sectors(tuple(laid_out(dict.fromkeys(Part, MIB), _HASH)))
    first, last = table(laid, own_id("disk", _HASH), sectors)
    return first + bytes(sectors * SECTOR_BYTES - len(first) - len(last)) + last


def _torn() -> bytes:
    whole = bytearray(_disk(*Part))
    whole[SECTOR_BYTES + 60] ^= 1
    return bytes(whole)


_DISKS: dict[ReasonCode, bytes] = {
    StickRefusal.NO_TABLE: bytes(FIRST_SECTOR),
    StickRefusal.TABLE_TORN: _torn(),
    StickRefusal.NO_PART: _disk(Part.ROOT, Part.RECORDS),
    StickRefusal.NO_MENU: _disk(*Part),
}
_SETTINGS: dict[ReasonCode, str] = {
    StickRefusal.SETTINGS_TORN: "keyboard = ",
    StickRefusal.SETTING_WRONG: 'keyboard = "klingon"',
}


def _without_a_stick(_: Path) -> None:
    with patch.dict(os.environ, clear=True):
        places()


def _unattended(folder: Path) -> None:
    written(folder, "unattended.toml", "language = 'en'")
    unattended(Places(folder, folder, folder, folder, folder), print)


def _no_tree(folder: Path) -> object:
    return wheels(Wish(folder / "x.img", folder, folder / "work"), lambda _: None)


CASES: tuple[Case, ...] = (
    *each(_DISKS, lambda folder, raw: list(read_back(written(folder, "stick.img", raw)))),
    *each(_SETTINGS, lambda folder, text: read_settings(written(folder, FILE, text))),
    Case(StickRefusal.NO_BOOT_SECTOR, lambda _: first_sector(b"short", bytes(SECTOR_BYTES), 1)),
    Case(StickRefusal.TOOL_MISSING, lambda _: carry_out(["mksquashfs-of-nobody"])),
    Case(StickRefusal.TOOL_FAILED, lambda folder: carry_out(["tar", "-xf", folder / "none"])),
    Case(StickRefusal.NOT_ON_STICK, _without_a_stick),
    Case(StickRefusal.UNATTENDED_WRONG, _unattended),
    Case(StickRefusal.NO_PACKAGE, lambda f: add_package(written(f, "x.deb", "no"), f)),
    Case(
        StickRefusal.OTHER_SUM,
        lambda f: add_package(written(f, "x.deb", "!<arch>\ndebian-binary"), f, "00" * 32),
    ),
    Case(StickRefusal.NO_TREE, _no_tree),
)
