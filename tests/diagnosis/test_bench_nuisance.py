"""What a bench does by itself is not laid to the card, and what it hides is not called sound."""

from __future__ import annotations

from burnin.diagnosis.evidence import Evidence, LinkLook, Measured, in_order
from burnin.diagnosis.posterior import SOMETHING_ELSE, Posterior
from burnin.diagnosis.prior import P_ELSE
from tests.diagnosis.looks import lane_three, look

ALL = frozenset(range(16))


def first_is_nothing(*looks: LinkLook, known_good: tuple[LinkLook, ...] = ()) -> bool:
    found = Posterior(Evidence(in_order(looks, known_good), known_good=known_good))
    return found.candidates(1)[0].number == found.nothing_class


def test_bits_that_stuck_since_boot_are_nobodys_fault() -> None:
    assert first_is_nothing(look(lanes=(frozenset(), ALL), stuck=(frozenset(), ALL)))


def test_a_bit_that_comes_up_in_the_look_is_a_lanes() -> None:
    seen = look(lanes=(frozenset({3}), frozenset()), errors=(60, 1))
    assert not first_is_nothing(seen)


def test_noise_that_the_bench_shows_with_a_known_good_card_is_the_benchs() -> None:
    noisy = look(errors=(0, 25))
    assert first_is_nothing(noisy, known_good=(noisy,))
    share = {
        bool(good): Posterior(Evidence((noisy,), known_good=good)).candidates(1)[0].probability
        for good in ((), (noisy,))
    }
    assert share[True] > share[False]


def test_a_slot_that_was_sound_with_a_known_good_card_is_suspected_less() -> None:
    narrow = look(width=8)

    def slot(known_good: tuple[LinkLook, ...]) -> float:
        found = Posterior(Evidence((narrow,), known_good=known_good))
        members = found.members(found.candidates(1)[0].number)
        return sum(m.probability for m in members if m.fault.where.value.startswith("slot"))

    assert slot((look(),)) < 0.2 * slot(())


def test_a_meter_moves_the_answer_to_what_it_found_open() -> None:
    found = Posterior(Evidence((look(width=8),), measured=(Measured("B54", "open"),)))
    assert "B54" in found.members(found.candidates(1)[0].number)[0].fault.contacts


def test_a_board_wired_the_other_way_is_thought_of() -> None:
    found = Posterior(Evidence((lane_three(),)))
    names = [m.fault.name for m in found.members(found.candidates(1)[0].number)]
    # The port calls lane 3 what the edge calls lane 12: B66 and B67 carry that one.
    assert names.index("B66") < names.index("B50")
    assert names[0] in ("B27", "B28")


def test_what_no_model_holds_has_its_own_probability() -> None:
    strange = look(width=3, generation=2, top_generation=4, errors=(0, 5000), managed=False)
    found = Posterior(Evidence((strange,)))
    share = {c.number: c.probability for c in found.candidates(50)}
    assert share[SOMETHING_ELSE] > P_ELSE


def test_a_start_that_fails_is_evidence() -> None:
    found = Posterior(Evidence((look(),), starts=(True, False, True, False, True)))
    likely = found.candidates(1)[0].likely
    assert any(effect.kind == "flaky" for effect in likely)
