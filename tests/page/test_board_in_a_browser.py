"""Board and ticket in a real browser: one leads to the other, a photo is added, markup is text."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from burnin.ticket.log.store import read_ticket
from tests.others.page.served import served
from tests.ticket import tickets

PATIENT_MS = 45_000.0
MARKUP = '<script>document.title="taken"</script><img src=x onerror=alert(1)>{{ 7*7 }}'


@pytest.fixture
def results(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A ticket whose every field is markup, with a run that passed."""
    monkeypatch.setenv("BURNIN_SHOP", str(tmp_path / "shop"))
    there = tickets.ticket(
        tmp_path / "results", "4711", customer=MARKUP, card=MARKUP, fault=MARKUP, promised=MARKUP
    )
    tickets.run_of(there, 1.0)
    return tmp_path / "results"


@contextmanager
def opened(browser: Browser, address: str, width: int) -> Iterator[tuple[Page, list[str]]]:
    complaints: list[str] = []
    context = browser.new_context(viewport={"width": width, "height": 844})
    page = context.new_page()
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(address)
    try:
        yield page, complaints
    finally:
        context.close()


def test_a_photo_is_added_by_phone_and_markup_stays_as_it_was_typed(
    chromium: Browser, results: Path, tmp_path: Path
) -> None:
    photo = tmp_path / f"{MARKUP.replace('/', '')[:60]}.png"
    Image.new("RGB", (64, 48), (90, 120, 90)).save(photo)
    with served(results, tmp_path / "shop") as server:
        board = server.whole_address.replace("/?", "/board?")
        with opened(chromium, board, 390) as (page, complaints):
            expect(page.locator("#tickets .card-name")).to_have_text(MARKUP, timeout=PATIENT_MS)
            page.locator("#tickets a").click()
            expect(page.locator("#facts")).to_contain_text(MARKUP, timeout=PATIENT_MS)
            page.locator("#picture").set_input_files(photo)
            page.locator("#note").fill(MARKUP)
            page.locator("#send-photo").click()
            expect(page.locator("#said")).to_have_text(
                "The photo is on the ticket.", timeout=PATIENT_MS
            )
            picture = page.locator("#photos img")
            expect(picture).to_have_attribute("src", re.compile("^blob:"), timeout=PATIENT_MS)
            expect(page.locator("#photos p").first).to_contain_text("<img src=x")
            decoded = "(image) => image.decode().then(() => image.naturalWidth)"
            assert picture.evaluate(decoded) == 64
            assert page.locator("img").count() == 1
            assert page.evaluate("() => document.documentElement.scrollWidth") <= 390
            assert "taken" not in page.title()
            page.locator("#runs thead a").first.click()
            expect(page.locator("#word-text")).to_have_text("SIMULATED PASS", timeout=PATIENT_MS)
            assert complaints == []
    assert read_ticket(results, "4711").photos[0].note == MARKUP


def test_without_the_key_no_ticket_is_shown(
    chromium: Browser, results: Path, tmp_path: Path
) -> None:
    with served(results, tmp_path / "shop") as server:
        for place in ("board", "ticket", "round"):
            address = f"{server.address}{place}?ticket=4711#wrong"
            with opened(chromium, address, 1280) as (page, _):
                expect(page.locator("#need-key")).to_be_visible(timeout=PATIENT_MS)
                assert "onerror" not in page.locator("main").inner_text()
