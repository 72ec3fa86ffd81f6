"""A kernel of the distribution made ready to boot: image, modules, a small root to begin with."""

from __future__ import annotations

import hashlib
import lzma
import subprocess
from dataclasses import dataclass
from pathlib import Path

from tests.kernel.archive import File, archive
from tests.kernel.packages import Lacking, cache, surroundings, tool, unpacked_kernel

FIRST = ("virtio_pci", "9pnet_virtio", "9p", "overlay")
"""Modules without which the machine's own files cannot be reached; all others come from there."""
INIT = Path(__file__).parent / "init.sh"


@dataclass(frozen=True)
class Kernel:
    """A kernel that can be booted; `root` holds ``boot`` and ``lib/modules``."""

    suite: str
    version: str
    root: Path
    image: Path
    initramfs: Path


def kernel(suite: str) -> Kernel:
    """The kernel of a suite; raises Lacking."""
    root = unpacked_kernel(suite)
    images = sorted((root / "boot").glob("vmlinuz-*"))
    if not images:
        raise Lacking(f"no kernel in the package of {suite}")
    version = images[-1].name.removeprefix("vmlinuz-")
    if not (root / "lib/modules" / version / "modules.dep.bin").exists():
        _run("depmod", "-b", str(root), version)
    initramfs = _initramfs(root, version, suite)
    return Kernel(suite, version, root, images[-1], initramfs)


def _initramfs(root: Path, version: str, suite: str) -> Path:
    script = INIT.read_bytes()
    mark = hashlib.sha256(script + Path(__file__).read_bytes()).hexdigest()[:12]
    made = cache() / f"initramfs-{suite}-{version}-{mark}"
    if made.exists():
        return made
    modules = _modules(root, version)
    order = "".join(f"{path.name.removesuffix('.xz')}\n" for path in modules).encode()
    files = [
        File("init", script, 0o755),
        File("bin/busybox", tool("busybox").read_bytes(), 0o755),
        File("modules/order", order),
        *(File(f"modules/{path.name.removesuffix('.xz')}", _plain(path)) for path in modules),
    ]
    part = made.with_suffix(".part")
    part.write_bytes(archive(files))
    part.rename(made)
    return made


def _modules(root: Path, version: str) -> list[Path]:
    """Files of the first modules, each after those that it needs."""
    found: dict[Path, None] = {}
    for name in FIRST:
        told = _run("modprobe", "-d", str(root), "-S", version, "--show-depends", name)
        for line in told.splitlines():
            if line.startswith("insmod "):
                found[Path(line.split()[1])] = None
    return list(found)


def _plain(path: Path) -> bytes:
    data = path.read_bytes()
    return lzma.decompress(data) if path.suffix == ".xz" else data


def _run(name: str, *given: str) -> str:
    done = subprocess.run(
        [str(tool(name)), *given], env=surroundings(), capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise Lacking(f"{name}: {done.stderr.strip()[-300:]}")
    return done.stdout
