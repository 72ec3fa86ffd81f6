"""Installed packages that nobody made: folders with the metadata that an installer leaves."""

from __future__ import annotations

import hashlib
from base64 import urlsafe_b64encode
from collections.abc import Mapping, Sequence
from importlib.metadata import Distribution, distributions
from pathlib import Path

from burnin.cli.packages.installed import found


def put(
    site: Path,
    name: str,
    version: str = "1.0",
    fields: Sequence[str] = ("License-Expression: MIT",),
    texts: Mapping[str, str] | None = None,
) -> Path:
    """A package with one module and licence files; gives the module."""
    about = site / f"{name}-{version}.dist-info"
    module = site / f"{name}.py"
    module.parent.mkdir(parents=True, exist_ok=True)
    about.mkdir()
    module.write_text(f"version = {version!r}\n")
    lines = ["Metadata-Version: 2.4", f"Name: {name}", f"Version: {version}", *fields]
    files = [module, about / "METADATA"]
    for file, text in (texts or {}).items():
        lines.append(f"License-File: {file}")
        files.append(about / "licenses" / file)
        files[-1].parent.mkdir(exist_ok=True)
        files[-1].write_text(text)
    (about / "METADATA").write_text("\n".join((*lines, "", "")))
    rows = [f"{file.relative_to(site)},sha256={_sum(file)},{file.stat().st_size}" for file in files]
    (about / "RECORD").write_text("\n".join((*rows, f"{about.name}/RECORD,,", "")))
    return module


def here(site: Path) -> dict[str, Distribution]:
    """What is installed in a folder."""
    return found(distributions(path=[str(site)]))


def _sum(file: Path) -> str:
    digest = hashlib.sha256(file.read_bytes()).digest()
    return urlsafe_b64encode(digest).rstrip(b"=").decode()
