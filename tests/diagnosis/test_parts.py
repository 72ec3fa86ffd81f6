"""What failed beside link and outputs is laid to a part: identity, arithmetic, link for moments."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.card.kernel_log.meanings import KernelReason
from burnin.core.reading import Limit, Reading, judge, judge_text
from burnin.diagnosis.explain import explain_record
from burnin.diagnosis.explanation import Answer, Explanation
from burnin.diagnosis.meanings import ComputeFault, Conclusion, IdentityFault, MomentFault
from burnin.diagnosis.parts.of_record import Part, PartKind
from tests.diagnosis.records import link_readings, run_json, tables

PASSED = {"stage": "3-link", "kind": "link"}


def of_stage(reading: Reading, stage: str) -> Reading:
    return Reading(**(vars(reading) | {"stage": stage}))


def explained(folder: Path, *readings: Reading, failed: tuple[tuple[str, str], ...]) -> Explanation:
    stages = [PASSED, *({"stage": s, "kind": k, "verdict": "fail"} for s, k in failed)]
    return explain_record(
        tables(run_json(folder, stages, verdict="fail"), [*link_readings(16.0), *readings])
    )


def only_part(found: Explanation) -> Part:
    (part,) = found.parts
    assert found.answer is Answer.EXPLAINED
    assert sum(probability for _, probability in part.causes) == pytest.approx(1.0)
    return part


def test_another_identity_is_laid_to_firmware_or_model(tmp_path: Path) -> None:
    wrong = of_stage(judge_text("device_id", "0x7a11", ("0x7a10",)), "1-enumeration")
    part = only_part(explained(tmp_path, wrong, failed=(("1-enumeration", "enumeration"),)))
    assert part.kind is PartKind.IDENTITY
    assert part.causes[0][0].means(IdentityFault.FIRMWARE)


def test_changed_results_are_laid_to_memory_where_that_fails_too(tmp_path: Path) -> None:
    changed = of_stage(judge("results_that_changed", 3.0, "", Limit(0, 0)), "5-compute")
    words = of_stage(judge("failing_words", 9.0, "", Limit(0, 0)), "4-memory")
    alone = explained(tmp_path, changed, failed=(("5-compute", "compute"),))
    assert only_part(alone).causes[0][0].means(ComputeFault.CHIP)
    both = explained(
        tmp_path, words, changed, failed=(("4-memory", "memory"), ("5-compute", "compute"))
    )
    assert only_part(both).causes[0][0].means(ComputeFault.MEMORY)


def test_a_link_that_was_down_for_a_moment_is_no_sound_link(tmp_path: Path) -> None:
    down = KernelReason.LINK_DOWN(address="0000:00:01.0", line="pcieport: Link Down/Up ignored")
    log = of_stage(
        judge("whole_run_kernel_log", 1.0, "", Limit(upper=0.0), why_fail=down), "whole_run"
    )
    found = explained(tmp_path, log, failed=(("whole_run", "whole_run"),))
    part = only_part(found)
    assert part.kind is PartKind.MOMENTS
    assert part.causes[0][0].means(MomentFault.OPENS_FOR_MOMENTS)
    assert found.because is not None
    assert found.because.means(Conclusion.FOR_MOMENTS)


def test_a_run_that_passed_has_no_part(tmp_path: Path) -> None:
    right = of_stage(judge_text("device_id", "0x7a10", ("0x7a10",)), "1-enumeration")
    assert explained(tmp_path, right, failed=()).parts == ()
