"""Handover: the right sheets at each point, whatever the customer is called."""

from __future__ import annotations

import io
import json
import re
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from burnin.core.errors import BadInput
from burnin.core.reading import Limit, judge
from burnin.record.reader import read_record
from burnin.report.ticket.customer import customer_sheet
from burnin.report.ticket.ticket_facts import ShopFacts, TicketFacts
from burnin.report.ticket.ticket_verdict import TicketVerdict, verdict_of
from burnin.ticket.before_power.meanings import BeforePowerReason
from burnin.ticket.before_power.shown_quantity import shown_quantity
from burnin.ticket.before_power.values import Entry, take
from burnin.ticket.handover.checking import check, find_fingerprint
from burnin.ticket.handover.facts_for_sheets import facts_of_ticket
from burnin.ticket.handover.handover import Handover, hand_over, spoken
from burnin.ticket.handover.meanings import ChainReason, SigningReason
from burnin.ticket.intake.photos import add_photo
from burnin.ticket.intake.repairs import add_repair
from burnin.ticket.intake.taking_in import add_damage, give_up
from burnin.ticket.log.store import add, read_ticket
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.owed_work import owed_now
from burnin.ticket.shop.shop_file import load_shop, write_example
from tests.long import few_short
from tests.refusals import refused, words_of
from tests.ticket.tickets import at, profile, run_of, sagen, say, ticket

# ISO 216 A4; ANSI/ASME Y14.1 size A (Letter): 8.5 in by 11 in. PDF counts 72 units to the inch.
A4, LETTER = (210 / 25.4 * 72, 297 / 25.4 * 72), (612.0, 792.0)
MARKUP = '<script>alert("x")</script> #import "x.typ": * $x^2$ *bold* {{ 7 * 7 }} @ref'
HEBREW, EMOJI = "אוטיליה מארו", "Öttilie 🛠️🔥"


def pages_of(file: Path) -> list[str]:
    pages = PdfReader(io.BytesIO(file.read_bytes())).pages
    return [re.sub(r"\s+", " ", p.extract_text().replace("\u200b", "")) for p in pages]


def sheet(made: Handover, name: str) -> str:
    return " ".join(pages_of(made.folder / name))


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:  # noqa: ARG002
        self.tags.append(tag)


def tags_of(text: str) -> list[str]:
    parser = _Tags()
    parser.feed(text)
    return parser.tags


def repaired(results: Path, **intake: str) -> WholeTicket:
    there = ticket(results, profile="desktop_air", **intake)
    there = add_damage(there, ["B14-B15 missing", "bracket bent"], now=at(0.1))
    return add_repair(there, "donor pads set", contacts="B14-B15", now=at(0.2))


def test_a_ticket_that_passed_is_handed_over_and_closed(tmp_path: Path) -> None:
    there = repaired(tmp_path)
    run_of(there, 1)
    made = hand_over(there, now=at(2))
    assert made.verdict == "pass"
    assert made.ticket.closed
    assert len(pages_of(made.folder / "customer.pdf")) == 1
    text = sheet(made, "customer.pdf")
    for word in ("PASS", "Ottilie Maro", "donor pads set", "16 lanes at 16 GT/s", "SIMULATED"):
        assert word in text
    assert made.fingerprint in text
    assert check(made.folder).good
    assert find_fingerprint(tmp_path, made.fingerprint[:12]) == made.folder


def test_what_is_owed_keeps_the_ticket_open_and_is_on_the_sheet(tmp_path: Path) -> None:
    there = add_repair(ticket(tmp_path, profile="desktop_air"), "pads", cure="24h", now=at(0.5))
    run_of(there, 1, s6="not measured")
    made = hand_over(there, now=at(2))
    assert made.verdict == "conditional"
    assert not made.ticket.closed
    text = sheet(made, "customer.pdf")
    assert "PASSED SO FAR" in text
    assert "pads: cured for 1.5 h of 24.0 h" in text
    assert "Connection again, once the joint is cured" in text
    assert "3 March 2026, 09:45" in text


def test_a_pass_is_never_printed_over_a_ticket_that_owes(tmp_path: Path) -> None:
    there = repaired(tmp_path)
    there = add_repair(there, "trace mended", cure="24 h", now=at(0.9))
    run_of(there, 1)
    assert hand_over(there, now=at(2)).verdict == "conditional"


def test_work_after_the_test_leaves_the_card_untested(tmp_path: Path) -> None:
    there = repaired(tmp_path)
    run_of(there, 1)
    made = hand_over(add_repair(there, "cooler refitted", now=at(3)), now=at(4))
    assert made.verdict == "untested"
    assert "NOT TESTED" in sheet(made, "customer.pdf")
    assert "Do not put the card into a computer" in sheet(made, "customer.pdf")


def test_a_card_without_a_fix_gets_an_honest_sheet(tmp_path: Path) -> None:
    there = give_up(repaired(tmp_path), "the chip is cracked through", now=at(1))
    made = hand_over(there, now=at(2))
    text = sheet(made, "customer.pdf")
    assert "NOT REPAIRED" in text
    assert "Why: the chip is cracked through" in text
    assert "PASS" not in text
    assert made.ticket.closed


def test_a_failed_card_reads_as_clearly_as_a_passed_one(tmp_path: Path) -> None:
    there = repaired(tmp_path)
    run_of(there, 1, s4="fail")
    made = hand_over(there, now=at(2))
    text = sheet(made, "customer.pdf")
    assert made.verdict == "fail"
    assert "Why: Memory: " in text
    assert "WRONG" in text
    assert "Do not put the card into a computer" in text


def test_a_later_pass_without_a_repair_hides_no_failure(tmp_path: Path) -> None:
    there = repaired(tmp_path)
    run_of(there, 1, s4="fail")
    run_of(there, 2)
    made = hand_over(there, now=at(3))
    assert made.verdict == "fail"
    assert "Why: Memory: fail for the test" in sheet(made, "customer.pdf")


def test_a_value_before_power_that_failed_fails_the_sheet(tmp_path: Path) -> None:
    short = BeforePowerReason.SHORT(reads=shown_quantity(1.1, "Ω"))
    facts = TicketFacts(
        "1",
        {},
        "",
        before_power=(judge("supply_12v", 1.1, "Ω", Limit(50.0), why_fail=short),),
    )
    there = ticket(tmp_path, profile="desktop_air")
    record = read_record(run_of(there, 1))
    verdict, why = verdict_of(facts, record)
    assert verdict is TicketVerdict.FAIL
    assert ": 1.1 Ω: a short; do not power the card." in say(why)
    assert ": 1,1 Ω: ein Kurzschluss; die Karte nicht einschalten." in sagen(why)


def test_smoke_after_a_pass_is_no_pass_and_has_no_warranty(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    folder = run_of(there, 1)
    light = {"answers": {"smoke": "yes"}, "ended_at_once": True}
    there = add(there, "first_light", light, now=at(2))
    facts = facts_of_ticket(there, at(3))
    record = read_record(folder)
    assert verdict_of(facts, record)[0] is TicketVerdict.FAIL
    sheet = customer_sheet(facts, record, ShopFacts(warranty="Ninety days."), "en")
    assert (sheet.warranty, sheet.verdict) == ("", TicketVerdict.FAIL)
    before = replace(facts, no_power=(), owed=())
    assert customer_sheet(before, record, ShopFacts(warranty="Ninety days."), "en").warranty


def test_the_internal_sheet_holds_everything(tmp_path: Path) -> None:
    there = repaired(tmp_path)
    there = take(there, [Entry("supply_12v", "1.1 Ω")], profile(), now=at(0.3))
    fields = {"point": "supply_12v", "reason": "current-limited supply, watched by hand"}
    there = add(there, "overridden", fields, now=at(0.4))
    answers = {"smoke": "no", "beeps": "8"}
    there = add(there, "first_light", {"answers": answers, "ended_at_once": False}, now=at(0.5))
    there = add(there, "noted", {"text": "customer phoned"}, now=at(0.6))
    run_of(there, 1)
    made = hand_over(there, now=at(2))
    text = sheet(made, "internal.pdf")
    for word in (
        "current-limited supply, watched by hand",
        "8 beeps (commonly: the graphics card is missing",
        "Depends on the board's firmware",
        "customer phoned",
        "1.1 ±",
        "Thermal resistance",
        "not for the customer",
    ):
        assert word in text
    customer = sheet(made, "customer.pdf")
    assert "current-limited" not in customer
    assert "phoned" not in customer


@pytest.mark.parametrize(
    "name", few_short([MARKUP, HEBREW, EMOJI, "Maro " * 2000, "x" * 10_000], {MARKUP, HEBREW})
)
def test_whatever_the_customer_is_called_the_sheets_are_right(name: str, tmp_path: Path) -> None:
    there = repaired(tmp_path, customer=name, fault=name)
    run_of(there, 1)
    made = hand_over(there, now=at(2))
    plain_tags = tags_of((made.folder / "customer.html").read_text("utf-8"))
    assert "script" not in plain_tags
    text = sheet(made, "customer.pdf")
    assert len(pages_of(made.folder / "customer.pdf")) == 1
    assert "PASS" in text
    if name == MARKUP:
        assert "<script>alert" in text
        assert "{{ 7 * 7 }}" in text
        assert "49" not in text.replace(made.fingerprint, "")
    for file in made.files:
        assert file.stat().st_size > 1000


@pytest.mark.parametrize(("paper", "size"), [("a4", A4), ("letter", LETTER)])
def test_both_papers(paper: str, size: tuple[float, float], tmp_path: Path) -> None:
    there = repaired(tmp_path)
    run_of(there, 1)
    made = hand_over(there, paper=paper, now=at(2))
    for name in ("customer.pdf", "internal.pdf"):
        for page in PdfReader(made.folder / name).pages:
            box = (float(page.mediabox.width), float(page.mediabox.height))
            assert box == pytest.approx(size, abs=0.5)


def test_both_languages_with_their_own_dates_and_figures(tmp_path: Path) -> None:
    there = repaired(tmp_path)
    run_of(there, 1)
    made = hand_over(there, languages=("en", "de"), now=at(2))
    english, german = sheet(made, "customer.en.pdf"), sheet(made, "customer.de.pdf")
    assert "2 March 2026" in english
    assert "71.0 °C" in english
    assert "2. März 2026" in german
    assert "71,0 °C" in german
    assert "BESTANDEN" in german
    assert "Kontakte B14, B15" in german
    with refused(BadInput, match="there are en, de"):
        spoken(there, ("fr",), "")
    with refused(BadInput, match="a4 or letter"):
        spoken(there, (), "a3")


def test_the_german_sheet_gives_no_reason_in_english(tmp_path: Path) -> None:
    there = add_repair(ticket(tmp_path, profile="repaired_desktop"), "Pads", cure="24h", now=at(1))
    made = hand_over(there, languages=("de",), now=at(2))
    german = sheet(made, "customer.pdf")
    owes = owed_now(there, now=at(2))
    assert {o.reason.code for o in owes} == {
        "before_power_nobody_measured",
        "ticket_no_run_since_work",
        "ticket_curing",
    }
    for owed in owes:
        assert sagen(owed.reason) in german
        assert say(owed.reason) not in german
        assert say(owed.what) == sagen(owed.what) or say(owed.what) not in german
    assert "Verbindung, wenn die Klebung hart ist" in german


def test_photos_reach_the_customer_only_if_asked(tmp_path: Path) -> None:
    there = repaired(tmp_path)
    for name, shade in (("shown.png", 80), ("kept.png", 160)):
        Image.new("RGB", (300, 200), (shade, shade, shade)).save(tmp_path / name)
        there = add_photo(
            there,
            tmp_path / name,
            note=name,
            for_customer=name == "shown.png",
            now=at(0.5),
        )
    run_of(there, 1)
    made = hand_over(there, now=at(2))
    customer = (made.folder / "customer.html").read_text("utf-8")
    assert "shown.png" in customer
    assert "kept.png" not in customer
    internal = (made.folder / "internal.html").read_text("utf-8")
    assert "kept.png" in internal
    assert internal.count("data:image/jpeg") == 2


def test_the_shop_file_is_on_the_sheet(tmp_path: Path, shop: Path) -> None:
    write_example(shop)
    text = (shop / "shop.toml").read_text("utf-8")
    text = text.replace('region = ""', 'region = "example"').replace('# logo = "logo.svg"', "logo")
    text = text.replace('logo                 # SVG or PNG beside this file', 'logo = "logo.svg"')
    text = text.replace('time_zone = "UTC"', 'time_zone = "Europe/Berlin"')
    (shop / "shop.toml").write_text(text, "utf-8")
    logo = '<svg xmlns="http://www.w3.org/2000/svg" width="20" height="20"><circle r="9"/></svg>'
    (shop / "logo.svg").write_text(logo)
    assert load_shop().logo == "logo.svg"
    there = repaired(tmp_path)
    run_of(there, 1)
    told = sheet(hand_over(there, now=at(2)), "customer.pdf")
    for word in ("Wrenfield Board Repair", "4 Kiln Lane", "90 days", "taken back free of charge"):
        assert word in told


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("paper = 'a3'", "paper"),
        ("languages = ['fr']", "languages"),
        ("colour = 'red'", "no such field"),
        ("time_zone = 'Mars/Olympus'", "no such time zone"),
        ("name = [", "not valid TOML"),
    ],
)
def test_a_faulty_shop_file_is_explained(line: str, told: str, shop: Path) -> None:
    (shop / "shop.toml").write_text(line)
    with refused(BadInput, match=told) as caught:
        load_shop()
    assert "shop.toml" in words_of(caught.value)


def test_a_sheet_that_cannot_be_made_leaves_nothing_behind(tmp_path: Path, shop: Path) -> None:
    (shop / "shop.toml").write_text("logo = 'none.svg'\n")
    there = repaired(tmp_path)
    run_of(there, 1)
    before = (there.folder / LOG).read_bytes()
    with refused(BadInput, match=r"none\.svg"):
        hand_over(there, now=at(2))
    assert (there.folder / LOG).read_bytes() == before
    assert not list(there.folder.glob("*handover*"))


def test_verify_names_what_was_changed_in_a_handover_and_in_its_record(tmp_path: Path) -> None:
    there = repaired(tmp_path)
    run = run_of(there, 1)
    made = hand_over(there, now=at(2))
    pdf = made.folder / "customer.pdf"
    whole = pdf.read_bytes()
    pdf.write_bytes(whole.replace(b"PDF", b"PdF", 1))
    changed = SigningReason.FILE_CHANGED(file="customer.pdf")
    assert check(made.folder).faults == (changed,)
    assert check(pdf).faults == (changed,)
    assert check(made.folder / "internal.pdf").good
    pdf.write_bytes(whole)
    table = run / "readings.csv"
    table.write_text(table.read_text("utf-8").replace("fail", "pass").replace("71", "17"), "utf-8")
    (fault,) = check(made.folder).faults
    assert say(fault) == f"{run.name}: readings.csv: was changed"
    assert find_fingerprint(tmp_path, "0123456789abcdef") == ChainReason.NO_HANDOVER_OF(
        folder=str(tmp_path), fingerprint="0123456789abcdef"
    )
    with refused(BadInput, match="is no fingerprint"):
        find_fingerprint(tmp_path, "PASS")


def test_a_handover_whose_facts_are_torn_is_not_good(tmp_path: Path) -> None:
    made = hand_over(repaired(tmp_path), now=at(2))
    (made.folder / "handover.json").write_text('{"runs": [', "utf-8")
    found = check(made.folder)
    assert {fault.code for fault in found.faults} == {
        "signing_file_changed",
        "signing_handover_not_whole",
    }


def test_handover_json_says_what_the_sheets_stand_on(tmp_path: Path) -> None:
    there = repaired(tmp_path)
    run = run_of(there, 1)
    made = hand_over(there, now=at(2))
    content = json.loads((made.folder / "handover.json").read_text("utf-8"))
    assert content["number"] == "4711"
    assert [r["folder"] for r in content["runs"]] == [run.name]
    assert read_ticket(tmp_path, "4711").handed_over[0].fingerprint == made.fingerprint


def test_the_square_code_is_read_back(tmp_path: Path, require_tool: Callable[[str], str]) -> None:
    # ISO/IEC 18004; zxing-cpp, an independent reader, is the outside check.
    drawer = require_tool("pdftoppm")
    there = repaired(tmp_path)
    run_of(there, 1)
    made = hand_over(there, now=at(2))
    file = made.folder / "customer.pdf"
    subprocess.run([drawer, "-r", "150", "-gray", "-png", file, tmp_path / "p"], check=True)
    (page,) = tmp_path.glob("p*.png")
    with Image.open(page) as image:
        (code,) = zxingcpp.read_barcodes(image)
    expected = ["burnin", "4711", "pass", "2026-03-02", made.fingerprint]
    assert code.text.splitlines() == expected


def test_a_copied_sheet_is_told_with_where_its_original_lies(tmp_path: Path) -> None:
    there = add_repair(ticket(tmp_path, profile="desktop_air"), "Pads", now=at(1))
    record = run_of(there, 2)
    made = hand_over(read_ticket(tmp_path, "4711"), languages=("en",), now=at(3))
    shutil.copy(made.folder / "customer.pdf", there.folder / "customer.pdf")
    shutil.copy(made.folder / "customer.pdf", record / "copy.pdf")
    original = f"{made.folder.name}/customer.pdf"
    for folder, name in ((there.folder, "customer.pdf"), (record, "copy.pdf")):
        told = [say(fault) for fault in check(folder).faults]
        assert any(f"{name}: is a copy of {original}" in line for line in told)
    alone = tmp_path.parent / f"{tmp_path.name}-elsewhere"
    alone.mkdir()
    shutil.copy(made.folder / "customer.pdf", alone / "customer.pdf")
    with refused(BadInput, match="ask by the fingerprint printed on it"):
        check(alone / "customer.pdf")
