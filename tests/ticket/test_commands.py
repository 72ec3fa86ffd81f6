"""The commands: one step each, a sentence and exit code 2 for wrong use."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import typer
from PIL import Image
from typer.testing import CliRunner

from burnin.cli.tickets.commands import mount
from burnin.ticket.log.store import read_ticket as read
from burnin.ticket.log.ticket_from_log import LOG
from tests.ticket.tickets import run_of

HEAVY = ("pydantic", "numpy", "pandas", "PIL", "cryptography", "typst", "segno", "duckdb", "jinja2")


@pytest.fixture
def results(tmp_path: Path) -> Path:
    """Where tickets lie."""
    return tmp_path / "results"


def call(results: Path, *words: str, typed: str = "") -> tuple[int, str]:
    app = typer.Typer()
    mount(app)
    named = list(words) if words[0] == "shop" else [*words, "--results", str(results)]
    result = CliRunner().invoke(app, named, input=typed, catch_exceptions=False)
    return result.exit_code, result.output


def good(results: Path, *words: str, typed: str = "") -> str:
    code, told = call(results, *words, typed=typed)
    assert code == 0, told
    return told


def opened(results: Path, number: str = "4711") -> Path:
    good(
        results, "ticket", "open", number, "--customer", "Ottilie Maro", "--card", "Strata 9",
        "-p", "desktop_air", "--promised", "2026-03-10", "--seen", "B14-B15 missing", "--simulated",
    )  # fmt: skip
    return results / number


def test_help_imports_nothing_heavy() -> None:
    script = f"""
import sys, typer
from burnin.cli.tickets.commands import mount
mount(typer.Typer())
print([m for m in {HEAVY!r} if m in sys.modules])
"""
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_each_step_is_one_command_and_tells_the_next(results: Path, tmp_path: Path) -> None:
    folder = opened(results)
    Image.new("RGB", (40, 30)).save(tmp_path / "edge.jpg")
    good(results, "ticket", "photo", "4711", str(tmp_path / "edge.jpg"), "--note", "edge")
    good(results, "ticket", "seen", "4711", "bracket bent")
    good(results, "ticket", "correct", "4711", "promised=2026-03-12")
    good(results, "ticket", "note", "4711", "customer phoned")
    told = good(results, "ticket", "repair", "4711", "donor pads", "--contacts", "B14-B15")
    assert "Next: burnin run --ticket 4711" in told
    told = good(results, "measure", "4711", "B14", "0.45 V", "--meter", "0.5%+0.002")
    assert "0.45 ± 0.005 V" in told
    assert "Unplug the card" in told
    assert "licensed people" in told
    told = good(results, "ticket", "show", "4711")
    for words in ("customer phoned", "B14", "original edge.jpg", "promised 2026-03-12", "J. Wren"):
        assert words in told
    good(results, "ticket", "nofix", "4711", "the chip is cracked")
    told = good(results, "handover", "4711", "--language", "de", "--paper", "letter")
    assert "NICHT REPARIERT" in told
    assert "ist abgeschlossen" in told
    assert good(results, "verify", str(next(folder.glob("handover-*")))).strip()


WRONG = [
    (("ticket", "show", "4999"), "no ticket 4999"),
    (("ticket", "open", "4711"), "open already"),
    (("ticket", "open", "///"), "no letter and no digit"),
    (("ticket", "open", "5", "--promised", "tomorrow"), "is not a day"),
    (("ticket", "open", "5", "-p", "nonesuch"), "no profile named"),
    (("ticket", "open", "5", "--language", "fr"), "there are en, de"),
    (("ticket", "open", "5", "--seen", "B99 missing"), "no contact"),
    (("ticket", "open", "5", "--photo", "/nonexistent.jpg"), "is not there"),
    (("ticket", "repair", "4711", " "), "what was done"),
    (("ticket", "repair", "4711", "x", "--contacts", "Q1"), "no contact"),
    (("ticket", "repair", "4711", "x", "--cure", "long"), "is not a span"),
    (("ticket", "repair", "4711", "x", "--bare", "../x"), "letters, digits"),
    (("ticket", "light", "4711"), "nobody is at the terminal"),
    (("ticket", "light", "4711", "--answer", "colour=red"), "write KEY=ANSWER"),
    (("ticket", "light", "4711", "--answer", "beeps=-1"), "not between 0 and 100"),
    (("ticket", "light", "4711", "--answer", "beeps=1.5"), "is no count"),
    (("ticket", "light", "4711", "--answer", "smoke=maybe"), "is not understood here"),
    (("ticket", "defer", "4711", "soak", "no loop"), "no stage 'soak'"),
    (("ticket", "undefer", "4711", "memory"), "is not put off"),
    (("ticket", "overrule", "4711", "--reason", "I know what I am doing"), "nothing stands"),
    (("ticket", "nofix", "4711", ""), "reason"),
    (("measure", "4711", "B14"), "no value given"),
    (("measure", "4711", "B14", "450 Ω"), "diode mode"),
    (("measure", "4711", "--from", "/nonexistent.csv"), "cannot be read"),
    (("measure", "4711", "B14", "0.4 V", "--meter", "fine"), "per cent"),
    (("measure", "4711", "--like", "4999"), "no ticket 4999"),
    (("handover", "4711", "--paper", "a3"), "a4 or letter"),
    (("verify",), "verify what?"),
    (("verify", "/nonexistent"), "is not there"),
    (("verify", "--fingerprint", "zz"), "is no fingerprint"),
    (("compare", "/nonexistent"), "holds no run.json"),
]


@pytest.mark.parametrize(("words", "told"), WRONG)
def test_wrong_use_ends_in_a_sentence_and_changes_nothing(
    words: tuple[str, ...], told: str, results: Path
) -> None:
    folder = opened(results)
    before = (folder / LOG).read_bytes()
    code, output = call(results, *words)
    assert code == 2, output
    assert told in output
    assert (folder / LOG).read_bytes() == before
    assert [p.name for p in results.iterdir()] == ["4711"]


def test_smoke_at_first_light_ends_everything_with_exit_code_1(results: Path) -> None:
    opened(results)
    code, told = call(results, "ticket", "light", "4711", "--answer", "smoke=yes")
    assert code == 1
    assert "NO POWER" in told
    code, told = call(results, "ticket", "light", "4711", "--answer", "smoke=no")
    assert code == 2
    assert "smell or smoke" in told


def test_the_listing_is_there_for_people_and_machines(results: Path) -> None:
    opened(results)
    good(results, "ticket", "open", "5", "--expedited", "--promised", "2026-03-01")
    told = good(results, "tickets")
    assert told.index("5  ") < told.index("4711")
    assert "LATE, expedited" in told
    rows = json.loads(good(results, "tickets", "--json"))
    assert [row["number"] for row in rows] == ["5", "4711"]
    assert rows[1]["owed"][0]["what"] == {"code": "owed_whole_run"}
    assert "4711" in good(results, "tickets", "--find", "ottilie b15")
    assert good(results, "tickets", "--find", "nobody") == "No open ticket.\n"


def test_what_is_shown_may_be_german(results: Path) -> None:
    opened(results)
    told = good(results, "ticket", "--language", "de", "show", "4711")
    assert "angenommen: Nummer 4711; Kunde Ottilie Maro" in told
    assert "seit der letzten Arbeit an der Karte nicht geprüft" in told
    assert "Als Nächstes: burnin run --ticket 4711" in told
    assert "Next" not in told
    assert "Next: burnin run" in good(results, "ticket", "show", "4711")
    assert "ÜBERFÄLLIG" in good(results, "tickets", "--language", "de")
    told = good(results, "measure", "4711", "B14", "0.45 V", "--language", "de")
    assert "Kondensatoren halten Ladung" in told
    code, told = call(results, "ticket", "--language", "xx", "show", "4711")
    assert code == 2
    assert "de, en" in told


def test_a_damaged_ticket_is_told_with_exit_code_2_beside_the_others(results: Path) -> None:
    path = opened(results) / LOG
    opened(results, "5")
    path.write_bytes(path.read_bytes().replace(b"Ottilie", b"Ottokar"))
    code, told = call(results, "tickets")
    assert code == 2
    assert "is not as it was written" in told
    assert "Strata 9" in told


def test_verify_tells_what_was_changed_with_exit_code_1(results: Path) -> None:
    folder = opened(results)
    run_of(read(results, "4711"), 24 * 365)
    good(results, "handover", "4711")
    made = next(folder.glob("handover-*"))
    fingerprint = read(results, "4711").handed_over[0].fingerprint
    assert "as it left" in good(results, "verify", "--fingerprint", fingerprint)
    file = made / "customer.html"
    file.write_text(file.read_text("utf-8").replace("PASS", "PAST"), "utf-8")
    code, told = call(results, "verify", str(made))
    assert code == 1
    assert "CHANGED" in told
    assert "customer.html: was changed" in told


def test_a_ticket_that_was_put_back_is_told_by_the_head_off_the_paper(results: Path) -> None:
    folder = opened(results)
    early = results.with_name("early")
    shutil.copytree(folder, early)
    good(results, "ticket", "nofix", "4711", "the chip is cracked")
    printed = good(results, "handover", "4711").split("fingerprint ")[1][:16]
    assert "as it left" in good(results, "verify", str(folder), "--head", printed)
    shutil.rmtree(folder)
    shutil.copytree(early, folder)
    assert "as it left" in good(results, "verify", str(folder))
    code, told = call(results, "verify", str(folder), "--head", printed)
    assert code == 1
    assert f"{printed} was handed out" in told
    code, told = call(results, "verify", "--fingerprint", printed, "--language", "de")
    assert code == 1
    assert printed in told
    assert "keine Übergabe" in told
    code, told = call(results, "verify", str(folder), "--head", "none")
    assert code == 2
    assert "is no fingerprint" in told


def test_the_key_is_rotated_by_command(results: Path, shop: Path) -> None:
    folder = opened(results)
    good(results, "ticket", "nofix", "4711", "the chip is cracked")
    good(results, "handover", "4711")
    before = good(results, "shop").splitlines()[-1].split()[-1]
    told = good(results, "shop", "--rotate")
    assert before in told.splitlines()[-1]
    assert before not in told.splitlines()[-2]
    assert f"key {before}, this shop's until" in good(
        results, "verify", str(next(folder.glob("handover-*")))
    )
    listed = str(shop / "shop-keys.json")
    assert "as it left" in good(results, "verify", str(folder), "--key", listed)


def test_the_shop_file_is_made_once(results: Path, shop: Path) -> None:
    assert "Wrenfield Board Repair" in good(results, "shop", "--init")
    code, told = call(results, "shop", "--init")
    assert code == 2
    assert "is there already" in told
    assert (shop / "shop-public.pem").read_text().startswith("-----BEGIN PUBLIC KEY")


def test_prompts_take_what_is_typed_and_keep_each_value_at_once(
    results: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from burnin.ticket.before_power import measuring
    from tests.ticket.tickets import profile

    opened(results)
    monkeypatch.setattr(
        measuring, "profile_of_ticket", lambda *_: type("Loaded", (), {"profile": profile()})
    )
    typed = "38 furlongs\n420 Ω\n\n0.45 V\n"
    monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
    told = good(results, "measure", "4711", typed=typed)
    assert "unknown unit" in told
    kept = [(m.point, m.value) for m in read(results, "4711").measured]
    assert kept == [("supply_12v", 420.0), ("B14", 0.45)]
