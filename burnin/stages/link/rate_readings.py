"""Readings of what the copies brought: words that arrived wrong, and the achieved rates."""

from __future__ import annotations

from collections.abc import Iterator

from burnin.card.capabilities import Link
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.rates import generation_of_speed, payload_limit_gbs
from burnin.core.meaning import Reason
from burnin.core.reading import Limit, NotMeasured, Reading, judge, known, not_measured
from burnin.stages.link.meanings import LinkReason, LinkSource
from burnin.stages.link.settings import LinkCheck
from burnin.stages.link.sums import WAYS, Traffic

_USUAL_PAYLOAD_BYTES = 256
"""Taken where the card's own setting cannot be read (common practice, no source)."""


def rate_readings(
    settings: LinkCheck,
    sums: Traffic,
    link: Link,
    space: ConfigurationSpace | NotMeasured,
    no_traffic: Reason | None,
) -> Iterator[Reading]:
    """Words that arrived wrong, and the achieved copy rates beside what the link can carry."""
    if not sums.seconds:
        yield not_measured("copy_wrong_words", "", no_traffic or LinkReason.NO_RESULT())
        return
    yield judge(
        "copy_wrong_words",
        float(sums.wrong_words),
        "",
        Limit(0.0, 0.0),
        source=LinkSource.WORDS_COMPARED(),
        why_fail=LinkReason.WRONG_WORDS(words_count=sums.wrong_words),
    )
    rates_gbs = {way: sums.moved_bytes(way) / sums.seconds / 1e9 for way in WAYS}
    for way, rate_gbs in rates_gbs.items():
        yield judge(f"copy_{way}_gbs", rate_gbs, "GB/s", None, required=False)
    speed, width = known(link.card.speed_gts), known(link.card.width_lanes)
    generation = None if speed is None else known(generation_of_speed(speed))
    if generation is None or width is None:
        return
    limit_gbs = payload_limit_gbs(generation, width, _max_payload_bytes(space))
    share = settings.share_of_payload_limit_at_least
    yield judge(
        "copy_share_of_payload_limit",
        max(rates_gbs.values()) / limit_gbs,
        "",
        None if share is None else Limit(lower=share),
        source=LinkSource.PAYLOAD_LIMIT(limit_gbs=limit_gbs),
        required=share is not None,
    )


def _max_payload_bytes(space: ConfigurationSpace | NotMeasured) -> int:
    if isinstance(space, NotMeasured):
        return _USUAL_PAYLOAD_BYTES
    return known(space.max_payload_bytes()) or _USUAL_PAYLOAD_BYTES
