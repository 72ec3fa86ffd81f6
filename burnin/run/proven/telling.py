"""What a bench has shown, as meanings for screen and sheet."""

from __future__ import annotations

from burnin.core.meaning import Term
from burnin.core.proven_bench import BenchShown, NotProven, ProvenBench
from burnin.run.proven.meanings import ShownTerm


def shown_term(shown: BenchShown) -> Term:
    """On one line: whether the bench is proven, by whom, when, with what, and to what."""
    if isinstance(shown, NotProven):
        return ShownTerm.NOT_PROVEN(why=shown.reason)
    carried = carried_terms(shown)
    if shown.simulated:
        return ShownTerm.SIMULATED(carried=carried)
    return ShownTerm.PROVEN(
        port=shown.slot.port,
        proven_utc=shown.proven_utc,
        by=shown.by,
        card=shown.card,
        carried=carried,
        age_days=shown.age_days,
        days_count=shown.days_count,
        starts_since=shown.starts_since,
        starts_count=shown.starts_count,
    )


def carried_terms(shown: ProvenBench) -> tuple[Term, ...]:
    """What the slot carried: link, limits, errors."""
    found: list[Term] = []
    if shown.width_lanes is not None and shown.speed_gts is not None:
        found.append(
            ShownTerm.CARRIED(width_lanes=shown.width_lanes, speed_gts=shown.speed_gts)
        )
    if shown.width_limit_lanes is not None:
        found.append(ShownTerm.WIDTH_LIMIT(lanes=shown.width_limit_lanes))
    if shown.speed_limit_gts is not None:
        found.append(ShownTerm.SPEED_LIMIT(speed_gts=shown.speed_limit_gts))
    if shown.error_rate_bound is not None:
        found.append(ShownTerm.ERROR_RATE(bound=shown.error_rate_bound))
    return tuple(found) or (ShownTerm.CARRIED_UNTOLD(),)


def further_terms(shown: ProvenBench) -> tuple[Term, ...]:
    """What else it showed: copy rates, room, supply, outputs."""
    found: list[Term] = []
    if shown.to_card_gbs is not None and shown.to_host_gbs is not None:
        found.append(
            ShownTerm.COPIES(to_card_gbs=shown.to_card_gbs, to_host_gbs=shown.to_host_gbs)
        )
    if shown.ambient_c is not None:
        found.append(ShownTerm.AMBIENT(ambient_c=shown.ambient_c))
    if shown.supply_w is not None:
        found.append(ShownTerm.SUPPLIED(power_w=shown.supply_w))
    if shown.cooled_w is not None:
        found.append(ShownTerm.COOLED(power_w=shown.cooled_w))
    found += [ShownTerm.RAIL(rail=r.name, voltage_v=r.voltage_v) for r in shown.rails]
    for one in shown.outputs:
        found.append(
            ShownTerm.OUTPUT_CABLE(output=one.output, monitor=one.monitor, cable=one.cable)
            if one.cable
            else ShownTerm.OUTPUT(output=one.output, monitor=one.monitor)
        )
    return tuple(found)
