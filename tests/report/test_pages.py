"""The HTML sheet and the interactive plot, opened in a real browser."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from burnin.report.make import make_sheet
from tests.report import records

MARKUP = '<script>document.title="taken"</script><img src=x onerror=alert(1)> {{ 7*7 }} & "q"'
WORDS = {
    "pass": "SIMULATED PASS",
    "fail": "SIMULATED FAIL",
    "aborted": "SIMULATED STOPPED BY A GUARD",
    "conditional": "SIMULATED CONDITIONAL",
    "incomplete": "SIMULATED INCOMPLETE",
}


def opened(browser: Browser, path: Path, width: int = 1000) -> tuple[Page, list[str]]:
    """A page with what it complained of while it was loaded."""
    complaints: list[str] = []
    page = browser.new_page(viewport={"width": width, "height": 800})
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("request", lambda request: _note_foreign(request.url, complaints))
    page.goto(path.as_uri())
    return page, complaints


def _note_foreign(url: str, complaints: list[str]) -> None:
    if not url.startswith(("file:", "data:", "blob:")):
        complaints.append(f"asked for {url}")


def test_the_sheet_shows_its_verdict_and_complains_of_nothing(
    browser: Browser, any_record: Path
) -> None:
    verdict = json.loads((any_record / "run.json").read_text())["verdict"]
    page, complaints = opened(browser, make_sheet(any_record)["html"])
    stated = page.locator("h1").inner_text()
    assert stated == WORDS[verdict]
    assert "SIMULATED MACHINE — says nothing of a real card" in page.inner_text(".banner")
    assert page.locator("svg").count() == 1
    assert complaints == []


@pytest.mark.parametrize("width", [1200, 390])
def test_nothing_is_wider_than_the_window(browser: Browser, tmp_path: Path, width: int) -> None:
    draft = records.conditional()
    draft.facts["ticket"]["customer"] = "W" * 10_000
    page, _ = opened(browser, make_sheet(draft.write(tmp_path / "r"))["html"], width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_customer_text_is_shown_and_never_run(browser: Browser, tmp_path: Path) -> None:
    draft = records.aborted()
    draft.facts["ticket"] = dict.fromkeys(
        ("number", "customer", "card_label", "technician", "shop"), MARKUP
    )
    draft.facts["card"]["name"] = MARKUP
    draft.facts["run_id"] = MARKUP
    for stage in draft.facts["stages"]:
        stage["own_title"] = MARKUP[:40]
    why = records.words(MARKUP)
    draft.event(250.0, "GuardTripped", "6-thermal_ramp", reason=why, signal="gpu_temp_c")
    paths = make_sheet(draft.write(tmp_path / "r"))
    page, complaints = opened(browser, paths["html"])
    assert MARKUP in page.inner_text("main")
    assert page.locator("script, img").count() == 0
    assert page.title() != "taken"
    assert complaints == []
    page, complaints = opened(browser, paths["plots"])
    page.wait_for_selector("#plot svg")
    assert page.locator("img").count() == 0
    assert page.title() != "taken"
    assert MARKUP[:40] in page.inner_text("body") or "<script>" in page.inner_text("h1")
    assert complaints == []


def test_every_reading_that_was_not_measured_is_on_the_page(
    browser: Browser, tmp_path: Path
) -> None:
    draft = records.conditional()
    for place in range(40):
        name = f"spare_sensor_{place}_c"
        row = {"verdict": "not measured", "reason": f"reason {place % 7}"}
        draft.reading("6-thermal_ramp", name, "", **row)
    page, _ = opened(browser, make_sheet(draft.write(tmp_path / "r"))["html"])
    text = page.inner_text("main")
    for place in range(40):
        assert f"Spare sensor {place} (°C)" in text
    assert "nobody moved the cable" in text


def test_the_interactive_plot_draws_curves_limits_and_the_stop(
    browser: Browser, tmp_path: Path
) -> None:
    page, complaints = opened(
        browser, make_sheet(records.aborted().write(tmp_path / "r"))["plots"]
    )
    page.wait_for_selector("#plot svg .scatterlayer .trace")
    text = page.locator("body").inner_text()
    assert page.locator("#plot .legend").count() == 0
    assert page.locator("#plot .modebar-btn").count() == 0
    assert "SIMULATED MACHINE" in text
    assert "Stopped by a guard at 251.0 s" in text
    notes = " ".join(page.locator("#plot .annotation-text").all_text_contents())
    for words in ("GPU guard 90", "memory guard 105", "drawn", "fan"):
        assert words in notes
    assert "stopped by a guard" in notes
    assert "4 Memory" in notes
    assert complaints == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_interactive_plot_follows_light_and_dark(
    browser: Browser, tmp_path: Path, scheme: str
) -> None:
    path = make_sheet(records.passed().write(tmp_path / "r"))["plots"]
    page = browser.new_page(color_scheme="dark" if scheme == "dark" else "light")
    page.goto(path.as_uri())
    page.wait_for_selector("#plot svg .xtick text")
    ink = page.eval_on_selector("#plot svg .xtick text", "t => getComputedStyle(t).fill")
    paper = page.eval_on_selector("body", "b => getComputedStyle(b).backgroundColor")
    brightness = [sum(map(int, re.findall(r"\d+", colour)[:3])) for colour in (ink, paper)]
    assert (brightness[0] > brightness[1]) == (scheme == "dark")
    assert abs(brightness[0] - brightness[1]) > 300


def test_pages_without_samples_say_so(browser: Browser, tmp_path: Path) -> None:
    draft = records.conditional()
    draft.samples = []
    paths = make_sheet(draft.write(tmp_path / "r"))
    for path in (paths["html"], paths["plots"]):
        page, complaints = opened(browser, path)
        assert "No samples were recorded" in page.inner_text("body")
        assert complaints == []
