"""Configuration spaces shown to pciutils' lspci in the form that it reads back."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterable
from pathlib import Path


def hexdump(spaces: Iterable[bytes]) -> str:
    """What ``lspci -xxxx`` prints: a device a block, sixteen bytes a line."""
    blocks = []
    for number, data in enumerate(spaces):
        lines = [f"{number >> 8:02x}:{number >> 3 & 31:02x}.{number & 7} a device"]
        lines += [
            f"{at:02x}: {data[at : at + 16].hex(' ')}" for at in range(0, len(data), 16)
        ]
        blocks.append("\n".join(lines) + "\n")
    return "\n".join(blocks)


def told(program: str, spaces: list[bytes], folder: Path) -> list[str]:
    """What lspci says of each space."""
    path = folder / "spaces.txt"
    path.write_text(hexdump(spaces))
    done = subprocess.run(
        [program, "-F", str(path), "-nn", "-vvv"], capture_output=True, text=True, check=True
    )
    parts = re.split(r"\n(?=[0-9a-f]{2}:[0-9a-f]{2}\.[0-7] )", done.stdout.strip())
    assert len(parts) == len(spaces)
    return parts


def flags(line: str) -> set[str]:
    """The names with a plus in a line such as ``CESta: RxErr+ BadTLP-``."""
    return set(re.findall(r"(\S+)\+", line.split(":", 1)[1]))


def line_of(text: str, start: str) -> str:
    """The line that begins with `start`."""
    return next(line.strip() for line in text.splitlines() if line.strip().startswith(start))
