"""From the page's stop button to an idle engine: `python -m tests.benchmarks.page_stop`.

A simulated run at the pace of the clock on the wall; the button is pressed in a real Chromium while
the ramp works. Printed is the time from the press, as the browser has it, until the record holds a
sample for which no work was asked, one line a turn: what page, desk, run, sampling and disk take.
"""

from __future__ import annotations

import argparse
import csv
import shutil
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Browser, expect, sync_playwright

from burnin.record.schema.folders import newest_record
from tests.others.page.served import served
from tests.page.conftest import begun

WAIT_MS = 120_000.0
_LISTEN = """() => document.getElementById("stop").addEventListener(
    "click", () => { window.pressed = Date.now(); }, true)"""
QUICK = ("--without", "memory", "--without", "link", "--without", "compute")


def stop_ms(browser: Browser, place: Path) -> float:
    """One run, stopped as its ramp works."""
    results = place / "results"
    run = ("-p", "desktop_air", "--simulated", "healthy", "--pace", "1", *QUICK)
    with begun(results, *run) as process, served(results, place / "shop") as server:
        page = browser.new_context().new_page()
        page.goto(server.whole_address)
        expect(page.locator("#stage-name")).to_contain_text("Heat", timeout=WAIT_MS)
        page.wait_for_timeout(5000.0)
        folder = newest_record(results)
        assert folder is not None
        assert loaded(folder / "samples.csv")
        page.evaluate(_LISTEN)
        page.locator("#stop").click(no_wait_after=True)
        while loaded(folder / "samples.csv"):
            time.sleep(0.002)
        idle_ms = 1e3 * time.time()  # the browser's clock is the wall's
        pressed_ms = float(page.evaluate("window.pressed"))
        process.wait(60.0)
    return idle_ms - pressed_ms


def loaded(samples: Path) -> bool:
    """Whether the last whole row of a growing table is of a card at work."""
    content = samples.read_bytes()
    names = next(csv.reader([content.partition(b"\n")[0].decode()]))
    *_, last, _ = content.rsplit(b"\n", 2)
    row = dict(zip(names, next(csv.reader([last.decode()])), strict=True))
    return any(float(row[name] or 0.0) > 0.0 for name in ("load_share", "load_w"))


def main() -> None:
    """Print each turn and the worst."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--turns", type=int, default=5)
    turns: int = parser.parse_args().turns
    found: list[float] = []
    with sync_playwright() as play:
        path = shutil.which("chromium")
        browser = play.chromium.launch(executable_path=path, args=["--no-sandbox"])
        for _ in range(turns):
            with tempfile.TemporaryDirectory() as place:
                found.append(stop_ms(browser, Path(place)))
            print(f"stop button to the first idle sample: {found[-1]:.0f} ms", flush=True)
        browser.close()
    print(f"worst of {len(found)}: {max(found):.0f} ms")


if __name__ == "__main__":
    main()
