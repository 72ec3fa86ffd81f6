"""The large word: what the record says, unless the record does not bear it out.

The record's own verdict stands, with one exception: PASS is printed only over a record that holds
nothing against it. A verdict can thus only be lowered here, never raised.
"""

from __future__ import annotations

from burnin.record.reader import RecordData, rows, table, text
from burnin.report.figures import plain
from burnin.report.spans import Span
from burnin.report.terms import OUTCOMES, SIMULATED, SOFTWARE_ENGINE, Outcome

BY_HAND = "Somebody stopped the run by hand before its end."


def judge_record(record: RecordData, stages: tuple[Span, ...]) -> tuple[str, Outcome, str]:
    """Verdict, its wording, and the reason in one sentence."""
    verdict = text(record.facts, "verdict").lower()
    reason = plain(text(record.facts, "reason"), 400)
    if verdict not in OUTCOMES:
        verdict = "incomplete"
    if verdict == "incomplete" and not reason:
        by_hand = text(record.facts, "ended") == "stopped by hand"
        reason = BY_HAND if by_hand else "The record was never closed (power cut or crash)."
    against = objections(record, stages) if verdict == "pass" else ()
    if against:
        verdict = "incomplete"
        reason = f"The record says pass, but {'; '.join(against)}."
    return verdict, OUTCOMES[verdict], reason


def objections(record: RecordData, stages: tuple[Span, ...]) -> tuple[str, ...]:
    """What in a record speaks against printing PASS."""
    found = []
    if record.altered:
        found.append(f"{', '.join(record.altered)} no longer matches the record's checksums")
    if record.cut_short:
        found.append("; ".join(record.flaws))
    if not any(row.verdict == "pass" for row in record.readings):
        found.append("it holds no reading that passed")
    bad = [row for row in record.readings if row.required and row.verdict not in ("pass", "")]
    if bad:
        found.append(f"{len(bad)} required readings did not pass")
    undone = [span.title for span in stages if span.verdict != "pass"]
    if undone:
        found.append(f"these stages did not pass: {', '.join(undone)}")
    if rows(record.facts, "owed"):
        found.append("something is owed")
    if any(row.event == "GuardTripped" for row in record.journal[record.last_start :]):
        found.append("a guard ended the load")
    if record.failing_words:
        found.append("memory read back wrong")
    return tuple(found)


def banners(record: RecordData) -> tuple[str, ...]:
    """What must stand over everything: whatever is not a real card at work."""
    found = []
    card, engine = table(record.facts, "card"), table(record.facts, "engine")
    if record.facts.get("simulated") or card.get("simulated") or engine.get("simulated"):
        found.append(SIMULATED)
    if engine.get("works_card") is False:
        found.append(SOFTWARE_ENGINE)
    return tuple(found)
