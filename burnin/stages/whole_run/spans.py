"""Stretches of samples in which a value stayed the same, with the conditions that it had."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from burnin.core.meaning import Term
from burnin.core.reading import known
from burnin.core.sample import Sample
from burnin.stages.whole_run.meanings import WholeRunTerm

V = TypeVar("V")


@dataclass
class Span(Generic[V]):
    """Consecutive samples with one value; times are elapsed seconds.

    `load_share` and `power_w` are the most seen in it, `gpu_temp_c` the temperature at its start,
    `coolest_c` and `hottest_c` the least and the most in it.
    """

    value: V
    stage: str
    from_s: float
    to_s: float
    count: int = 0
    load_share: float = 0.0
    power_w: float | None = None
    gpu_temp_c: float | None = None
    coolest_c: float | None = None
    hottest_c: float | None = None

    @classmethod
    def begin(cls, value: V, sample: Sample) -> Span[V]:
        """A span that begins with a sample."""
        at_s = sample.elapsed_s
        return cls(value, sample.stage, at_s, at_s, gpu_temp_c=known(sample.telemetry.gpu_temp_c))

    def add(self, sample: Sample) -> None:
        """One more sample with this value."""
        told = sample.telemetry
        power_w, temp_c = known(told.power_w), known(told.gpu_temp_c)
        self.to_s = sample.elapsed_s
        self.count += 1
        self.load_share = max(self.load_share, sample.load_share)
        if power_w is not None:
            self.power_w = max(power_w, self.power_w or 0.0)
        if temp_c is not None:
            self.coolest_c = temp_c if self.coolest_c is None else min(temp_c, self.coolest_c)
            self.hottest_c = temp_c if self.hottest_c is None else max(temp_c, self.hottest_c)


def follow(spans: list[Span[V]], value: V, sample: Sample) -> None:
    """Take a sample into the last span, or begin a new one where its value is another."""
    if not spans or spans[-1].value != value:
        if spans:
            spans[-1].to_s = sample.elapsed_s  # it lasted until something else was seen
        spans.append(Span.begin(value, sample))
    spans[-1].add(sample)


def lasted_s(spans: Sequence[Span[V]]) -> float:
    """How long several spans lasted together."""
    return sum(span.to_s - span.from_s for span in spans)


def conditions(span: Span[V], warmer_than_c: float | None = None) -> tuple[Term, ...]:
    """Under which load, power and temperature a span began; what could not be read is left out."""
    found: list[Term] = [
        WholeRunTerm.LOAD(load_pct=100.0 * span.load_share)
        if span.load_share > 0.0
        else WholeRunTerm.AT_REST()
    ]
    if span.power_w is not None:
        found.append(WholeRunTerm.POWER(power_w=span.power_w))
    if span.gpu_temp_c is not None:
        found.append(WholeRunTerm.TEMPERATURE(gpu_temp_c=span.gpu_temp_c))
    if warmer_than_c is not None:
        found.append(WholeRunTerm.ONLY_WARMER(gpu_temp_c=warmer_than_c))
    return tuple(found)
