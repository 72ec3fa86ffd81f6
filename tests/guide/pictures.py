"""The README's pictures, made of one simulated repair: `python -m tests.guide.pictures`.

A terminal at the end of a run, the customer's sheet, and the drawing of a run whose link fell.
Needs Chromium and poppler's pdftoppm. With `--into` they go elsewhere than into the guide.
"""

from __future__ import annotations

import argparse
import html
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

INTO = Path(__file__).parents[2] / "burnin" / "guide" / "pictures"
_TICKET = (
    *("ticket", "open", "4711", "--customer", "Ottilie Maro", "--card", "Corvane Strata 9"),
    *("--fault", "no image after a fall", "--seen", "B14-B15 missing", "--seen", "bracket bent"),
    *("-p", "desktop_air", "--simulated", "--by", "Ilse Tarn"),
)
_LINES = 34
_LOOK = (
    "body{margin:0;background:#101418}pre{display:inline-block;margin:0;padding:18px 22px;"
    "color:#dfe6ea;font:15px/1.25 'DejaVu Sans Mono',monospace}"
)
_COLOURS = 32


def burnin(home: Path, *words: str, fails: bool = False) -> str:
    """What the command prints at 80 columns, in a folder of its own; raises where it went wrong."""
    env = {**os.environ, "HOME": str(home), "XDG_CONFIG_HOME": str(home), "COLUMNS": "80"}
    ran = subprocess.run(
        [sys.executable, "-m", "burnin", *words],
        cwd=home, env={**env, "LANG": "en_GB.UTF-8"}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if ran.returncode != (1 if fails else 0):
        raise SystemExit(f"burnin {' '.join(words)} ended with {ran.returncode}: {ran.stderr}")
    return ran.stdout


def one_repair(home: Path) -> tuple[str, Path, Path]:
    """The last run's screen, the customer's sheet, the drawing of a run whose link fell."""
    burnin(home, "shop", "--init")  # writes an example's shop, which is ours
    burnin(home, *_TICKET)
    burnin(home, "ticket", "repair", "4711", "donor pads", "--contacts", "B14-B15")
    run = ("run", "--ticket", "4711", "--simulated")
    told = burnin(home, *run, "slow_link_under_load", fails=True)
    fell = home / re.findall(r"plot +(\S+\.svg)", told)[-1]
    burnin(home, "ticket", "repair", "4711", "pad B26 soldered anew", "--contacts", "B26")
    screen = burnin(home, *run, "healthy")
    given = burnin(home, "handover", "4711", "--language", "en")
    return screen, home / re.findall(r"\S+customer\.pdf", given)[0], fell


def drawn(browser: object, content: str, at: Path, selector: str) -> None:
    """A picture of an element of a page that is given as text."""
    from playwright.sync_api import Browser

    assert isinstance(browser, Browser)
    page = browser.new_page(viewport={"width": 1100, "height": 800})
    page.set_content(content)
    page.locator(selector).screenshot(path=at)
    page.close()


def fewer_colours(at: Path) -> None:
    """The same picture, small enough to lie beside the text."""
    with Image.open(at) as picture:
        picture.convert("RGB").quantize(_COLOURS, dither=Image.Dither.NONE).save(at, optimize=True)


def main() -> None:
    """Make all three anew."""
    from playwright.sync_api import sync_playwright

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--into", type=Path, default=INTO)
    into: Path = parser.parse_args().into
    into.mkdir(parents=True, exist_ok=True)
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    with tempfile.TemporaryDirectory() as place, sync_playwright() as play:
        screen, sheet, fell = one_repair(Path(place))
        browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        last = "\n".join(screen.rstrip().splitlines()[-_LINES:])
        text = f"<style>{_LOOK}</style><pre>{html.escape(last)}</pre>"
        drawn(browser, text, into / "terminal.png", "pre")
        drawn(browser, fell.read_text("utf-8"), into / "plot.png", "svg")
        browser.close()
        subprocess.run(
            ["pdftoppm", "-r", "80", "-png", "-singlefile", "-l", "1", sheet, into / "sheet"],
            check=True,
        )
    for one in into.glob("*.png"):
        fewer_colours(one)
        print(f"{one.name}: {one.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
