"""A sensor source in a package of a shop's own, found through packaging metadata."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from burnin.card.merge import open_bench
from burnin.core import seams
from burnin.core.meaning import Source
from burnin.core.reading import NotMeasured
from tests.card.sysfs_tree import CARD, corvane_bench

MODULE = '''
"""A thermocouple under the card's memory, read by its place in a file."""

from burnin.card.source import BEST
from burnin.core.meaning import SourceCode


class ThermocoupleSource(SourceCode):
    CHANNEL = "wrenfield_thermocouple", "channel"


class Thermocouple:
    offers = {"memory_temp_c": BEST + 1}

    def __init__(self, files):
        self._files = files

    def read(self, names):
        text = self._files.read_bytes("/wrenfield/channel_3").decode()
        return {name: float(text) for name in names}

    def source(self, name):
        return ThermocoupleSource.CHANNEL(channel=3)

    def present(self):
        return True


class Wrenfield:
    name = "wrenfield"

    def probe(self, place):
        return Thermocouple(place.files)


SOURCE = Wrenfield()
'''


@pytest.fixture
def installed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The package as an installer leaves it: its module, and metadata with its entry point."""
    site = tmp_path / "site"
    metadata = site / "wrenfield_source-1.0.dist-info"
    metadata.mkdir(parents=True)
    (site / "wrenfield_source.py").write_text(MODULE)
    about = "Metadata-Version: 2.1\nName: wrenfield-source\nVersion: 1.0\n"
    (metadata / "METADATA").write_text(about)
    (metadata / "entry_points.txt").write_text(
        "[burnin.sources]\nwrenfield = wrenfield_source:SOURCE\n"
    )
    monkeypatch.syspath_prepend(str(site))
    forget_seams()
    yield
    monkeypatch.undo()
    forget_seams()


def forget_seams() -> None:
    for kept in (seams.names, seams.member, seams._points):
        kept.cache_clear()


@pytest.mark.usefixtures("installed")
def test_it_is_found_and_its_value_comes_with_its_source(tmp_path: Path) -> None:
    tree = corvane_bench(tmp_path / "bench")
    tree.write("/wrenfield/channel_3", "61.25")
    (card,) = open_bench(tree.files, this_machine=False).cards()
    assert card.telemetry().memory_temp_c == 61.25
    assert card.sources()["memory_temp_c"] == Source("wrenfield_thermocouple", (("channel", 3),))
    assert card.telemetry().gpu_temp_c == 54.0


@pytest.mark.usefixtures("installed")
def test_where_its_file_is_missing_the_kernels_value_is_taken(tmp_path: Path) -> None:
    tree = corvane_bench(tmp_path / "bench")
    (card,) = open_bench(tree.files, this_machine=False).cards()
    assert card.telemetry().memory_temp_c == 62.0
    tree.at(f"/sys/bus/pci/devices/{CARD}/hwmon/hwmon3/temp3_input").unlink()
    told = card.telemetry().memory_temp_c
    assert isinstance(told, NotMeasured)
    assert told.reason["source"] == "wrenfield"


def test_without_the_package_it_is_not_there() -> None:
    assert "wrenfield" not in seams.names("sources")
    assert {"linux", "nvml"} <= set(seams.names("sources"))
