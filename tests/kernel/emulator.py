"""The emulated bench: one processor without acceleration, a root port, a display adapter behind it.

What works here and what does not was tried with QEMU 7.2: with hot-plug on a native port the slot
is switched off at the start; a card trains one lane at 2.5 GT/s below any port.
"""

from __future__ import annotations

import contextlib
import os
import shlex
import signal
import subprocess
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.kernel.guest.saying import STAND_STILL
from tests.kernel.kernels import Kernel
from tests.kernel.packages import Lacking, surroundings, tool, unpacked_tools

PORT = ("pcie-root-port,id=rp1,bus=pcie.0,chassis=1,slot=1,x-speed=16,x-width=16,hotplug=off",)
CARD = (*PORT, "virtio-gpu-pci,bus=rp1,aer=on,edid=on,xres=1920,yres=1080")
"""A card as a bench of today has one: endpoint of PCI Express below a root port."""
COMMAND_LINE = "console=ttyS0 quiet panic=-1 pcie_ports=native random.trust_cpu=on"
_MEMORY_MIB = 2048
STILL_S = 3.0
"""For how long a bench that asks for it gets no processor."""


@dataclass(frozen=True)
class Bench:
    """What is emulated. `program` runs inside, in `folder`; the power is cut where it ends.

    `drives` are QEMU's own options of each drive, in order. `said` and `console` lie in `out`.
    """

    kernel: Kernel
    out: Path
    program: Sequence[str]
    folder: Path
    devices: Sequence[str] = CARD
    drives: Sequence[str] = ()
    command_line: str = ""
    environment: tuple[tuple[str, str], ...] = ()

    @property
    def console(self) -> Path:
        """What the kernel wrote on its console."""
        return self.out / "console.log"


def start(bench: Bench) -> subprocess.Popen[bytes]:
    """Switch it on; raises Lacking where it cannot be."""
    bench.out.mkdir(parents=True, exist_ok=True)
    _write_start(bench)
    data = next((p for p in _firmware() if (p / "bios-256k.bin").exists()), None)
    if data is None:
        raise Lacking("no firmware for the emulator (seabios)")
    root, out = "local,id=fs0,path=/,security_model=none,readonly=on,multidevs=remap", bench.out
    firmware = [option for path in _firmware() for option in ("-L", str(path))]
    command = [
        *(str(tool("qemu-system-x86_64")), *firmware, "-nodefaults", "-no-reboot"),
        *("-machine", "q35,accel=tcg", "-cpu", "max", "-smp", "1", "-m", str(_MEMORY_MIB)),
        *("-vga", "none", "-net", "none", "-display", "none"),
        *("-serial", f"file:{bench.console}"),
        *("-kernel", str(bench.kernel.image), "-initrd", str(bench.kernel.initramfs)),
        *("-append", f"{COMMAND_LINE} {bench.command_line}".strip()),
        *("-fsdev", root, "-device", "virtio-9p-pci,fsdev=fs0,mount_tag=root"),
        *("-fsdev", f"local,id=fs1,path={out},security_model=none"),
        *("-device", "virtio-9p-pci,fsdev=fs1,mount_tag=out"),
        *(option for device in bench.devices for option in ("-device", device)),
        *bench.drives,
    ]
    with (out / "emulator.log").open("wb") as log:
        return subprocess.Popen(
            ["nice", "-n", "5", *command],
            env=surroundings(),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=log,
            start_new_session=True,
        )


@contextlib.contextmanager
def switched_on(bench: Bench) -> Iterator[subprocess.Popen[bytes]]:
    """The bench while it is on; at the end of the block its power is cut."""
    process = start(bench)
    try:
        yield process
    finally:
        cut(process)


def cut(process: subprocess.Popen[bytes]) -> None:
    """Take the power away, now."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def run_to_its_end(bench: Bench, longest_s: float) -> float:
    """Switch it on and wait until it has switched itself off; seconds that it took.

    Raises TimeoutError, with the end of what was said on the console.
    """
    began = time.monotonic()
    with switched_on(bench) as process:
        while process.poll() is None:
            if time.monotonic() - began > longest_s:
                raise TimeoutError(f"still on after {longest_s:.0f} s\n{last_words(bench)}")
            if (bench.out / STAND_STILL).exists():
                (bench.out / STAND_STILL).unlink()
                _stand_still(process)
            time.sleep(0.1)
    return time.monotonic() - began


def _stand_still(process: subprocess.Popen[bytes]) -> None:
    """The bench gets no processor, as a guest whose host gives it none."""
    os.kill(process.pid, signal.SIGSTOP)
    time.sleep(STILL_S)
    os.kill(process.pid, signal.SIGCONT)


def last_words(bench: Bench) -> str:
    """The end of the console's and the emulator's logs."""
    files = (bench.console, bench.out / "program.log", bench.out / "emulator.log")
    ends = (f.read_text(errors="replace")[-1500:] for f in files if f.exists())
    return "\n".join(ends)


def _firmware() -> tuple[Path, ...]:
    root = unpacked_tools()
    shared = ("usr/share/qemu", "usr/share/seabios", "usr/lib/ipxe/qemu")
    return (*(root / path for path in shared), *(Path("/") / path for path in shared))


def _write_start(bench: Bench) -> None:
    """The program that is process 1: it sets the environment and starts what is asked for."""
    tools = unpacked_tools()
    libraries = f"{tools}/usr/lib/x86_64-linux-gnu:{tools}/lib/x86_64-linux-gnu"
    path = ":".join(f"{tools}/{p}" for p in ("usr/sbin", "usr/bin", "sbin", "bin"))
    settings = {
        "PATH": f"{path}:/usr/sbin:/usr/bin:/sbin:/bin",
        "TOOL_LIBRARIES": libraries,
        "KERNEL_ROOT": str(bench.kernel.root),
        "HOME": "/root",
        "VK_ICD_FILENAMES": "/nonexistent",  # the test machine's own adapters are not the bench's
        "PYTHONDONTWRITEBYTECODE": "1",
        **dict(bench.environment),
    }
    lines = [
        "#!/bin/sh",
        *(f"export {name}={shlex.quote(value)}" for name, value in settings.items()),
        f"cd {shlex.quote(str(bench.folder))}",
        f"{shlex.join(bench.program)} > /out/program.log 2>&1",
        "echo $? > /out/ended",
        "sync",
        "echo o > /proc/sysrq-trigger",
        "while :; do :; done",
    ]
    (bench.out / "start").write_text("\n".join(lines) + "\n")
    (bench.out / "start").chmod(0o755)
