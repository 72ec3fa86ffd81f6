"""A source of link error counters that say what a test wants once traffic runs."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from burnin.card.capabilities import Counter
from burnin.card.source import CardPlace, Value
from burnin.core import seams
from burnin.core.events import Event, StageProgress
from burnin.core.meaning import Source
from burnin.core.reading import NotMeasured
from burnin.profile.loader import LoadedProfile, load_profile
from tests.run.driving import Ran, run_simulated

LINK_ALONE = """
format = 1
title = "Link alone"

[guards]
gpu_temp_limit_c = 95.0

[[stages]]
stage = "link"
width_lanes = 16
generation = 4
idle_s = 0.5
load_s = {load_s}
"""


@dataclass
class Counting:
    """Counters by ``(end, name)``: their values before and under traffic."""

    before: Mapping[tuple[str, str], int]
    under: Mapping[tuple[str, str], int]
    offers: Mapping[str, int] = field(default_factory=dict)
    busy: bool = False
    name: str = "counting"

    def probe(self, place: CardPlace) -> Counting:  # noqa: ARG002
        return self

    def read(self, names: Collection[str]) -> Mapping[str, Value | NotMeasured]:  # noqa: ARG002
        return {}

    def source(self, name: str) -> Source:  # noqa: ARG002
        return Source("test")

    def present(self) -> bool:
        return True

    def error_counters(self) -> tuple[Counter, ...] | NotMeasured:
        values = self.under if self.busy else self.before
        return tuple(Counter(n, end, v, None, Source("test")) for (end, n), v in values.items())

    def on_event(self, event: Event) -> None:
        self.busy = self.busy or isinstance(event, StageProgress)


def link_alone(tmp_path: Path, load_s: float) -> LoadedProfile:
    path = tmp_path / "link_alone.toml"
    path.write_text(LINK_ALONE.format(load_s=load_s))
    return load_profile(str(path))


def run_with(
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    under: Mapping[tuple[str, str], int],
    *,
    before: Mapping[tuple[str, str], int] | None = None,
    load_s: float = 3.0,
) -> Ran:
    """A run of the link stage alone on a sound card whose counters say this under traffic."""
    counting = Counting(before if before is not None else dict.fromkeys(under, 0), under)
    usual = seams.members

    def members(seam: str) -> Mapping[str, object]:
        found = usual(seam)
        return {**found, "counting": counting} if seam == "sources" else found

    monkeypatch.setattr("burnin.card.merge.seams.members", members)
    profile = link_alone(tmp_path, load_s)
    return run_simulated("healthy", profile, tmp_path / "results", on_event=counting.on_event)
