from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.core.meaning import Check
from burnin.diagnosis.evidence import Evidence, LinkLook
from burnin.diagnosis.faults import faults
from burnin.diagnosis.meanings import NextCheck
from burnin.diagnosis.next_step import next_steps
from burnin.diagnosis.posterior import Posterior
from burnin.diagnosis.prior import P_NONE
from burnin.diagnosis.worth import entropy_bits, expected_bits
from tests.diagnosis.looks import lane_three, look

lanes = st.none() | st.frozensets(st.integers(0, 15), max_size=3)
counts = st.none() | st.integers(0, 5000)
looks = st.builds(
    look,
    width=st.none() | st.sampled_from([1, 2, 4, 8, 16]),
    generation=st.none() | st.integers(1, 4),
    top_generation=st.none() | st.integers(1, 4),
    errors=st.tuples(counts, counts),
    lanes=st.tuples(lanes, lanes),
    managed=st.none() | st.booleans(),
    warm=st.booleans(),
)


@pytest.mark.long
@settings(max_examples=6, deadline=None)
@given(seen=st.lists(looks, min_size=1, max_size=2), lost=st.booleans())
def test_probabilities_add_up_whatever_was_seen(seen: list[LinkLook], lost: bool) -> None:
    posterior = Posterior(Evidence(tuple(seen), lost=lost), ["B54"])
    every = posterior.candidates(100_000)
    assert sum(e.probability for e in every) == pytest.approx(1.0)
    assert sum(p for _, p in posterior.hypotheses()) == pytest.approx(1.0)
    for candidate in every[:3]:
        alone = candidate.one_fault + candidate.two_faults
        assert -1e-9 <= alone <= candidate.probability + 1e-9


@pytest.mark.parametrize("width", [1, 4, 8, 16])
@pytest.mark.parametrize("most", [1, 2, 3, 4, 5])
def test_what_a_fault_may_do_adds_up_to_one(width: int, most: int) -> None:
    for fault in faults(width, most):
        assert math.fsum(fault.shares.values()) == pytest.approx(1.0), fault.name
        assert min(fault.shares.values()) >= 0.0


def test_a_sound_link_is_nothing_to_explain() -> None:
    posterior = Posterior(Evidence((look(), look(warm=True))))
    first = posterior.candidates(1)[0]
    assert first.number == posterior.nothing_class
    assert first.probability > 0.99


def test_what_was_not_read_says_nothing() -> None:
    unread = {"errors": (None, None), "lanes": (None, None), "managed": None}
    posterior = Posterior(Evidence((look(width=None, generation=None, top_generation=None,
                                         **unread),)))  # fmt: skip
    # Nothing but the card's presence was seen: the prior stays, less what takes the card away.
    sound = {names: p for names, p in posterior.hypotheses() if not names}
    assert P_NONE < sound[()] < P_NONE + 0.1


def test_the_ticket_raises_its_contacts_and_no_others() -> None:
    without = Posterior(Evidence((look(width=8),)))
    with_it = Posterior(Evidence((look(width=8),)), ["B54"])

    def share(posterior: Posterior, name: str) -> float:
        members = posterior.members(posterior.candidates(1)[0].number)
        return next(m.probability for m in members if m.fault.name == name)

    assert share(with_it, "B54") > 10.0 * share(without, "B54")
    assert share(with_it, "B58") < share(without, "B58")


def test_side_follows_from_the_end_that_counts() -> None:
    # Errors count at the end that receives (Linux, sysfs-bus-pci-devices-aer): side B at the
    # card, side A at the port.
    for errors, bits, side in (
        ((150, 2), (frozenset({3}), frozenset()), "B"),
        ((2, 150), (frozenset(), frozenset({3})), "A"),
    ):
        posterior = Posterior(Evidence((lane_three(errors=errors, lanes=bits),)))
        members = posterior.members(posterior.candidates(1)[0].number)
        assert members[0].fault.name[0] == side


def test_a_fault_that_comes_with_warmth_is_told_as_one() -> None:
    posterior = Posterior(Evidence((look(), look(warm=True, width=2, managed=True))))
    likely = posterior.candidates(1)[0].likely
    assert any(effect.warm_only and effect.kind == "dead" for effect in likely)


def test_a_slow_link_that_never_tried_is_the_hosts() -> None:
    posterior = Posterior(Evidence((look(generation=3, top_generation=3),)))
    assert posterior.members(posterior.candidates(1)[0].number)[0].fault.name == "host speed"


def test_the_ports_target_parts_a_held_speed_from_power_saving() -> None:
    slow = {"generation": 1, "top_generation": 1}
    for target, name in ((1, "host speed"), (4, "power saving")):
        posterior = Posterior(Evidence((look(target_generation=target, **slow),)))
        members = posterior.members(posterior.candidates(1)[0].number)
        assert members[0].fault.name == name
        assert members[0].probability > 3.0 * members[1].probability


def test_entropy_of_even_chances() -> None:
    # Shannon, A Mathematical Theory of Communication, 6: log2 of the number of even chances.
    assert entropy_bits([0.25] * 4) == pytest.approx(2.0)
    assert entropy_bits([1.0]) == 0.0


def test_a_sure_measurement_tells_all_there_is_to_tell() -> None:
    one, other = faults(16, 4)[:2]
    causes = [((one,), 0.5), ((other,), 0.5)]
    assert expected_bits(causes, lambda f: {f[0].name: 1.0}) == pytest.approx(1.0)
    assert expected_bits(causes, lambda _: {"as before": 1.0}) == 0.0


def checks(*seen: LinkLook, most: int = 3, lost: bool = False) -> list[Check]:
    posterior = Posterior(Evidence(seen, lost=lost))
    return [step.check for step in next_steps(posterior, most)]


def test_registers_are_read_where_errors_have_no_lane_and_only_there() -> None:
    blurred = lane_three(lanes=(None, None))
    assert checks(blurred)[0] == NextCheck.LANE_REGISTERS()
    assert NextCheck.LANE_REGISTERS() not in checks(lane_three(), most=9)
    # A dead lane makes no errors: its register bit stays clear.
    assert NextCheck.LANE_REGISTERS() not in checks(look(width=8, lanes=(None, None)))


def test_the_meter_goes_to_the_named_lane() -> None:
    (meter,) = [check for check in checks(lane_three()) if check.means(NextCheck.METER)]
    contacts = meter["contacts"]
    assert isinstance(contacts, tuple)
    assert {"B27", "B28"} <= set(contacts)
    assert len(contacts) <= 4


def test_power_is_measured_where_a_card_left_the_bus() -> None:
    assert NextCheck.TWELVE_VOLTS() in checks(look(), lost=True)


def test_different_slots_in_one_record_are_refused() -> None:
    with pytest.raises(ValueError, match="different slots"):
        Posterior(Evidence((look(), look(most_width=8, width=8))))
