"""Link errors of a record that was judged before each event was counted once, judged by today's.

Such a record kept the sums of its traffic and of its counters; they say what the reading must be.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from burnin.core.decision import RuleTerm
from burnin.core.events import TrafficSummed
from burnin.core.reading import Reading, Verdict
from burnin.stages.link.error_readings import new_errors
from burnin.stages.link.sums import Traffic

_NAME = "new_link_errors"


def link_errors_anew(
    reading: Reading, traffic: Mapping[str, TrafficSummed]
) -> Reading | None:
    """The reading as it would be today; None where it is none of these, or nothing is kept."""
    told = traffic.get(reading.stage)
    by_today = reading.rule is not None and reading.rule.means(RuleTerm.POISSON)
    if reading.name != _NAME or by_today or told is None or reading.value is None:
        return None
    found = {r.name: r for r in new_errors(Traffic.from_event(told), 1, None)}
    anew = found[_NAME]
    if anew.verdict is Verdict.NOT_MEASURED:
        return None
    return replace(anew, stage=reading.stage, required=reading.required)
