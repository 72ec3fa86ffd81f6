"""A guard as another package would bring it: its settings, itself, its registration."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from importlib.metadata import EntryPoint, entry_points
from typing import Literal

import pytest
from pydantic import Field

from burnin.core import seams
from burnin.core.meaning import CauseCode, CheckCode, ReasonCode
from burnin.core.reading import known
from burnin.core.sample import Sample
from burnin.guard.guard import Expectation, Trip
from burnin.guard.kind import GuardFacts, GuardKind
from burnin.profile.guards import AddedGuard


class SaggingReason(ReasonCode):
    SAGS = "sagging_clock_sags", "core_clock_mhz"


class SaggingCause(CauseCode):
    SUPPLY = "sagging_clock_supply"


class SaggingCheck(CheckCode):
    PLUGS = "sagging_clock_plugs"


class SaggingSettings(AddedGuard):
    """The slowest that the core may run under load."""

    guard: Literal["sagging_clock"]
    core_clock_least_mhz: float = Field(
        gt=0.0, le=5000.0, description="a slower core under load ends it"
    )


class SaggingClock:
    """Ends the load when the core runs slower than it may."""

    name = "sagging clock"

    def __init__(self, least_mhz: float) -> None:
        self._least_mhz = least_mhz

    def judge(self, sample: Sample) -> Trip | None:
        clock_mhz = known(sample.telemetry.core_clock_mhz)
        if clock_mhz is None or sample.load_share <= 0.0 or clock_mhz >= self._least_mhz:
            return None
        return Trip(
            self.name, "core_clock_mhz", clock_mhz, self._least_mhz,
            SaggingReason.SAGS(core_clock_mhz=clock_mhz), SaggingCause.SUPPLY(),
            SaggingCheck.PLUGS(),
        )  # fmt: skip

    def expectation(self) -> Expectation | None:
        return None


def _build(said: SaggingSettings, _: GuardFacts) -> SaggingClock:
    return SaggingClock(said.core_clock_least_mhz)


SAGGING = GuardKind("sagging_clock", SaggingSettings, _build, "the shop's own experience", 90)


@contextmanager
def installed(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """As if a package with this guard were installed beside ours."""
    point = EntryPoint("sagging_clock", "tests.guard.added_guard:SAGGING", seams.GROUPS["guards"])

    def with_ours(*, group: str) -> list[EntryPoint]:
        return [*entry_points(group=group), *([point] if group == point.group else [])]

    with monkeypatch.context() as patched:
        patched.setattr("burnin.core.seams.entry_points", with_ours)
        _forget()
        try:
            yield
        finally:
            patched.undo()
            _forget()


def _forget() -> None:
    seams.names.cache_clear()
    seams.member.cache_clear()
    seams._points.cache_clear()
