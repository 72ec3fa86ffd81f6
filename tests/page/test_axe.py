"""Rules of accessibility on every page that people are given, by axe-core (npm registry, MPL-2.0).

Its rules follow WCAG 2.2, levels A and AA, and name how grave a finding is.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from burnin.report.make import make_sheet
from burnin.ticket.intake.photos import add_photo
from burnin.ticket.log.store import read_ticket
from tests.others.page.served import served
from tests.report import records
from tests.ticket import tickets

AXE = (Path(__file__).parents[1] / "data" / "axe" / "axe.min.js").read_text(encoding="utf-8")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
GRAVE = ("serious", "critical")
Scheme = Literal["dark", "light"]


def grave_findings(page: Page) -> list[str]:
    """What axe-core finds that is serious or critical: rule, and where first."""
    page.evaluate(AXE)
    found = page.evaluate(
        "async (rules) => (await axe.run(document, {runOnly: rules})).violations", RULES
    )
    return [
        f"{one['id']}: {one['nodes'][0]['target']} {one['nodes'][0]['failureSummary']}"
        for one in found
        if one["impact"] in GRAVE
    ]


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A run that a guard ended, a ticket with a failed run and a photo, one that owes all."""
    folder = tmp_path_factory.mktemp("axe") / "results"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BURNIN_SHOP", str(folder.with_name("shop")))
        there = tickets.ticket(folder, "4711", promised="2026-03-01", profile="desktop_air")
        tickets.run_of(there, 1.0, s4="fail")
        picture = folder.with_name("edge.png")
        Image.new("RGB", (60, 40), (90, 120, 90)).save(picture)
        add_photo(read_ticket(folder, "4711"), picture, note="edge", for_customer=True)
        tickets.ticket(folder, "4722", card="Harrow Peak 7 Duo")
    records.aborted().write(folder / "2026-03-01" / "r")
    return folder


@pytest.fixture(scope="module")
def address(results: Path) -> Iterator[str]:
    with served(results, results.parent / "shop") as server:
        yield server.whole_address


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("width", "language"), [(1280, "en"), (390, "de")])
def test_the_live_page(
    chromium: Browser, address: str, scheme: Scheme, width: int, language: str
) -> None:
    context = chromium.new_context(
        viewport={"width": width, "height": 900}, color_scheme=scheme
    )
    page = context.new_page()
    page.goto(address.replace("language=en", f"language={language}"))
    expect(page.locator("#stages li").first).to_be_visible(timeout=30_000)
    expect(page.locator("html")).to_have_attribute("lang", language)
    assert grave_findings(page) == []
    context.close()


@pytest.mark.parametrize(
    ("place", "ready"),
    [
        ("/board?", "#tickets .owed [data-kind=fail]"),
        ("/ticket?ticket=4711&", "#photos img[src^=blob]"),
        ("/round?", "#cards li"),
    ],
    ids=["board", "ticket", "round"],
)
@pytest.mark.parametrize(
    ("scheme", "width", "language"), [("light", 1280, "en"), ("dark", 390, "de")]
)
def test_the_pages_of_tickets_and_of_a_round(
    chromium: Browser, address: str, place: str, ready: str, scheme: Scheme, width: int,
    language: str,
) -> None:  # fmt: skip
    context = chromium.new_context(
        viewport={"width": width, "height": 900}, color_scheme=scheme
    )
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.goto(address.replace("/?", place).replace("language=en", f"language={language}"))
    expect(page.locator(ready).first).to_be_attached(timeout=30_000)
    expect(page.locator("html")).to_have_attribute("lang", language)
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width
    assert grave_findings(page) == []
    assert complaints == []
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["html", "plots"])
def test_sheet_and_plots(chromium: Browser, tmp_path: Path, scheme: Scheme, name: str) -> None:
    path = make_sheet(records.aborted().write(tmp_path / "r"))[name]
    context = chromium.new_context(color_scheme=scheme)
    page = context.new_page()
    page.goto(path.as_uri())
    page.wait_for_load_state()
    assert grave_findings(page) == []
    context.close()


def test_the_rules_find_what_is_wrong(chromium: Browser) -> None:
    page = chromium.new_page()
    page.set_content("<html><body><img src=x><button></button></body></html>")
    assert {line.split(":")[0] for line in grave_findings(page)} >= {"image-alt", "button-name"}
    page.close()
