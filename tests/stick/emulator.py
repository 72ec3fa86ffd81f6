"""The image in an emulated computer: three kinds of firmware, its serial port and its screen read.

QEMU and its firmware come with Debian's packages qemu-system-x86 and ovmf; nothing is accelerated,
so that it is the same everywhere. A boot takes minutes.
"""

from __future__ import annotations

import shutil
import socket
import subprocess
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.stick.gpt import read_table
from burnin.stick.layout import Part

_FIRMWARE = Path("/usr/share/OVMF")
KINDS = ("bios", "uefi", "uefi_secure")
_MEMORY_MIB = 3072
_LONGEST_S = 3000.0


@dataclass
class Computer:
    """A running one: its process, what its serial port has said, and the way to its monitor."""

    process: subprocess.Popen[bytes]
    serial: Path
    monitor: Path

    def said(self) -> str:
        return self.serial.read_bytes().decode("utf-8", "replace") if self.serial.exists() else ""

    def wait_for(self, words: str) -> str:
        """Until the serial port has said this; it gives all that it said."""
        return self._until(lambda: words in self.said(), words)

    def wait_for_end(self) -> str:
        """Until the computer is off."""
        return self._until(lambda: self.process.poll() is not None, "power off")

    def _until(self, done: Callable[[], bool], what: str) -> str:
        end_s = time.monotonic() + _LONGEST_S
        while not done():
            if time.monotonic() > end_s or (self.process.poll() is not None and not done()):
                raise AssertionError(f"no {what}; it said last: {self.said()[-2000:]}")
            time.sleep(1.0)
        return self.said()

    def tell(self, line: str) -> None:
        """A line to the monitor: a key, a picture of the screen, the power key."""
        with socket.socket(socket.AF_UNIX) as way:
            way.connect(str(self.monitor))
            way.sendall(f"{line}\n".encode())
            time.sleep(0.5)

    def cut(self) -> None:
        """The power goes."""
        self.process.kill()
        self.process.wait()


def firmware(kind: str, folder: Path) -> list[str]:
    """What QEMU is told for a kind of firmware."""
    if kind == "bios":
        return ["-machine", "q35"]
    secure = kind == "uefi_secure"
    code = _FIRMWARE / ("OVMF_CODE_4M.secboot.fd" if secure else "OVMF_CODE_4M.fd")
    variables = folder / "variables.fd"
    shutil.copy(_FIRMWARE / ("OVMF_VARS_4M.ms.fd" if secure else "OVMF_VARS_4M.fd"), variables)
    given = ["-machine", "q35,smm=on"] if secure else ["-machine", "q35"]
    if secure:
        given += ["-global", "driver=cfi.pflash01,property=secure,value=on"]
    return [
        *given,
        *("-drive", f"if=pflash,format=raw,unit=0,readonly=on,file={code}"),
        *("-drive", f"if=pflash,format=raw,unit=1,file={variables}"),
    ]


def start(image: Path, folder: Path, kind: str, more: Sequence[str] = ()) -> Computer:
    """Start a computer of this kind from the image, which it writes to."""
    folder.mkdir(parents=True, exist_ok=True)
    serial, monitor = folder / "serial.txt", folder / "monitor"
    words = [
        "qemu-system-x86_64", "-accel", "tcg,thread=multi", "-cpu", "Nehalem", "-smp", "2",
        "-m", str(_MEMORY_MIB), *firmware(kind, folder), "-display", "none", "-vga", "std",
        "-nic", "none", "-drive", f"if=none,id=stick,format=raw,file={image}",
        "-device", "virtio-blk-pci,drive=stick", "-serial", f"file:{serial}",
        "-monitor", f"unix:{monitor},server=on,wait=off", *more,
    ]  # fmt: skip
    return Computer(subprocess.Popen(words), serial, monitor)


def part_of(image: Path, part: Part) -> int:
    """Where a partition begins, in bytes, for mtools and loop mounts."""
    with image.open("rb") as disk:
        return next(one.at_bytes for one in read_table(disk, image.name) if one.name == part)


def put_on_records(image: Path, file: Path) -> None:
    """Copy a file onto the records partition."""
    place = f"{image}@@{part_of(image, Part.RECORDS)}"
    subprocess.run(["mcopy", "-o", "-i", place, str(file), "::/"], check=True)


def taken_from_records(image: Path, name: str, folder: Path) -> Path:
    """Copy a file or folder off the records partition, as another computer would."""
    place = f"{image}@@{part_of(image, Part.RECORDS)}"
    folder.mkdir(parents=True, exist_ok=True)
    subprocess.run(["mcopy", "-s", "-n", "-i", place, f"::/{name}", str(folder)], check=True)
    return folder / name
