"""Each line that a person in gloves types gives the same at every place, or is asked again."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.others.prompts.places import PLACES

CASES = tomllib.loads(Path(__file__).with_name("answers.toml").read_text("utf-8"))["case"]


@pytest.mark.parametrize("case", CASES, ids=[case["what"] for case in CASES])
def test_a_line_gives_what_it_must(case: dict[str, Any], tmp_path: Path) -> None:
    came = {name: place(case["typed"], tmp_path / name) for name, place in PLACES.items()}
    if case.get("open"):
        assert came != case["wants"], "it holds now: take its `open = true` away"
    else:
        assert came == case["wants"]


def test_each_case_names_every_place() -> None:
    for case in CASES:
        assert case["gave"].keys() == case["wants"].keys() == PLACES.keys(), case["typed"]


def test_no_line_is_drawn_twice() -> None:
    assert len({case["typed"] for case in CASES}) == len(CASES)
