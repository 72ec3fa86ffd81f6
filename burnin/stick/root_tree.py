"""The root of the stick: Debian's packages, ours with its locked wheels, what starts both."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from burnin.core.errors import BadInput
from burnin.core.meaning import Note
from burnin.stick.refusals import StickNote, StickRefusal
from burnin.stick.tools import carry_out
from burnin.stick.wish import SUITE, Wish, data, list_sum, packages

Told = Callable[[Note], None]
LOCKS = ("run",)
"""Locks of the tree whose wheels go into the root."""


def debian_root(wish: Wish, told: Told) -> Path:
    """An archive of Debian's packages, unpacked and set up; one that is there is used again."""
    archive = wish.work / f"debian-{list_sum(wish)}.tar"
    if archive.is_file():
        told(StickNote.STEP_KEPT(file=str(archive)))
        return archive
    told(StickNote.STEP_DEBIAN(packages_count=len(packages())))
    unfinished = archive.with_suffix(".part.tar")
    carry_out(
        [
            "mmdebstrap", "--mode=root", "--variant=minbase", f"--include={','.join(packages())}",
            '--aptopt=APT::Install-Recommends "false"',
            *(f"--dpkgopt={line}" for line in data("dpkg.txt").read_text("utf-8").splitlines()),
            SUITE, unfinished, *own_sources(),
        ],
        surroundings=wish.surroundings(),
    )  # fmt: skip
    unfinished.rename(archive)
    return archive


def own_sources() -> list[str]:
    """The lists that this machine's own apt takes packages from."""
    return [file for file in places()["sources"].values() if Path(file).is_file()]


def places() -> dict[str, Any]:
    """What lies where: in the root, and in Debian's packages."""
    return tomllib.loads(data("places.toml").read_text("utf-8"))


def wheels(wish: Wish, told: Told) -> Path:
    """The locked wheels, each compared with its sum, and the package itself as a wheel."""
    told(StickNote.STEP_WHEELS())
    folder = wish.work / "wheels"
    folder.mkdir(parents=True, exist_ok=True)
    locks = wish.tree / "burnin" / "cli" / "packages"
    if not (wish.tree / "pyproject.toml").is_file() or not locks.is_dir():
        raise BadInput(StickRefusal.NO_TREE(folder=str(wish.tree)))
    text = "".join((locks / f"lock.{name}.txt").read_text("utf-8") for name in LOCKS)
    tools = wish.work / "tools"
    if not (tools / "bin" / "pip").exists():
        carry_out(["python3", "-m", "venv", tools])
        carry_out(
            [tools / "bin" / "pip", "install", "--require-hashes", "-r", locks / "lock.build.txt"],
            surroundings=wish.surroundings(),
        )
    kept = folder / "lock.txt"
    if not kept.is_file() or kept.read_text("utf-8") != text:
        asked = wish.work / "lock.asked.txt"
        asked.write_text(text, encoding="utf-8")
        carry_out(
            [
                tools / "bin" / "pip", "download", "--only-binary", ":all:", "--require-hashes",
                "-r", asked, "-d", folder,
            ],
            surroundings=wish.surroundings(),
        )  # fmt: skip
        asked.rename(kept)
    for old in folder.glob("burnin-*.whl"):
        old.unlink()
    carry_out(
        [
            tools / "bin" / "pip", "wheel", "--no-deps", "--no-build-isolation",
            "-w", folder, wish.tree,
        ],
        surroundings=wish.surroundings(),
    )  # fmt: skip
    return folder


def made_root(wish: Wish, archive: Path, wheels_in: Path, told: Told) -> Path:
    """The whole root as a folder."""
    told(StickNote.STEP_ROOT())
    root = wish.work / "root"
    if root.exists():
        shutil.rmtree(root)
    root.mkdir(parents=True)
    carry_out(["tar", "-C", root, "--numeric-owner", "-xpf", archive])
    for table, mode in (("mode_644", 0o644), ("mode_755", 0o755)):
        for name, place in places()[table].items():
            put(root / place.lstrip("/"), data(name).read_bytes(), mode)
    inside = root / "build"
    shutil.copytree(wheels_in, inside)
    for name, mode in (("in_root.sh", 0o755), ("keyboards.txt", 0o644)):
        put(inside / name, data(name).read_bytes(), mode)
    carry_out(
        [
            "unshare", "--mount", "--uts", "--ipc", "--pid", "--fork",
            f"--mount-proc={root / 'proc'}", "chroot", root, "sh", "-e", "/build/in_root.sh",
        ],
        surroundings=wish.surroundings(),
    )  # fmt: skip
    shutil.rmtree(inside)
    return root


def put(path: Path, content: bytes, mode: int) -> None:
    """A file with this content and mode, its folders made."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    path.chmod(mode)


def squeezed(wish: Wish, root: Path, told: Told) -> Path:
    """The root in one file that cannot be written to."""
    told(StickNote.STEP_SQUEEZE())
    file = wish.work / "root.squashfs"
    file.unlink(missing_ok=True)
    carry_out(
        [
            "mksquashfs", root, file, "-noappend", "-no-progress", "-quiet", "-no-exports",
            "-comp", *wish.squeeze, "-processors", str(wish.processors_count),
            "-wildcards", "-e", *data("left_out.txt").read_text("utf-8").split(),
        ],
        surroundings=wish.surroundings(),
    )  # fmt: skip
    return file
