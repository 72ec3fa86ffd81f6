"""The runs of the cases, made once on the simulated machine and copied into a folder of results."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path
from typing import Any

from burnin.profile.loader import load_profile
from tests.run.driving import run_simulated

HERE = Path(__file__).parent
CASES: list[dict[str, Any]] = tomllib.loads((HERE / "cases.toml").read_text("utf-8"))["cases"]
FIRST_GOOD_SEED = 11


def made(run: dict[str, Any], kept: Path) -> Path:
    """The record of a run, made by whoever asks first."""
    scenario, profile = str(run["scenario"]), str(run.get("profile", "short_look"))
    seed, cut_s = int(run.get("seed", 1)), float(run.get("cut_s", 0.0))
    folder = kept / f"{scenario}-{profile}-{seed}-{cut_s:g}"
    if not (folder / "run.json").exists():
        loaded = load_profile(str(HERE / "profiles" / f"{profile}.toml"))
        there = kept / "runs" / folder.name
        ran = run_simulated(str(HERE / "scenarios" / f"{scenario}.toml"), loaded, there, seed=seed)
        shutil.copytree(ran.folder, folder)
        if cut_s:
            cut_off(folder, cut_s)
    return folder


def cut_off(folder: Path, at_s: float) -> None:
    """Take away all that came after a moment, as a power cut does: rows, verdict, checksums."""
    import csv
    import json

    for table in folder.glob("*.csv"):
        with table.open(newline="", encoding="utf-8") as file:
            rows = list(csv.reader(file))
        place = rows[0].index("elapsed_s") if "elapsed_s" in rows[0] else None
        text = table.read_text("utf-8").splitlines(keepends=True)
        if place is not None and len(text) == len(rows):
            keep = [
                line
                for line, cells in zip(text[1:], rows[1:], strict=True)
                if float(cells[place]) <= at_s
            ]
            table.write_text("".join([text[0], *keep]), "utf-8")
    run = json.loads((folder / "run.json").read_text("utf-8"))
    run["stages"] = [s for s in run["stages"] if s["started_s"] <= at_s]
    for stage in run["stages"]:
        if stage["ended_s"] is None or stage["ended_s"] > at_s:
            stage.update(ended_s=None, verdict="incomplete", reasons=[])
    run.update(ended_utc="", verdict="incomplete", ended="", owed=[])
    run["reason"] = {"code": "not_at_its_end"}
    (folder / "run.json").write_text(json.dumps(run), "utf-8")


def laid_out(case: dict[str, Any], kept: Path, results: Path) -> tuple[Path, list[Path]]:
    """The case's records in a folder of results: the one looked at, and those beside it."""
    for number in range(int(case["good_count"])):
        run = {"scenario": "sound", "seed": FIRST_GOOD_SEED + number}
        _copied(made(run, kept), results, f"good-{number}")
    mine = _copied(made(case["mine"], kept), results, "mine")
    beside = [
        _copied(made(run, kept), results, f"beside-{number}")
        for number, run in enumerate(case.get("beside", []))
    ]
    return mine, beside


def _copied(record: Path, results: Path, name: str) -> Path:
    return Path(shutil.copytree(record, results / name / "run"))
