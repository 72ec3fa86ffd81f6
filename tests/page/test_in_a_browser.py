"""The page in a real browser beside a real run: followed, answered, stopped, gone and back."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from burnin.core.verdict import Ended, RunVerdict
from burnin.record.reader import read_record
from burnin.record.schema.folders import newest_record
from tests.others.page.served import served
from tests.page.one_prompt import one_prompt
from tests.report import records

RunBeside = Callable[..., AbstractContextManager["subprocess.Popen[bytes]"]]
PATIENT_MS = 45_000.0
"""How long a slow machine may take; nothing here waits for as long where all is well."""
QUICK = ("--without", "memory", "--without", "link", "--without", "compute")


@contextmanager
def opened(
    browser: Browser, address: str, width: int = 1280, height: int = 900
) -> Iterator[tuple[Page, list[str]]]:
    """The page, and what it complained of."""
    complaints: list[str] = []
    context = browser.new_context(viewport={"width": width, "height": height})
    page = context.new_page()
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(address)
    try:
        yield page, complaints
    finally:
        context.close()


def soon(what: Locator, text: str) -> None:
    expect(what).to_contain_text(text, timeout=PATIENT_MS)


@pytest.mark.long
def test_a_run_from_its_start_to_its_stop_by_a_guard(
    chromium: Browser, run_beside: RunBeside, tmp_path: Path
) -> None:
    results = tmp_path / "results"
    with (
        served(results, tmp_path / "shop") as server,
        opened(chromium, server.whole_address) as (page, complaints),
    ):
        soon(page.locator("#problem"), "No run yet")
        with run_beside("-p", "desktop_air", "--simulated", "fan_stall", "--pace", "25", *QUICK):
            soon(page.locator("#banner"), "SIMULATED MACHINE")
            soon(page.locator("#power .lines"), "full work asked")
            soon(page.locator("#temperature .lines"), "limit 90 °C")
            soon(page.locator("#notices"), "Do all fans turn freely")
            soon(page.locator("#word-text"), "SIMULATED STOPPED BY A GUARD")
            soon(page.locator("#word-title"), "The word")
        expect(page.locator("#stop")).to_be_disabled()
        expect(page.locator("#stages li")).to_have_count(8)
        assert complaints == []


def test_a_prompt_is_answered_on_a_phone(
    chromium: Browser, run_beside: RunBeside, tmp_path: Path
) -> None:
    results = tmp_path / "results"
    with (
        run_beside(
            "-p", one_prompt(tmp_path), "--simulated", "dead_output", "--ask", "--pace", "30"
        ),
        served(results, tmp_path / "shop") as server,
        opened(chromium, server.whole_address, 390, 844) as (page, complaints),
    ):
        soon(page.locator("#prompt-text"), "DP-2")
        assert page.evaluate("() => document.documentElement.scrollWidth") <= 390
        expect(page.locator("#no")).to_be_in_viewport()
        expect(page.locator("#stop")).to_be_in_viewport()
        page.locator("#no").click()
        soon(page.locator("#said"), "has taken the answer")
        expect(page.locator("#prompt")).to_be_hidden(timeout=PATIENT_MS)
        assert complaints == []
        folder = newest_record(results)
        assert folder is not None
        asked = read_record(folder).events("Asked")
        assert [entry.detail["answer"] for entry in asked] == ["no"]


def test_the_stop_button_ends_the_load(
    chromium: Browser, run_beside: RunBeside, tmp_path: Path
) -> None:
    results = tmp_path / "results"
    with (
        run_beside("-p", "desktop_air", "--simulated", "healthy", "--pace", "4", *QUICK) as run,
        served(results, tmp_path / "shop") as server,
        opened(chromium, server.whole_address) as (page, _),
    ):
        soon(page.locator("#stage-name"), "Heat under rising load")
        page.locator("#stop").click()
        soon(page.locator("#said"), "load goes off first")
        assert run.wait(60.0) == 4
        soon(page.locator("#word-text"), "SIMULATED CONDITIONAL")
    folder = newest_record(results)
    assert folder is not None
    record = read_record(folder)
    assert (record.run.verdict, record.run.ended) == (
        RunVerdict.CONDITIONAL, Ended.STOPPED_BY_HAND,
    )  # fmt: skip
    *_, last = record.samples()
    assert not last.loaded


@pytest.mark.long
def test_a_page_whose_server_was_killed_goes_on_when_it_is_back(
    chromium: Browser, run_beside: RunBeside, tmp_path: Path
) -> None:
    results, shop = tmp_path / "results", tmp_path / "shop"
    with run_beside("-p", "desktop_air", "--simulated", "healthy", "--pace", "4", *QUICK):
        with served(results, shop) as server:
            context = chromium.new_context()
            page = context.new_page()
            page.goto(server.whole_address)
            soon(page.locator("#stage-name"), "Heat")
        expect(page.locator("#no-connection")).to_be_visible(timeout=PATIENT_MS)
        expect(page.locator("#stop")).to_be_disabled()
        with served(results, shop, port=server.port) as again:
            assert again.key == server.key
            expect(page.locator("#no-connection")).to_be_hidden(timeout=PATIENT_MS)
            expect(page.locator("#stop")).to_be_enabled(timeout=PATIENT_MS)
        context.close()


@pytest.mark.long
def test_two_who_look_see_the_same_and_a_run_that_was_killed_and_gone_on_with(
    chromium: Browser, run_beside: RunBeside, tmp_path: Path
) -> None:
    results = tmp_path / "results"
    asks = ("-p", one_prompt(tmp_path), "--simulated", "dead_output", "--ask", "--pace", "30")
    with (
        served(results, tmp_path / "shop") as server,
        opened(chromium, server.whole_address) as (one, complaints),
        opened(chromium, server.whole_address, 390, 844) as (other, _),
    ):
        with run_beside(*asks):
            for page in (one, other):
                soon(page.locator("#prompt-text"), "DP-2")
        for page in (one, other):  # the run was killed
            soon(page.locator("#word-text"), "CUT OFF")
            expect(page.locator("#stop")).to_be_disabled()
        folder = newest_record(results)
        assert folder is not None
        with run_beside("--resume", str(folder), "--ask"):
            for page in (one, other):
                soon(page.locator("#prompt-text"), "DP-2")
            other.locator("#no").click()
            for page in (one, other):
                expect(page.locator("#prompt")).to_be_hidden(timeout=PATIENT_MS)
        assert complaints == []
    assert newest_record(results) == folder


MARKUP = '<script>document.title="taken"</script><img src=x onerror=alert(1)>{{ 7*7 }}'


@pytest.mark.parametrize("language", ["en", pytest.param("de", marks=pytest.mark.long)])
def test_markup_in_every_field_is_shown_as_it_was_typed(
    chromium: Browser, tmp_path: Path, language: str
) -> None:
    draft = records.conditional()
    draft.facts["ticket"].update(number=MARKUP, customer=MARKUP, card_label=MARKUP, shop=MARKUP)
    draft.write(tmp_path / "results" / "2026-03-02" / "20260302T091500Z-1a2b")
    with served(tmp_path / "results", tmp_path / "shop") as server:
        address = server.whole_address.replace("=en", f"={language}")
        with opened(chromium, address, 390) as (page, complaints):
            soon(page.locator("#head"), "<script>document.title")
            assert page.locator("html").get_attribute("lang") == language
            assert page.locator("img").count() == 0
            assert page.title() != "taken"
            assert page.evaluate("() => document.documentElement.scrollWidth") <= 390
            assert complaints == []


def test_without_the_key_nothing_is_shown_and_it_says_so(chromium: Browser, tmp_path: Path) -> None:
    records.passed().write(tmp_path / "results" / "2026-03-02" / "20260302T091500Z-1a2b")
    with served(tmp_path / "results", tmp_path / "shop") as server:
        for address in (server.address, f"{server.address}#wrong"):
            with opened(chromium, address) as (page, _):
                expect(page.locator("#need-key")).to_be_visible(timeout=PATIENT_MS)
                assert page.locator("#word-text").inner_text() == "–"


@pytest.mark.long
def test_it_is_used_by_keyboard_and_told_to_a_screen_reader(
    chromium: Browser, run_beside: RunBeside, tmp_path: Path
) -> None:
    with (
        run_beside("-p", "short_x8", "--simulated", "dead_output", "--ask", "--pace", "30"),
        served(tmp_path / "results", tmp_path / "shop") as server,
        opened(chromium, server.whole_address) as (page, _),
    ):
        soon(page.locator("#prompt-text"), "DP-2")
        tree = page.locator("body").aria_snapshot()
        for part in (
            "banner", "main", 'region "Result so far"', '"Your answer is needed',
            'button "yes"', 'button "Stop the load"', 'region "GPU temperature"',
        ):  # fmt: skip
            assert part in tree, tree
        assert page.locator("#prompt-text").get_attribute("aria-live") == "assertive"
        assert page.locator("#word-text").get_attribute("aria-live") == "polite"
        reached = []
        for _ in range(9):
            page.keyboard.press("Tab")
            reached.append(page.evaluate("() => document.activeElement.id"))
        assert [part for part in reached if part] == ["language", "stop", "yes", "no", "skip"]
        page.locator("#yes").focus()
        page.keyboard.press("Enter")
        soon(page.locator("#said"), "has taken the answer")


HANDS = """
format = 1
title = "Hands"
[guards]
gpu_temp_limit_c = 95.0
[[stages]]
stage = "movement"
still_s = 1.0
settle_s = 0.5
places = ["edge"]
prompt_timeout_s = 300.0
[[stages]]
stage = "under_load"
own_power_share = 0.4
settle_s = 1.0
prompt_timeout_s = 600.0
[[under_load]]
measure = "voltage_across"
name = "joint"
title = "Across the repaired joint"
at = "joint"
at_most_v = 0.02
"""


@pytest.mark.long
def test_a_value_is_typed_and_mended_and_what_is_done_takes_one_press(
    chromium: Browser, run_beside: RunBeside, tmp_path: Path
) -> None:
    results, profile = tmp_path / "results", tmp_path / "hands.toml"
    profile.write_text(HANDS, "utf-8")
    with (
        run_beside("-p", str(profile), "--simulated", "warm_joint", "--ask", "--pace", "5"),
        served(results, tmp_path / "shop") as server,
        opened(chromium, server.whole_address, 390, 844) as (page, complaints),
    ):
        expect(page.locator("#done")).to_be_visible(timeout=PATIENT_MS)
        expect(page.locator("#typed")).to_be_hidden()
        page.locator("#done").click()
        expect(page.locator("#value")).to_be_visible(timeout=PATIENT_MS)
        soon(page.locator("#prompt-good"), "20 mV or less")
        soon(page.locator("#prompt-left"), "without an answer: not measured")
        assert page.evaluate("() => document.documentElement.scrollWidth") <= 390
        page.get_by_label("value in V / mV").fill("35")
        page.keyboard.press("Enter")
        soon(page.locator("#prompt-wrong"), "V or mV?")
        expect(page.locator("#value")).to_be_focused(timeout=PATIENT_MS)
        assert page.locator("#value").input_value() == "35"  # mended, not typed anew
        page.keyboard.press("End")
        page.keyboard.type(" mV")
        page.keyboard.press("Enter")
        expect(page.locator("#prompt")).to_be_hidden(timeout=PATIENT_MS)
        assert complaints == []
        folder = newest_record(results)
        assert folder is not None
        asked = read_record(folder).events("Asked")
        assert [entry.detail["answer"] for entry in asked] == ["done", "35", "35 mV"]
