"""Use of a card by process, from files as Documentation/gpu/drm-usage-stats.rst lays them out."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.card.files import HostFiles
from burnin.card.sources.drm_clients import drm_use
from burnin.core.reading import NotMeasured

HERE, THERE = "0000:01:00.0", "0000:02:00.0"


def client(address: str, number: int, *engines: str, driver: str = "amdgpu") -> str:
    head = f"pos:\t0\nflags:\t02\ndrm-driver:\t{driver}\ndrm-client-id:\t{number}\n"
    return head + f"drm-pdev:\t{address}\n" + "".join(f"{line}\n" for line in engines)


@pytest.fixture
def proc(tmp_path: Path) -> Path:
    folder = tmp_path / "proc/7/fdinfo"
    folder.mkdir(parents=True)
    (folder / "0").write_text("pos:\t0\nflags:\t02\nmnt_id:\t13\n")
    return folder


def test_time_is_summed_over_engines_and_each_client_counts_once(
    proc: Path, tmp_path: Path
) -> None:
    one = client(HERE, 3, "drm-engine-gfx:\t500 ns", "drm-engine-compute:\t20 ns",
                 "drm-engine-capacity-gfx:\t2", "drm-memory-vram:\t12 KiB")  # fmt: skip
    (proc / "4").write_text(one)
    (proc / "5").write_text(one)
    (proc / "6").write_text(client(HERE, 9, "drm-engine-gfx:\t1 ns"))
    (proc / "7").write_text(client(THERE, 4, "drm-engine-gfx:\t77 ns"))
    files = HostFiles(tmp_path)
    here, there = drm_use(files, 7, HERE), drm_use(files, 7, THERE)
    assert not isinstance(here, NotMeasured)
    assert not isinstance(there, NotMeasured)
    assert (here.there, here.busy_ns, there.busy_ns) == (True, 521, 77)
    elsewhere = drm_use(files, 7, "0000:03:00.0")
    assert not isinstance(elsewhere, NotMeasured)
    assert (elsewhere.there, elsewhere.busy_ns) == (False, 0)


def test_cycles_serve_where_no_time_is_told(proc: Path, tmp_path: Path) -> None:
    (proc / "4").write_text(client(HERE, 3, "drm-cycles-ccs:\t900", driver="xe"))
    use = drm_use(HostFiles(tmp_path), 7, HERE)
    assert not isinstance(use, NotMeasured)
    assert use.busy_ns == 900


def test_a_driver_that_tells_no_time_tells_presence(proc: Path, tmp_path: Path) -> None:
    (proc / "4").write_text(client(HERE, 3))
    use = drm_use(HostFiles(tmp_path), 7, HERE)
    assert not isinstance(use, NotMeasured)
    assert (use.there, use.busy_ns) == (True, None)


def test_without_such_files_nothing_is_told(proc: Path, tmp_path: Path) -> None:
    assert proc.is_dir()
    assert isinstance(drm_use(HostFiles(tmp_path), 7, HERE), NotMeasured)
    assert isinstance(drm_use(HostFiles(tmp_path), 8, HERE), NotMeasured)


def test_a_counter_longer_than_any_counter_is_told_as_none(proc: Path, tmp_path: Path) -> None:
    (proc / "4").write_text(client(HERE, 3, f"drm-engine-gfx:\t{'9' * 5000} ns"))
    use = drm_use(HostFiles(tmp_path), 7, HERE)
    assert not isinstance(use, NotMeasured)
    assert (use.there, use.busy_ns) == (True, None)
