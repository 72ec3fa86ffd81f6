"""Steps: minutes, words, and outcomes that follow the truth."""

from __future__ import annotations

import numpy as np
import pytest

from tests.others.explained.cases import CLASSES, Fault, JsonDict, Truth
from tests.others.explained.draw import cases
from tests.others.explained.step_times import MINUTES, WORDS, Step, meter, minutes, outcome

RNG_SEED = 12


def _truth(fault: Fault, second: Fault | None = None) -> JsonDict:
    return Truth(fault, second).to_dict()


def _share(truth: JsonDict, step: Step, word: str) -> float:
    rng = np.random.default_rng(RNG_SEED)
    return sum(outcome(truth, step, rng) == word for _ in range(1500)) / 1500


def test_every_step_has_a_word_for_every_truth() -> None:
    rng = np.random.default_rng(RNG_SEED)
    for class_ in CLASSES:
        for one in cases(class_, 1904, 25):
            truth = one.truth.to_dict()
            for name in MINUTES:
                step = Step(name, ("A25",) if name.startswith("meter") else ())
                assert outcome(truth, step, rng) in WORDS[name]


def test_meter_on_the_open_contact() -> None:
    truth = _truth(Fault("contact", ("A25",), 2, "A", "open"))
    assert _share(truth, meter(["A25"]), "open") == pytest.approx(0.97, abs=0.02)
    assert _share(truth, meter(["A26", "A29"]), "open") == 0
    assert _share(truth, meter(["A25", "A26", "A29", "A30"]), "open") > 0.94


def test_meter_does_not_find_a_capacitor() -> None:
    truth = _truth(Fault("capacitor", ("A25",), 2, "A", "open"))
    assert _share(truth, meter(["A25"]), "sound") > 0.98


@pytest.mark.parametrize("count", [0, 7])
def test_no_more_than_six_points(count: int) -> None:
    with pytest.raises(ValueError, match="1 to 6 points"):
        Step("meter group", tuple(f"A{n + 20}" for n in range(count)))


def test_unknown_step() -> None:
    with pytest.raises(ValueError, match="no step"):
        Step("pray")


def test_swaps_part_bench_from_card() -> None:
    spring = _truth(Fault("slot spring", ("A25",), 2, "A", "open"))
    pad = _truth(Fault("contact", ("A25",), 2, "A", "open"))
    assert _share(spring, Step("known-good card"), "same") == 1
    assert _share(pad, Step("known-good card"), "well") == 1
    assert _share(spring, Step("other slot"), "well") == 1
    assert _share(pad, Step("other slot"), "same") == 1


def test_one_of_two_cured_is_better() -> None:
    two = _truth(Fault("riser", effect="all lanes"), Fault("contact", ("B23",), 2, "B", "open"))
    assert _share(two, Step("other riser"), "better") == 1


def test_warm_only_shows_warm() -> None:
    joint = _truth(Fault("joint", ("A25",), 2, "A", "gone", warm_only=True))
    assert _share(joint, Step("warm run"), "fails warm") == pytest.approx(0.9, abs=0.03)
    assert _share(joint, Step("cold start"), "comes up") == 1


def test_the_next_measurement_is_quicker() -> None:
    assert minutes(meter(["A25"]), meter(["A26"])) < minutes(meter(["A25"]))
    assert minutes(meter(["A25"]), Step("warm run")) == MINUTES["meter one"]
    assert minutes(meter(["A25", "A26"])) > minutes(meter(["A25"]))
    assert all(value > 0 for value in MINUTES.values())
