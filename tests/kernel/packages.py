"""Packages that the emulated bench is made of: fetched, unpacked, never installed.

All names of packages stand here. What is fetched lies in `cache()` and is used again.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

CACHE = "BURNIN_KERNEL_CACHE"
"""The variable that names the folder of the cache."""
TOOLS = (
    *("qemu-system-x86", "seabios", "ipxe-qemu", "busybox-static", "kmod"),
    *("e2fsprogs", "xfsprogs", "dosfstools", "pciutils", "edid-decode"),
)
KERNEL = "linux-image-amd64"
"""A package that holds nothing and depends on the newest kernel of its suite."""
STABLE, NEWER = "stable", "backports"
_KEYS = Path("/usr/share/keyrings/debian-archive-keyring.gpg")
_LONGEST_S = 300.0


class Lacking(Exception):
    """Something that the emulated bench is made of cannot be had here; in words."""


def cache() -> Path:
    """Where packages are kept between sessions."""
    usual = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "burnin" / "kernels"
    return Path(os.environ.get(CACHE) or usual)


def tool(name: str) -> Path:
    """A program: from the packages unpacked, else this machine's own; raises Lacking."""
    folder = unpacked_tools()
    for place in ("usr/bin", "usr/sbin", "bin", "sbin"):
        if (folder / place / name).exists():
            return folder / place / name
    found = shutil.which(name, path=os.environ.get("PATH", "") + ":/usr/sbin:/sbin")
    if found is None:
        raise Lacking(f"{name} is in none of {', '.join(TOOLS)}")
    return Path(found)


def surroundings() -> dict[str, str]:
    """The environment in which an unpacked program finds its libraries."""
    root = unpacked_tools()
    libraries = [root / "usr/lib/x86_64-linux-gnu", root / "lib/x86_64-linux-gnu"]
    known = os.environ.get("LD_LIBRARY_PATH")
    paths = [str(path) for path in libraries] + ([known] if known else [])
    return {**os.environ, "LD_LIBRARY_PATH": ":".join(paths)}


def unpacked_tools() -> Path:
    """The folder of `TOOLS` and of what they need that this machine lacks; raises Lacking."""
    folder = cache() / "tools"
    if not folder.exists():
        archives = cache() / "archives"
        (archives / "partial").mkdir(parents=True, exist_ok=True)
        _apt(
            *("-o", f"Dir::Cache::archives={archives}", "--no-install-recommends", "--yes"),
            *("--download-only", "install", *TOOLS),
        )
        folder.mkdir(parents=True, exist_ok=True)  # all may be on this machine already
        if found := sorted(archives.glob("*.deb")):
            folder.rmdir()
            _unpack(found, folder)
    return folder


def unpacked_kernel(suite: str) -> Path:
    """The folder of the newest kernel of a suite, `STABLE` or `NEWER`; raises Lacking."""
    folder = cache() / f"kernel-{suite}"
    if not folder.exists():
        fetched = cache() / f"fetched-{suite}"
        fetched.mkdir(parents=True, exist_ok=True)
        lists = [] if suite == STABLE else _lists_of(suite)
        _apt(*lists, "download", _image_of(lists), folder=fetched)
        _unpack(sorted(fetched.glob("*.deb")), folder)
    return folder


def _image_of(lists: list[str]) -> str:
    """The package that holds the kernel itself."""
    told = _answer("apt-cache", *lists, "show", "--no-all-versions", KERNEL)
    for line in told.splitlines():
        if line.startswith("Depends:"):
            return line.removeprefix("Depends:").split()[0]
    raise Lacking(f"{KERNEL}: no package list tells of it (apt-get update)")


def _lists_of(suite: str) -> list[str]:
    """Options by which apt knows this suite of the distribution alone, with lists of its own."""
    form = "$(REPO_URI) $(CODENAME) $(RELEASE) $(COMPONENT)"
    targets = _answer("apt-get", "indextargets", "--format", form, "Created-By: Packages")
    for line in targets.splitlines():
        uri, codename, release, component = line.split()
        if codename == release and component == "main":
            break
    else:
        raise Lacking("apt-get names no suite of this distribution")
    place = cache() / suite
    (place / "lists" / "partial").mkdir(parents=True, exist_ok=True)
    signed = f"[signed-by={_KEYS}] " if _KEYS.exists() else ""
    (place / "sources.list").write_text(f"deb {signed}{uri} {codename}-{suite} main\n")
    options = [
        *("-o", f"Dir::Etc::sourcelist={place / 'sources.list'}", "-o", "Dir::Etc::sourceparts=-"),
        *("-o", f"Dir::State::lists={place / 'lists'}", "-o", f"Dir::Cache={place}"),
    ]
    _apt(*options, "update")
    return options


def _apt(*given: str, folder: Path | None = None) -> None:
    """apt-get without the locks of an installation: nothing is installed."""
    _answer("apt-get", "-o", "Debug::NoLocking=1", "--quiet=2", *given, folder=folder)


def _unpack(archives: list[Path], folder: Path) -> None:
    """Put them into one folder; it is there whole or not at all."""
    if not archives:
        raise Lacking("apt-get fetched no package")
    part = folder.with_name(f".{folder.name}.{os.getpid()}")
    for archive in archives:
        _answer("dpkg", "-x", str(archive), str(part))
    _links_inside(part)
    part.rename(folder)


def _links_inside(folder: Path) -> None:
    """A package's absolute links lead into the machine's root: let them lead into the folder."""
    for link in folder.rglob("*"):
        if link.is_symlink() and (target := link.readlink()).is_absolute():
            inside = folder / target.relative_to("/")
            if inside.exists():
                link.unlink()
                link.symlink_to(os.path.relpath(inside, link.parent))


def _answer(*command: str, folder: Path | None = None) -> str:
    try:
        done = subprocess.run(
            command, cwd=folder, capture_output=True, text=True, timeout=_LONGEST_S, check=False
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise Lacking(f"{command[0]}: {error}") from error
    if done.returncode:
        raise Lacking(f"{' '.join(command[:2])}: {done.stderr.strip()[-300:]}")
    return done.stdout
