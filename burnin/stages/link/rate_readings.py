"""Readings of what the copies brought: words that arrived wrong, and the achieved rates."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from burnin.card.capabilities import Link
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.rates import generation_of_speed, line_rate_gbs, payload_limit_gbs
from burnin.card.topology import CardPosition
from burnin.core.meaning import Reason, Source
from burnin.core.proven_bench import BenchShown, ProvenBench
from burnin.core.reading import (
    Limit,
    NotMeasured,
    Reading,
    Verdict,
    judge,
    known,
    not_measured,
)
from burnin.stages.link.meanings import LinkReason, LinkSource
from burnin.stages.link.settings import LinkCheck
from burnin.stages.link.sums import WAYS, Traffic

_USUAL_PAYLOAD_BYTES = 256
"""Taken where the card's own setting cannot be read (common practice, no source)."""

HALF_OR_LESS = 0.55
"""Share of the payload limit below which a link may carry half of what it says. Both ways at once
copies reach 0.7 to 0.8 (seen on real cards and hosts); half of that is 0.4."""
_AS_WIDE = 0.95
"""A way that carries this share of the link's own limit hides nothing of it."""
_MORE_THAN_CAN_BE = 1.01
"""Share of the bare line rate above which words cannot all have crossed: clocks differ by less."""
_OF_KNOWN_GOOD = 0.75
"""Share of what known-good cards moved in the slot that a card must reach (estimate)."""


def rate_readings(
    settings: LinkCheck,
    sums: Traffic,
    link: Link,
    space: ConfigurationSpace | NotMeasured,
    no_traffic: Reason | None,
    position: CardPosition | NotMeasured,
    shown: BenchShown | None = None,
    fastest_gts: Sequence[float] = (),
) -> Iterator[Reading]:
    """Words that arrived wrong, and the achieved copy rates beside what the link can carry.

    A bridge on the way may have a narrower link than the card: then that one sets the bound, and
    what the card's own link carries stays to be shown elsewhere.
    `shown` is what the card's slot had shown before, `fastest_gts` the speeds at which the card's
    end ran while words were moved: it may have slowed down since.
    """
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
    speed = max((*fastest_gts, known(link.card.speed_gts) or 0.0)) or None
    width = known(link.card.width_lanes)
    generation = None if speed is None else known(generation_of_speed(speed))
    if generation is None or width is None:
        return
    payload_bytes = _max_payload_bytes(space)
    limit_gbs = payload_limit_gbs(generation, width, payload_bytes)
    source: Source = LinkSource.PAYLOAD_LIMIT(limit_gbs=limit_gbs)
    too_fast = _faster_than_it_can(max(rates_gbs.values()), link, generation)
    if too_fast is not None:
        yield not_measured("copy_share_of_payload_limit", "", too_fast)
        return
    on_the_way = _hidden_by_bridge(position, limit_gbs, payload_bytes)
    if on_the_way is not None:
        yield not_measured("full_rate_shown", "", on_the_way)
    bridge = None if isinstance(position, NotMeasured) else position.narrowest_gbs(payload_bytes)
    if bridge is not None and bridge[0] < limit_gbs:
        limit_gbs = bridge[0]
        source = LinkSource.PAYLOAD_LIMIT_ON_THE_WAY(limit_gbs=limit_gbs, port=bridge[1].address)
    asked = settings.share_of_payload_limit_at_least
    yield _share(max(rates_gbs.values()), limit_gbs, (speed or 0.0, width), asked, source, shown)


def _faster_than_it_can(rate_gbs: float, link: Link, generation: int) -> Reason | None:
    """Why the words moved cannot be believed to have crossed the link; None where they can.

    Its line rate at its widest and fastest bounds them (PCI Express Base Specification, table of
    data rates; encoding taken off), whatever size of packets the host has set.
    """
    widths = (known(link.card.width_lanes), known(link.card.max_width_lanes))
    lanes = max((width for width in widths if width is not None), default=None)
    if lanes is None:
        return None
    limit_gbs = line_rate_gbs(generation, lanes)
    if rate_gbs <= _MORE_THAN_CAN_BE * limit_gbs:
        return None
    return LinkReason.FASTER_THAN_IT_CAN(rate_gbs=rate_gbs, limit_gbs=limit_gbs, lanes=lanes)


def _share(
    rate_gbs: float,
    limit_gbs: float,
    told: tuple[float, int],
    asked: float | None,
    source: Source,
    shown: BenchShown | None,
) -> Reading:
    """The rate moved against what speed and width, as `told`, can carry.

    A link that carries little more than half of that may be half of what its registers say. An
    engine or a host may be as slow, so that it fails only where known-good cards moved more here.
    """
    name, share = "copy_share_of_payload_limit", rate_gbs / limit_gbs
    if asked is not None and asked >= HALF_OR_LESS:
        return judge(name, share, "", Limit(lower=asked), source=source)
    limit = Limit(lower=HALF_OR_LESS)
    if share >= HALF_OR_LESS:
        return judge(name, share, "", limit, source=source)
    known_gbs = _known_good_gbs(shown, limit_gbs)
    why = LinkReason.CARRIES_LESS(
        rate_gbs=rate_gbs, limit_gbs=limit_gbs, speed_gts=told[0], lanes=told[1]
    )
    if known_gbs is None:
        return Reading(name, share, "", 0.0, limit, (), Verdict.UNSURE, why, source)
    limit = Limit(lower=_OF_KNOWN_GOOD * min(1.0, known_gbs / limit_gbs))
    return judge(name, share, "", limit, source=source, why_fail=why)


def _hidden_by_bridge(
    position: CardPosition | NotMeasured, limit_gbs: float, payload_bytes: int
) -> Reason | None:
    """Why the card's link cannot show here what it carries; None where it can."""
    if isinstance(position, NotMeasured):
        return None
    most = position.most_on_the_way_gbs(payload_bytes)
    if most is None or most[0] >= _AS_WIDE * limit_gbs:
        return None
    return LinkReason.RATE_ON_THE_WAY(
        port=most[1].address, way_gbs=most[0], link_gbs=limit_gbs
    )


def _known_good_gbs(shown: BenchShown | None, limit_gbs: float) -> float | None:
    """What known-good cards moved in this slot, GB/s; None where nobody knows."""
    if not isinstance(shown, ProvenBench):
        return None
    rates = [rate for rate in (shown.to_card_gbs, shown.to_host_gbs) if rate is not None]
    if rates:
        return max(rates)
    return HALF_OR_LESS / _OF_KNOWN_GOOD * limit_gbs if shown.simulated else None


def _max_payload_bytes(space: ConfigurationSpace | NotMeasured) -> int:
    if isinstance(space, NotMeasured):
        return _USUAL_PAYLOAD_BYTES
    return known(space.max_payload_bytes()) or _USUAL_PAYLOAD_BYTES
