"""An image of the stick, from Debian's packages and the tree, step by step; start reading here."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from burnin.core.errors import BadInput
from burnin.core.files.own_process import own_uid
from burnin.stick.bill import bill, debian_versions, other_than_locked, python_versions
from burnin.stick.bios_start import first_sector, placed_core
from burnin.stick.gpt import SECTOR_BYTES, Partition, table
from burnin.stick.layout import MIB, Part, disk_sectors, laid_out, own_id
from burnin.stick.refusals import StickNote, StickRefusal
from burnin.stick.root_tree import Told, debian_root, made_root, places, squeezed, wheels
from burnin.stick.starts import Starts, fat, made_starts
from burnin.stick.tools import carry_out, need_tools
from burnin.stick.verity import BLOCK_BYTES
from burnin.stick.wish import Wish, data

_COPY_BYTES = 4 * MIB


@dataclass(frozen=True)
class Built:
    """What came of a build."""

    image: Path
    sha256: str
    root_hash: str
    parts_mib: Mapping[str, float]


def build(wish: Wish, told: Told) -> Built:
    """Build the image; raises BadInput where something is missing or a program of it fails."""
    need_tools()
    if own_uid() != 0:
        raise BadInput(StickRefusal.NOT_ROOT())
    if wish.image.exists():
        raise BadInput(StickRefusal.IMAGE_THERE(file=str(wish.image)))
    wish.work.mkdir(parents=True, exist_ok=True)
    root = made_root(wish, debian_root(wish, told), wheels(wish, told), told)
    squashed = squeezed(wish, root, told)
    told(StickNote.STEP_TREE())
    root_hash, offset = with_hashes(wish, squashed)
    starts = made_starts(wish, root, root_hash, offset)
    told(StickNote.STEP_IMAGE())
    built = assembled(wish, squashed, root_hash, starts)
    _bill(root, built, told)
    return built


def _bill(root: Path, built: Built, told: Told) -> None:
    """What the image is made of, beside it; packages that are not as locked are told."""
    debian = debian_versions((root / places()["bill"]["status"]).read_text("utf-8"))
    python = python_versions(root / places()["bill"]["python"])
    own = own_id("bill", built.root_hash)
    text = bill(debian, python, built.image.name, built.sha256, own)
    beside = built.image.with_name(f"{built.image.name}.bill.json")
    beside.write_text(text, encoding="utf-8")
    told(StickNote.BILL(file=str(beside), packages_count=len(debian) + len(python)))
    if others := tuple(other_than_locked(debian)):
        told(StickNote.NOT_AS_LOCKED(packages=others))



def with_hashes(wish: Wish, file: Path) -> tuple[str, int]:
    """Put the tree of hashes behind the root; gives the hash over all and where the tree begins."""
    size = -(-file.stat().st_size // BLOCK_BYTES) * BLOCK_BYTES
    os.truncate(file, size)
    with file.open("rb") as stream:
        salt = hashlib.file_digest(stream, "sha256").hexdigest()
    said = carry_out(
        [
            "veritysetup", "format", file, file, f"--hash-offset={size}", f"--salt={salt}",
            f"--data-blocks={size // BLOCK_BYTES}", f"--uuid={own_id('hashes', salt)}",
        ],
        surroundings=wish.surroundings(),
    )  # fmt: skip
    found = re.search(r"^Root hash:\s*([0-9a-f]{64})$", said, re.MULTILINE)
    if found is None:
        raise BadInput(StickRefusal.TOOL_FAILED(tool="veritysetup", status=0, last=said[-200:]))
    return found[1], size


def journal(wish: Wish, root_hash: str) -> Path:
    """The empty journal: ext4, which keeps what was synced when the power is cut."""
    file = wish.work / "journal.img"
    file.unlink(missing_ok=True)
    with file.open("wb") as stream:
        stream.truncate(wish.journal_mib * MIB)
    number = own_id("ext4", root_hash)
    carry_out(
        [
            "mke2fs", "-q", "-t", "ext4", "-U", str(number), "-L", "burnin-journal", "-m", "0",
            "-E", f"hash_seed={number},lazy_itable_init=0,lazy_journal_init=0,root_owner=0:0", file,
        ],
        surroundings=wish.surroundings(),
    )  # fmt: skip
    return file


def records(wish: Wish, root_hash: str) -> Path:
    """The records partition, which every system reads, with what may be written there before."""
    content = {}
    for name, place in (("bench.toml", "/bench-example.toml"), ("read_me.txt", "/READ_ME.txt")):
        file = wish.work / name
        file.write_bytes(data(name).read_bytes())
        content[file] = place
    number = own_id("records", root_hash).hex[:8]
    file = wish.work / "records.img"
    return fat(wish, file, content, "BURNIN", number, wish.records_mib)


def assembled(wish: Wish, root: Path, root_hash: str, starts: Starts) -> Built:
    """All parts in one file, under its name only when it is whole."""
    files = {
        Part.FIRMWARE: starts.firmware_partition,
        Part.ROOT: root,
        Part.JOURNAL: journal(wish, root_hash),
        Part.RECORDS: records(wish, root_hash),
    }
    sizes = {part: file.stat().st_size for part, file in files.items()}
    partitions = laid_out({Part.BIOS: len(starts.core), **sizes}, root_hash)
    by_part = {Part(one.name): one for one in partitions}
    sectors = disk_sectors(partitions)
    first, last = table(partitions, own_id("disk", root_hash), sectors)
    at = by_part[Part.BIOS].first
    unfinished = wish.image.with_name(f".{wish.image.name}.part")
    with unfinished.open("wb+") as image:
        image.truncate(sectors * SECTOR_BYTES)
        image.write(first_sector(starts.boot_sector, first[:SECTOR_BYTES], at))
        image.write(first[SECTOR_BYTES:])
        image.seek(at * SECTOR_BYTES)
        image.write(placed_core(starts.core, at))
        for part, file in files.items():
            _put(image, by_part[part], file)
        image.seek(sectors * SECTOR_BYTES - len(last))
        image.write(last)
        image.flush()
        os.fsync(image.fileno())
        image.seek(0)
        sum_ = hashlib.file_digest(image, "sha256").hexdigest()
    unfinished.rename(wish.image)
    beside = wish.image.with_name(f"{wish.image.name}.sha256")
    beside.write_text(f"{sum_}  {wish.image.name}\n", encoding="utf-8")
    mib = {part.value: by_part[part].size_bytes / MIB for part in by_part}
    return Built(wish.image, sum_, root_hash, mib)


def _put(image: BinaryIO, where: Partition, file: Path) -> None:
    """Copy a part to its place; what is zero is left out, as the image is zero already."""
    image.seek(where.at_bytes)
    with file.open("rb") as source:
        while piece := source.read(_COPY_BYTES):
            if piece.count(0) == len(piece):
                image.seek(len(piece), os.SEEK_CUR)
            else:
                image.write(piece)


def clean(wish: Wish) -> None:
    """Take away what was made on the way."""
    shutil.rmtree(wish.work)
