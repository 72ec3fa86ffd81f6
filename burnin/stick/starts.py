"""What starts the stick: the signed programs of Debian's packages, kernel, menu; for a BIOS, GRUB.

Under Secure Boot the firmware checks shim, shim checks GRUB, GRUB checks the kernel. Nothing signs
the menu and the small start-up system beside the kernel: they check the root, nobody checks them.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path
from string import Template

from burnin.core.errors import BadInput
from burnin.stick.layout import MIB, Part, own_id
from burnin.stick.refusals import StickRefusal
from burnin.stick.root_tree import places
from burnin.stick.tools import carry_out
from burnin.stick.wish import Wish, data

_SPARE_BYTES = 12 * MIB
_LEAST_BYTES = 48 * MIB
"""FAT32 wants at least 65,525 clusters (FAT specification 1.03, "FAT type determination")."""
_BIOS_MODULES = (
    *("biosdisk", "part_gpt", "fat", "normal", "linux", "search", "search_fs_file", "configfile"),
    *("serial", "terminal", "echo", "halt", "minicmd", "test", "reboot"),
)


@dataclass(frozen=True)
class Starts:
    """GRUB for a BIOS, in its two halves, and the partition that UEFI reads."""

    boot_sector: bytes
    core: bytes
    firmware_partition: Path


def menu(root_hash: str, hash_offset: int) -> str:
    """GRUB's menu, with the root's hash on the kernel's command line."""
    return Template(data("grub.cfg").read_text("utf-8")).safe_substitute(
        root_part=own_id(Part.ROOT, root_hash),
        journal_part=own_id(Part.JOURNAL, root_hash),
        records_part=own_id(Part.RECORDS, root_hash),
        root_hash=root_hash,
        hash_offset=hash_offset,
    )


def unpacked(wish: Wish) -> dict[str, Path]:
    """The files that are taken from Debian's packages without installing these, by our names."""
    folder = wish.work / "signed"
    if folder.exists():
        shutil.rmtree(folder)
    folder.mkdir(parents=True)
    found: dict[str, Path] = {}
    for package, wanted in places()["from_package"].items():
        carry_out(["apt-get", "-q", "download", package], folder=folder)
        for archive in folder.glob(f"{package}_*.deb"):
            carry_out(["dpkg-deb", "-x", archive, folder / "x"])
        for name, place in wanted.items():
            found[name] = folder / "x" / place.lstrip("/")
            if not found[name].exists():
                raise BadInput(StickRefusal.NOT_IN_PACKAGE(file=place, package=package))
    return found


def made_starts(wish: Wish, root: Path, root_hash: str, hash_offset: int) -> Starts:
    """All that starts the stick; `root` holds kernel and start-up system."""
    files = unpacked(wish)
    (kernel,) = (root / "boot").glob("vmlinuz-*")
    (start,) = (root / "boot").glob("initrd.img-*")
    files |= {"kernel": kernel, "start": start}
    config = wish.work / "grub.cfg"
    config.write_text(menu(root_hash, hash_offset), encoding="utf-8")
    core = wish.work / "core.img"
    bios = files["bios"]
    carry_out(
        [
            "grub-mkimage", "-O", "i386-pc", "-d", bios, "-p", "(,gpt2)/EFI/debian",
            "-o", core, *_BIOS_MODULES,
        ],
        surroundings=wish.surroundings(),
    )  # fmt: skip
    placed = {**places()["on_firmware_partition"]}
    content = {files[name]: place for name, place in placed.items()}
    content[config] = "/EFI/debian/grub.cfg"
    partition = fat(
        wish, wish.work / "firmware.img", content, "BURNIN-BOOT", own_id("fat", root_hash).hex[:8]
    )
    return Starts((bios / "boot.img").read_bytes(), core.read_bytes(), partition)


def fat(
    wish: Wish, file: Path, content: dict[Path, str], label: str, number: str, size_mib: int = 0
) -> Path:
    """A file system that firmware and every system read, with these files."""
    needed = sum(one.stat().st_size for one in content) + _SPARE_BYTES
    size = size_mib * MIB or -(-max(needed, _LEAST_BYTES) // MIB) * MIB
    file.unlink(missing_ok=True)
    with file.open("wb") as stream:
        stream.truncate(size)
    told = wish.surroundings()
    carry_out(
        ["mkfs.vfat", "--invariant", "-F", "32", "-i", number, "-n", label, file], surroundings=told
    )
    made: set[str] = set()
    for source, place in content.items():
        parts = place.strip("/").split("/")
        for depth in range(1, len(parts)):
            folder = "/".join(parts[:depth])
            if folder not in made:
                carry_out(["mmd", "-i", file, f"::/{folder}"], surroundings=told)
                made.add(folder)
        carry_out(["mcopy", "-i", file, source, f"::{place}"], surroundings=told)
    return file
