"""What is told first in each case, beside what a technician expects to be told first."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from burnin.core.errors import BadInput
from burnin.core.plain import plain
from burnin.ticket.comparison.comparison import compare_records
from tests.others.compare.cases import CASES, laid_out


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("kept")


@pytest.mark.long
@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_what_is_told_first(case: dict[str, Any], kept: Path, tmp_path: Path) -> None:
    mine, beside = laid_out(case, kept, tmp_path / "results")
    if case.get("refused"):
        with pytest.raises(BadInput):
            compare_records(mine, beside, tmp_path / "results")
        return
    found = compare_records(mine, beside, tmp_path / "results")
    right = _is_as_expected(case, plain((found.basis, found.notes)), found)
    assert right is not case.get("open", False)


def _is_as_expected(case: dict[str, Any], told: object, found: Any) -> bool:
    codes = str(told)
    matter = [one for one in found.findings if one.matters]
    if not all(code in codes for code in (case.get("basis", ""), *case.get("also", []))):
        return False
    if case["topic"] in ("", "run"):
        return not matter and (case["topic"] == "run") == bool(found.stages_not_reached)
    first = found.findings[0]
    named = "reading" not in case or first.lead.reading in case["reading"]
    causes = str(plain(first.likely.claim)) if first.likely else ""
    explained = "cause" not in case or any(code in causes for code in case["cause"])
    return first.kind == case["topic"] and named and explained
