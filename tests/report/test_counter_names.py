"""Error counters of the link bear the reader's language, as the sources of this tool name them."""

from __future__ import annotations

import pytest

from burnin.card.pci.registers import CORRECTABLE_BITS, UNCORRECTABLE_BITS
from burnin.card.sources.link import AER_NAMES
from burnin.card.sources.nvml_values import LINK_COUNTERS
from burnin.report.languages.catalogue import catalogue
from burnin.stages.meanings import StagesReason

ALL = sorted(
    {*AER_NAMES.values(), *CORRECTABLE_BITS.values(), *UNCORRECTABLE_BITS.values()}
    | {field.name for field in LINK_COUNTERS}
)
GRADES = {"correctable": "behebbar", "non-fatal": "nicht schwer", "fatal": "schwer"}


@pytest.mark.parametrize("name", ALL)
def test_every_counter_has_a_german_name_and_keeps_its_english_one(name: str) -> None:
    for grade, grad in GRADES.items():
        label = f"port {name} ({grade})"
        assert catalogue("en").counter(label) == label
        german = catalogue("de").counter(label)
        assert german.startswith("Anschluss: ")
        assert german.endswith(f"({grad})")
        assert german[len("Anschluss: ") :] != f"{name} ({grad})"


def test_a_counter_that_rose_is_told_in_german() -> None:
    rose = StagesReason.COUNTER_ROSE(counter="card bad TLP (correctable)", rise_count=5)
    assert catalogue("de").say(rose) == "Karte: beschädigtes TLP (behebbar) 5"
    assert catalogue("en").say(rose) == "card bad TLP (correctable) 5"


ODD = ("", "card", "card  (", "bad TLP", "card something new", "é" * 99)


@pytest.mark.parametrize("label", ODD)
def test_what_is_no_known_counter_is_told_as_it_is(label: str) -> None:
    assert catalogue("en").counter(label) == label
