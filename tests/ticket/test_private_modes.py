"""Customers' data are private by mode; a sheet that is handed out may be read by anybody."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from burnin.core.files.private_files import folder_mode, private_folder
from burnin.ticket.handover.handover import hand_over
from burnin.ticket.intake.taking_in import give_up
from tests.ticket.tickets import at, ticket


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.fixture(autouse=True)
def usual_umask() -> Iterator[None]:
    before = os.umask(0o022)
    yield
    os.umask(before)


def test_every_folder_of_a_ticket_is_its_owners_alone(tmp_path: Path) -> None:
    made = hand_over(give_up(ticket(tmp_path / "results"), "cracked", now=at(1)), now=at(2))
    for folder in (tmp_path / "results", made.folder.parent, made.folder):
        assert mode(folder) == 0o700, folder
    assert mode(made.folder.parent / "ticket") == 0o700
    for name in ("customer.pdf", "customer.html"):
        assert mode(made.folder / name) == 0o644


def test_a_shop_that_shares_its_folder_shares_what_is_made_there(tmp_path: Path) -> None:
    results = tmp_path / "results"
    results.mkdir()
    results.chmod(0o2770)
    private_folder(results / "4711" / "ticket")
    for folder in (results / "4711", results / "4711" / "ticket"):
        assert mode(folder) == 0o2770
    assert folder_mode(results) == 0o2770


def test_a_folder_that_is_there_stays_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "there").mkdir(mode=0o755)
    private_folder(tmp_path / "there")
    assert mode(tmp_path / "there") == 0o755
    (tmp_path / "file").write_text("")
    with pytest.raises(OSError, match="exists"):
        private_folder(tmp_path / "file")


@pytest.mark.parametrize(("umask", "kept_out"), [(0o022, 0o077), (0o002, 0o007)])
def test_files_that_the_command_makes_are_private(
    umask: int, kept_out: int, tmp_path: Path
) -> None:
    environment = {**os.environ, "BURNIN_SHOP": str(tmp_path / "shop")}
    words = ("ticket", "open", "4711", "--customer", "Ottilie Maro")
    command = [sys.executable, "-m", "burnin", *words, "--results", str(tmp_path / "results")]
    subprocess.run(command, check=True, env=environment, umask=umask, capture_output=True)
    folder = tmp_path / "results" / "4711" / "ticket"
    assert mode(folder) == 0o700
    for file in folder.iterdir():
        assert not mode(file) & kept_out, file
    assert mode(tmp_path / "shop" / "shop-key.pem") == 0o600


def test_a_record_of_a_run_is_private(tmp_path: Path) -> None:
    from burnin.core.clock import WallClock
    from burnin.record.writer import RecordWriter

    clock = WallClock()
    RecordWriter(tmp_path / "results" / "4711" / "run", clock, clock.monotonic_s()).close()
    assert mode(tmp_path / "results" / "4711" / "run") == 0o700


PROFILE = """
format = 1
title = "Who it is"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "enumeration"
"""


def test_whatever_a_run_of_the_command_leaves_is_its_owners_alone(tmp_path: Path) -> None:
    """In a folder that is there already and open, as the one of a clone is."""
    results, profile = tmp_path / "results", tmp_path / "who.toml"
    results.mkdir(mode=0o755)
    profile.write_text(PROFILE)
    words = ("run", "-p", str(profile), "--simulated", "healthy", "--ticket", "4711")
    done = subprocess.run(
        [sys.executable, "-m", "burnin", *words, "--customer", "Ottilie Maro", "--unattended"],
        env={**os.environ, "BURNIN_SHOP": str(tmp_path / "shop")},
        umask=0o022, capture_output=True, text=True, check=False, cwd=tmp_path,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    made = list(results.rglob("*"))
    assert {"run.json", "sheet.pdf", "samples.csv", "checksums.sha256"} <= {p.name for p in made}
    seen_by_others = {str(path): f"{mode(path):04o}" for path in made if mode(path) & 0o077}
    assert seen_by_others == {}
    assert {mode(path) for path in made if path.is_dir()} == {0o700}
