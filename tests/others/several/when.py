"""Starts a command and does something to it once a text stands in what it wrote or printed.

`when.py [--seen 'GLOB~REGEX' --do 'SHELL']… -- COMMAND…`, one after the other. An empty GLOB is
what the command printed. In SHELL `@keeper` is the command's process, `@02:00.0` the process of the
card there, `@cards` those of all cards, `@all` all of them. A part that was never seen is said.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

POLL_S = 0.02


def main() -> int:
    """Start, wait, do, wait for the end; the command's exit code."""
    cut = sys.argv.index("--")
    words, command = sys.argv[1:cut], sys.argv[cut + 1 :]
    pairs = list(zip(words[1::4], words[3::4], strict=True))
    with tempfile.NamedTemporaryFile("r+", encoding="utf-8") as told:
        process = subprocess.Popen(command, stdout=told, stderr=subprocess.STDOUT)
        for seen, do in pairs:
            place, _, pattern = seen.partition("~")
            while not _met(place or told.name, pattern):
                if process.poll() is not None and not _met(place or told.name, pattern):
                    print(f"never seen: {pattern}")
                    break
                time.sleep(POLL_S)
            else:
                subprocess.run(["bash", "-c", _filled(do, process.pid)], check=False)
        code = process.wait()
        while cards := _cards():  # what outlives its keeper ends by itself
            if all(parent != 1 for parent in cards.values()):
                break
            time.sleep(POLL_S)
        print(Path(told.name).read_text("utf-8", errors="replace"))
    return code if code >= 0 else 128 - code


def _met(place: str, pattern: str) -> bool:
    files = [Path(place)] if place.startswith("/") else list(Path().glob(place))
    found = (file.read_text("utf-8", errors="replace") for file in files if file.is_file())
    return any(re.search(pattern, text) for text in found)


def _filled(do: str, keeper: int) -> str:
    of = {card: pid for pid, (_, card) in _processes(keeper).items() if card}
    cards = " ".join(map(str, of.values()))
    do = do.replace("@keeper", str(keeper)).replace("@cards", cards)
    do = do.replace("@all", f"{keeper} {cards}")
    return re.sub(r"@([0-9a-f]{2}:00\.0)", lambda m: str(of.get(f"0000:{m[1]}", "")), do)


def _processes(keeper: int) -> dict[int, tuple[int, str]]:
    """Parent and card of each process below a keeper."""
    found: dict[int, tuple[int, str]] = {}
    for place in Path("/proc").iterdir():
        if not place.name.isdigit():
            continue
        try:
            stat = (place / "stat").read_text().rpartition(")")[2].split()
            line = (place / "cmdline").read_bytes().decode(errors="replace")
        except OSError:
            continue
        card = re.search(r"--card=(\S{12})\0", line)
        if int(stat[1]) == keeper or (keeper == 0 and card and "--batch-socket" in line):
            found[int(place.name)] = (int(stat[1]), card[1] if card else "")
    return found


def _cards() -> dict[int, int]:
    here = str(Path.cwd())
    found: dict[int, int] = {}
    for pid, (parent, _) in _processes(0).items():
        try:
            if str(Path(f"/proc/{pid}/cwd").resolve()) == here:
                found[pid] = parent
        except OSError:
            continue
    return found


if __name__ == "__main__":
    sys.exit(main())
