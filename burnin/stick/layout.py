"""What lies where on the stick.

In the table the records partition is the first, as some versions of Windows show one partition of a
stick alone; on the disk it is the last, so that it can be made longer.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from uuid import UUID, uuid5

from burnin.stick.gpt import AFTER_SECTORS, FIRST_SECTOR, SECTOR_BYTES, Partition

MIB = 1 << 20
_OURS = UUID("6e3c4d52-51f0-4bb5-8d4e-0c7bb7c7a1a4")


class Part(StrEnum):
    """A partition of the stick, by the name that it has in the table."""

    BIOS = "burnin-bios"
    FIRMWARE = "burnin-firmware"
    ROOT = "burnin-root"
    JOURNAL = "burnin-journal"
    RECORDS = "burnin-records"


FIXED = (Part.BIOS, Part.FIRMWARE, Part.ROOT)
"""What no use of the stick changes."""
NUMBERS = {Part.RECORDS: 1, Part.FIRMWARE: 2, Part.BIOS: 3, Part.ROOT: 4, Part.JOURNAL: 5}
KINDS: Mapping[Part, UUID] = {
    # UEFI Specification 2.10, table 5-7; GRUB's manual, "BIOS installation"; the rest as systems
    # use them: Linux data, which Windows leaves alone, and basic data, which it shows.
    Part.BIOS: UUID("21686148-6449-6e6f-744e-656564454649"),
    Part.FIRMWARE: UUID("c12a7328-f81f-11d2-ba4b-00a0c93ec93b"),
    Part.ROOT: UUID("0fc63daf-8483-4772-8e79-3d69d8477de4"),
    Part.JOURNAL: UUID("0fc63daf-8483-4772-8e79-3d69d8477de4"),
    Part.RECORDS: UUID("ebd0a0a2-b9e5-4433-87c0-68b6b72699c7"),
}


def own_id(of: str, root_hash: str) -> UUID:
    """An identity that follows from what the stick holds: the same for the same image only."""
    return uuid5(_OURS, f"{of} {root_hash}")


def laid_out(sizes_bytes: Mapping[Part, int], root_hash: str) -> tuple[Partition, ...]:
    """The partitions one behind the other, each beginning at a whole MiB, in the order on disk."""
    at, found = FIRST_SECTOR, []
    for part in (Part.BIOS, Part.FIRMWARE, Part.ROOT, Part.JOURNAL, Part.RECORDS):
        count = -(-sizes_bytes[part] // MIB) * (MIB // SECTOR_BYTES)
        found.append(
            Partition(NUMBERS[part], part, KINDS[part], own_id(part, root_hash), at, count)
        )
        at += count
    return tuple(found)


def disk_sectors(partitions: tuple[Partition, ...]) -> int:
    """How long the whole is, with the second copy of the table: whole MiB."""
    end = max(one.first + one.count for one in partitions) + AFTER_SECTORS
    per_mib = MIB // SECTOR_BYTES
    return -(-end // per_mib) * per_mib
