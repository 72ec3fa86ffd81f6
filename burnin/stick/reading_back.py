"""A stick read back: its root against the hash in its menu, all that is fixed against the image."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from burnin.core.errors import BadInput
from burnin.core.meaning import Meaning
from burnin.stick.gpt import SECTOR_BYTES, Partition, read_table
from burnin.stick.layout import FIXED, MIB, Part
from burnin.stick.refusals import StickNote, StickRefusal
from burnin.stick.verity import BLOCK_BYTES, SUPERBLOCK_BYTES, root_hash

_WORDS = re.compile(rb"burnin\.hash=([0-9a-f]{64}) burnin\.offset=([0-9]{1,15}) ")
_SALT_AT, _SALT_LENGTH_AT = 88, 80
"""In the superblock of the hash tree (cryptsetup, lib/verity/verity.c, struct verity_sb)."""


@dataclass(frozen=True)
class Told:
    """A line of what was found."""

    what: Meaning
    is_fault: bool = False


def read_back(device: Path, image: Path | None = None) -> Iterator[Told]:
    """Line by line; raises BadInput where this is no stick of ours."""
    with device.open("rb") as disk:
        parts = _parts(disk, device.name)
        wanted, offset = _menu(disk, parts[Part.FIRMWARE], device.name)
        found = _root(disk, parts[Part.ROOT], offset, device.name)
        if found == wanted:
            yield Told(StickNote.ROOT_RIGHT(size_mib=offset / MIB, root_hash=found))
        else:
            yield Told(StickNote.ROOT_WRONG(root_hash=found, wanted=wanted), is_fault=True)
        if image is None:
            yield Told(StickNote.NOT_COMPARED())
        else:
            yield from _against(disk, image, parts)
    yield Told(StickNote.LEFT_OUT())


def _parts(disk: BinaryIO, name: str) -> dict[Part, Partition]:
    found = {one.name: one for one in read_table(disk, name)}
    for part in Part:
        if part not in found:
            raise BadInput(StickRefusal.NO_PART(file=name, part=part))
    return {part: found[part] for part in Part}


def _menu(disk: BinaryIO, where: Partition, name: str) -> tuple[str, int]:
    """Hash and size of the root, as the menu tells them to the kernel."""
    disk.seek(where.at_bytes)
    found = _WORDS.search(disk.read(where.size_bytes))
    if found is None:
        raise BadInput(StickRefusal.NO_MENU(file=name))
    return found[1].decode(), int(found[2])


def _root(disk: BinaryIO, where: Partition, offset: int, name: str) -> str:
    if offset % BLOCK_BYTES or offset + SUPERBLOCK_BYTES > where.size_bytes:
        raise BadInput(StickRefusal.NO_MENU(file=name))
    disk.seek(where.at_bytes + offset)
    above = disk.read(SUPERBLOCK_BYTES)
    length = int.from_bytes(above[_SALT_LENGTH_AT : _SALT_LENGTH_AT + 2], "little")
    salt = above[_SALT_AT : _SALT_AT + length]
    disk.seek(where.at_bytes)
    return root_hash(disk, offset, salt).hex()


def _against(disk: BinaryIO, image: Path, parts: dict[Part, Partition]) -> Iterator[Told]:
    """The first sectors up to the first partition, then each partition that no use changes."""
    first = min(one.first for one in parts.values())
    spans = [("burnin-table", 0, first * SECTOR_BYTES)]
    spans += [(part.value, parts[part].at_bytes, parts[part].size_bytes) for part in FIXED]
    with image.open("rb") as other:
        for name, at, size in spans:
            differs = _first_difference(disk, other, at, size)
            if differs is None:
                yield Told(StickNote.PART_RIGHT(part=name, size_mib=size / MIB))
            else:
                yield Told(StickNote.PART_WRONG(part=name, at_byte=at + differs), is_fault=True)


def _first_difference(disk: BinaryIO, other: BinaryIO, at: int, size: int) -> int | None:
    disk.seek(at)
    other.seek(at)
    for begin in range(0, size, MIB):
        wanted = min(MIB, size - begin)
        one, two = disk.read(wanted), other.read(wanted)
        if one != two:
            pairs = enumerate(zip(one, two, strict=False))
            shorter = min(len(one), len(two))
            return begin + next((n for n, (a, b) in pairs if a != b), shorter)
    return None
