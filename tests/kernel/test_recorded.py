"""A real kernel's bench copied to another machine: everything that was read there is read here."""

from __future__ import annotations

import json

from burnin.card.merge import open_bench
from burnin.card.recording.recorded_files import RecordedFiles
from burnin.profile.loader import load_profile
from burnin.record.reader import read_record
from burnin.run.bench import Options
from burnin.run.session import run_profile
from tests.kernel.guest.reading_all import read_all
from tests.kernel.guest.run_there import PROFILES
from tests.kernel.one_boot import Said


def _plain(told: object) -> object:
    return json.loads(json.dumps(told))


def test_the_copy_tells_what_the_bench_told(said: Said) -> None:
    told = said.one("recorded")
    assert told["copy"] == told["bench"]
    (card,) = open_bench(RecordedFiles(said.out / "recording"), this_machine=False).cards()
    assert _plain(read_all(card)) == told["bench"]
    assert told["bench"]["registers"] == {"card": 4096, "port": 4096}
    assert told["bench"]["outputs"][0]["status"] == "connected"


def test_a_run_on_the_copy_gives_the_same_readings_of_enumeration_and_link(said: Said) -> None:
    there = said.one("nothing_happens")["readings"]
    outcome = run_profile(
        load_profile(str(PROFILES / "emulated.toml")),
        options=Options(simulated=str(said.out / "recording")),
        results=said.out / "replayed",
    )
    here = {f"{r.stage} {r.name}": r for r in read_record(outcome.folder).readings}
    enumeration = [name for name in there if name.startswith(("1-enumeration", "3-link"))]
    assert enumeration
    for name in enumeration:
        assert here[name].value == there[name]["value"], name
        assert here[name].verdict == there[name]["verdict"], name
