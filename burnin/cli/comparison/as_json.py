"""A comparison for a machine to read: codes with data, numbers with their unit beside."""

from __future__ import annotations

from burnin.core.plain import plain
from burnin.ticket.comparison.comparison import Comparison
from burnin.ticket.comparison.findings import Finding
from burnin.ticket.comparison.rows import Row
from burnin.ticket.comparison.spread import far_from

FORMAT = 1


def comparison_json(found: Comparison, plot: str = "") -> dict[str, object]:
    """All of it; README.md, "A record beside others", says what each key means."""
    return {
        "format": FORMAT,
        "record": str(found.record.folder),
        "verdict": found.record.run.shown_verdict,
        "profile": found.record.run.profile.name,
        "beside": [
            {"record": str(one.folder), "verdict": one.run.shown_verdict} for one in found.beside
        ],
        "known_good_count": len(found.known_good),
        "far_from_spreads": plain_far(found),
        "basis": plain(found.basis),
        "notes": plain(found.notes),
        "stages_not_reached": list(found.stages_not_reached),
        "findings": [_finding(one) for one in found.findings],
        "rows": [_row(row) for row in found.rows],
        "plot": plot,
    }


def plain_far(found: Comparison) -> float | None:
    """Spreads from which on a value counts as far off; null where too few records tell."""
    far = far_from(len(found.known_good))
    return far if far < float("inf") else None


def _finding(found: Finding) -> dict[str, object]:
    likely = found.likely
    return {
        "stage_kind": found.kind,
        "matters": found.matters,
        "reading": found.lead.reading,
        "stage": found.lead.stage,
        "also": [row.reading for row in found.more],
        "at_same_power": None
        if found.power is None or found.power.difference is None
        else not found.power.differs,
        "likely": None
        if likely is None
        else {"any_of": plain(likely.claim), "probability": likely.probability},
    }


def _row(row: Row) -> dict[str, object]:
    return {
        "stage": row.stage,
        "reading": row.reading,
        "unit": row.own.unit,
        "value": row.own.value,
        "other_value": row.other.value,
        "records_count": row.count,
        "difference": row.difference,
        "uncertainty_k2": row.uncertainty,
        "spread": row.spread,
        "spreads": row.spreads,
        "verdict": plain(row.own.verdict),
        "other_verdict": plain(row.other.verdict),
        "weighed": row.weighed,
        "differs": row.differs,
        "far": row.far,
        "judged_otherwise": row.judged_otherwise,
    }
