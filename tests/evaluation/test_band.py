"""The 95 % band on real records, each with the errors of the other hosts as its start."""

from __future__ import annotations

import numpy as np
import pytest

from burnin.thermal.trials.prior_errors import PRIOR
from tests.evaluation.band import drawn_by_run, lead, narrowest_k, prior_of
from tests.evaluation.real_records import in_sight
from tests.evaluation.recorded import AHEAD_S


@pytest.mark.long
def test_the_band_holds_the_reading_on_hosts_that_set_nothing_and_is_no_wider_than_it_need_be() -> (
    None
):
    records = list(in_sight())
    first = [lead((record, PRIOR)) for record in records]
    hosts = {record.host for record in records}
    priors = {host: prior_of(first, without=host) for host in hosts}
    led = [lead((record, priors[record.host])) for record in records]
    for ahead_s, off in prior_of(first).items():
        assert off == pytest.approx(PRIOR[ahead_s], abs=0.05)
    for ahead_s in AHEAD_S:
        columns = [one.of(ahead_s) for one in led]
        rows = {name: np.concatenate([c[name] for c in columns]) for name in columns[0]}
        there = rows["loaded"] > 0.0
        held = (rows["low_c"] <= rows["read_c"]) & (rows["read_c"] <= rows["high_c"])
        width = (rows["high_c"] - rows["low_c"])[there].mean()
        assert there.sum() > 2000
        assert held[there].mean() >= 0.93
        assert width <= 1.5 * narrowest_k((rows["read_c"] - rows["expected_c"])[there])


def test_the_narrowest_band_holds_95_of_100() -> None:
    off = np.concatenate([np.linspace(-2.0, 3.0, 95), np.full(5, 40.0)])
    assert narrowest_k(off) == pytest.approx(5.0)


def test_runs_are_drawn_whole() -> None:
    alike = [np.ones(50, dtype=bool)] * 9
    assert drawn_by_run(alike) == "100.0-100.0 %"
    low, high = drawn_by_run([*alike, np.zeros(50, dtype=bool)]).removesuffix(" %").split("-")
    assert float(low) < 80.0 < float(high)
