"""Options that contradict each other, benches and cards that are not there, locks, reports."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from burnin.cli.around_run.said_beforehand import said_beforehand
from burnin.cli.batch.choosing import Wanted, choose, named_cards
from burnin.cli.batch.refusals import BatchRefusal
from burnin.cli.batch.session import run_batch, run_batch_again
from burnin.cli.batch.which import run_wish
from burnin.cli.bench_lines import declare_known_good, forget_slot
from burnin.cli.explaining import explained
from burnin.cli.help_topics import HelpRefusal, help_lines
from burnin.cli.night.kept import hold_nights
from burnin.cli.packages.locks import parsed, read_lock
from burnin.cli.packages.refusals import LockRefusal
from burnin.cli.replay_plot import draw_replay
from burnin.cli.request import Wish, begin
from burnin.cli.terminal.bench_prompts import ask_timed
from burnin.cli.terms import CliRefusal
from burnin.cli.ticket_of_run import check_reason
from burnin.core import seams
from burnin.core.meaning import Prompt
from burnin.core.proven_bench import Slot
from burnin.core.seams import SeamRefusal
from burnin.core.ticket_header import Ticket
from burnin.page.serving.key_file import page_key
from burnin.page.terms import PageReason
from burnin.record.reader import read_record
from burnin.report.formats import ReportFormat
from burnin.report.languages.catalogue import catalogue
from burnin.report.make import _path
from burnin.report.refusals import ReportRefusal
from burnin.run.begin import options_from
from burnin.run.bench import Options, cards_of_bench, open_bench_for, pick
from burnin.run.proven.bench_log import forget
from burnin.run.proven.refusals import ProvenRefusal
from burnin.run.reasons import RunReason, RunRefusal
from burnin.run.resume import read_earlier
from burnin.ticket.log.store import open_ticket
from tests.errors.case import Case, written
from tests.report import records
from tests.ticket.tickets import START

_WISH = Wish(
    profile="",
    options=Options(simulated="healthy"),
    ticket=Ticket(),
    left_out=frozenset(),
    monitors="",
    unattended=True,
    resume=None,
    results=Path(),
    show_all=False,
    as_json=False,
)
_SLOT = Slot("0000:01:00.0", "b" * 16)
_RECORDING = "time_s,power_w,gpu_temp_c\n0,100,40\n1,100,40\n"


def _record(folder: Path) -> Path:
    draft = records.passed()
    draft.samples = draft.samples[:2]
    return draft.write(folder / "results" / "2026-03-02" / "r")


def _without(folder: Path) -> object:
    wish = replace(_WISH, profile="short_x8", results=folder, left_out=frozenset({"song"}))
    return begin(replace(wish, options=Options(simulated="healthy_x8")))


def _of_nobody(folder: Path) -> object:
    open_ticket(folder, "4711", {"customer": "Ottilie Maro"}, by="J. Wren", now=START)
    wish = replace(_WISH, profile="short_x8", ticket=Ticket(number="4117"), results=folder)
    return begin(wish)


def _chosen(folder: Path, *cards: str) -> object:
    there = cards_of_bench(Options(simulated="three_cards"))
    return choose(there, Wanted(named_cards(cards), "", (), folder, True))


def _one_ticket_for_two(folder: Path) -> object:
    there = cards_of_bench(Options(simulated="three_cards"))
    named = named_cards(("01:00.0=7", "03:00.0=7"))
    return choose(there, Wanted(named, "short_x8", (), folder, True))


def _no_output(_: Path) -> object:
    opened = open_bench_for(Options(simulated="healthy"))
    return said_beforehand(replace(_WISH, monitors="DP-9"), opened)


def _profile_gone(folder: Path) -> object:
    open_ticket(folder, "4711", {"customer": "Ottilie Maro", "profile": "./gone.toml"})
    return _chosen(folder, "01:00.0=4711")


def _two_nights(folder: Path) -> object:
    with hold_nights(folder), hold_nights(folder):
        return None


def _resumed_otherwise(folder: Path) -> object:
    return begin(replace(_WISH, resume=_record(folder), options=Options(simulated="hot_core")))


def _declared(folder: Path, by: str = "J. Wren", **given: list[str]) -> object:
    return declare_known_good(folder, folder, by, **given)  # type: ignore[arg-type]


def _plot(folder: Path, name: str, times: int = 1) -> object:
    file = str(written(folder, "a.csv", _RECORDING))
    draw_replay([file] * times, None, folder / name, "en")
    return None


def _key_of_others(folder: Path) -> object:
    written(folder, "key", "x").chmod(0o644)
    return page_key(folder)


def _two_cards(_: Path) -> object:
    opened = open_bench_for(Options(simulated="healthy"))
    return pick((opened.card, opened.card), "")


def _written_over(folder: Path) -> object:
    return _path(folder, ReportFormat("own", "run.json", lambda _: b""))


CASES = (
    Case(CliRefusal.NOBODY_DECLARES, lambda f: _declared(f, by="")),
    Case(CliRefusal.NO_PAIR, lambda f: _declared(f, rails=["12V"])),
    Case(CliRefusal.NO_VOLTAGE, lambda f: _declared(f, rails=["12V=much"])),
    Case(CliRefusal.NO_RAIL_VOLTAGE, lambda f: _declared(f, rails=["12V=1208"])),
    Case(CliRefusal.NO_SLOT, lambda f: forget_slot(f, "01:00.0", "", "J. Wren")),
    Case(CliRefusal.EXPLAIN_WHAT, lambda f: explained("", f, (), "", "")),
    Case(CliRefusal.EXPLAIN_NEITHER, lambda f: explained("4711", f, (), "", "")),
    Case(CliRefusal.PLOT_ONE, lambda f: _plot(f, "a.svg", times=2)),
    Case(ReportRefusal.PLOT_NAME, lambda f: _plot(f, "a.gif")),
    Case(CliRefusal.WHICH_PROFILE, lambda f: begin(replace(_WISH, results=f))),
    Case(CliRefusal.WHOSE_TICKET, lambda f: _of_nobody(f)),
    Case(CliRefusal.CARD_REFUSED, lambda f: _chosen(f, "01:00.0=..")),
    Case(CliRefusal.CARDS_REFUSED, lambda f: _chosen(f, "01:00.0=..", "02:00.0=..")),
    Case(CliRefusal.TICKETS_PROFILE, _profile_gone),
    Case(CliRefusal.NO_SUCH_OUTPUTS, _no_output),
    Case(
        HelpRefusal.NO_TOPIC, lambda _: list(help_lines("moon", catalogue("en"), 80))
    ),
    Case(BatchRefusal.CARD_TWICE, lambda _: named_cards(("01:00.0", "0000:01:00.0"))),
    Case(BatchRefusal.NO_CARD_AT, lambda f: _chosen(f, "09:00.0")),
    Case(BatchRefusal.TICKET_TWICE, _one_ticket_for_two),
    Case(BatchRefusal.NO_PROFILE, lambda f: _chosen(f, "01:00.0")),
    Case(
        BatchRefusal.EVERY_AND_NAMED, lambda _: run_wish(_WISH, ("01:00.0",), every_card=True)
    ),
    Case(BatchRefusal.OWN_PROFILES, lambda f: run_batch_again(replace(_WISH, profile="x"), f)),
    Case(BatchRefusal.RESUME_ONE, lambda f: run_batch(replace(_WISH, resume=f), ())),
    Case(
        BatchRefusal.SOFTWARE,
        lambda _: run_batch(replace(_WISH, options=Options(software_vulkan=True)), ()),
    ),
    Case(
        BatchRefusal.ONE_TICKET, lambda _: run_batch(replace(_WISH, ticket=Ticket("7")), ())
    ),
    Case(
        BatchRefusal.ONE_LABEL,
        lambda _: run_batch(replace(_WISH, ticket=Ticket(card_label="mine")), ()),
    ),
    Case(CliRefusal.NIGHT_HELD, _two_nights),
    Case(CliRefusal.NO_SUCH_STAGES, _without),
    Case(CliRefusal.RESUMED_OTHERWISE, _resumed_otherwise),
    Case(CliRefusal.NOW_NEEDS_REASON, lambda _: check_reason("soon")),
    Case(
        CliRefusal.NOBODY_AT_TERMINAL,
        lambda _: ask_timed(catalogue("en"))(Prompt("cli_next"), 1.0),
    ),
    Case(PageReason.KEY_OF_OTHERS, _key_of_others),
    Case(LockRefusal.NO_SUCH, lambda _: read_lock("moon")),
    Case(LockRefusal.NO_REQUIREMENT, lambda _: list(parsed("--index x --hash=y", "l"))),
    Case(LockRefusal.NO_VERSION, lambda _: list(parsed("strata>=1 --hash=y", "l"))),
    Case(LockRefusal.NO_SUM, lambda _: list(parsed("strata==1.0", "l"))),
    Case(SeamRefusal.NO_MEMBER, lambda _: seams.member("engines", "steam")),
    Case(RunRefusal.OWN_ENGINE, lambda _: open_bench_for(Options("healthy", engine="vulkan"))),
    Case(RunRefusal.NO_CARD, lambda _: pick((), "")),
    Case(RunRefusal.NO_CARD_AT, lambda _: open_bench_for(Options("healthy", address="99:00.0"))),
    Case(RunRefusal.NO_OPTIONS, lambda _: options_from({"song": 1})),
    Case(
        RunReason.NOT_GONE_ON_WITH, lambda f: read_earlier(read_record(_record(f)))
    ),
    Case(RunRefusal.SEVERAL_CARDS, _two_cards),
    Case(ReportRefusal.MUST_NOT_WRITE, _written_over),
    Case(ProvenRefusal.NOTHING, lambda f: forget(f, _SLOT, "J. Wren", START)),
)
