"""Forty ways to write a value, and files of ten settings: read right, or refused with a reason."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest

from burnin.core.errors import BadInput
from burnin.core.quantities.quantity import parse_quantity
from burnin.core.quantities.spelling import OHM, VOLT
from burnin.ticket.before_power.value_file import read_csv
from burnin.ticket.before_power.values import take
from tests.others.values.made_files import VALUES, files, refused
from tests.refusals import refused as told_as
from tests.ticket.tickets import profile, ticket

CASES = tomllib.loads(Path(__file__).with_name("spellings.toml").read_text("utf-8"))
UNITS = {"ohm": OHM, "volt": VOLT}


@pytest.mark.parametrize(
    ("unit", "case"),
    [(unit, case) for unit, cases in CASES.items() for case in cases],
    ids=lambda part: part["text"] if isinstance(part, dict) else part,
)
def test_a_spelling_is_read_right_or_refused(unit: str, case: dict[str, Any]) -> None:
    if case.get("refused"):
        with pytest.raises(BadInput):
            parse_quantity(case["text"], UNITS[unit])
        return
    found = parse_quantity(case["text"], UNITS[unit])
    if case.get("open"):
        assert found.value is None
    elif "below" in case:
        assert found.value is not None
        assert 0.0 <= found.value - found.uncertainty <= found.value <= case["below"]
        assert math.isclose(found.value + found.uncertainty, case["below"], rel_tol=1e-6)
    else:
        assert found.value == pytest.approx(case["value"], rel=1e-12)
        if "uncertainty" in case:
            assert found.uncertainty == pytest.approx(case["uncertainty"], rel=1e-9)


@pytest.mark.parametrize(("name", "content"), list(files()), ids=[name for name, _ in files()])
def test_a_file_of_any_setting_is_read(name: str, content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "values.csv"
    path.write_bytes(content)
    entries = read_csv(path)
    assert [entry.point for entry in entries] == [point for point, _, _ in VALUES], name
    for entry, (_, value, unit) in zip(entries, VALUES, strict=True):
        found = parse_quantity(entry.text, unit)
        assert found.value == (None if value == "OL" else pytest.approx(float(value))), name


@pytest.mark.parametrize(
    ("content", "word"), [(c, w) for _, c, w in refused()], ids=[name for name, _, _ in refused()]
)
def test_a_file_that_is_not_sure_is_refused_with_its_place(
    content: bytes, word: str, tmp_path: Path
) -> None:
    path = tmp_path / "values.csv"
    path.write_bytes(content)
    with told_as(BadInput, match=word):
        take(ticket(tmp_path), read_csv(path), profile())
