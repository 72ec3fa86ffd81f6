"""Every single open contact of the edge: what the machine shows, what the isolation makes of it."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from functools import cache

import pytest

from burnin.connector.contact_map import contacts
from burnin.connector.training import widest_link
from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.posterior import Posterior
from burnin.sim.scenario.model import Scenario
from tests.evaluation.observing import observe
from tests.sim.machines import with_causes


def opened(name: str, **bench: object) -> Scenario:
    cause = {"kind": "contact", "contact": name, "state": "open"}
    return with_causes("healthy", cause, powered_for_s=1.0, **bench)


@cache
def seen(name: str) -> Evidence:
    """Two looks at a card with that contact open; contacts that the link cannot feel are one."""
    return observe(opened(name), 1, cold_s=4.0, warm_s=3.0)


@pytest.mark.parametrize("name", list(contacts()))
def test_model_and_map_agree_on_what_an_open_contact_does(name: str) -> None:
    contact, evidence = contacts()[name], seen(name)
    width = 16 if contact.lane is None else widest_link({contact.lane})
    gone = width == 0 or contact.group in ("reset", "clock")
    assert evidence.absent is gone
    for look in evidence.looks:
        assert (look.width, look.generation, look.errors) == (width, 4, (0, 0))


def score(names: Sequence[str], with_ticket: bool) -> list[str]:
    """Contacts whose candidate is not the most probable one."""
    missed = []
    for name in names:
        posterior = Posterior(seen(name), [name] if with_ticket else ())
        right = posterior.class_at(posterior.account_of([name]))
        if posterior.candidates(1)[0].number != right:
            missed.append(name)
    return missed


@pytest.mark.parametrize("with_ticket", [False, True])
def test_the_first_candidate_holds_the_open_contact(with_ticket: bool) -> None:
    assert score(list(contacts())[::9], with_ticket) == []


@pytest.mark.long
def test_the_first_candidate_holds_the_open_contact_by_link_data_alone() -> None:
    assert len(score(list(contacts()), False)) <= 0.05 * 164


@pytest.mark.long
def test_and_with_a_ticket_that_lists_it() -> None:
    assert len(score(list(contacts()), True)) <= 0.01 * 164


SHOWING = [
    name for name, contact in contacts().items()
    if contact.lane is not None or contact.group in ("reset", "clock")
]  # fmt: skip


def not_leading(names: Sequence[str]) -> list[str]:
    """Contacts that do not lead the most probable candidate although the ticket lists them."""
    wrong = []
    for name in names:
        posterior = Posterior(seen(name), [name])
        first = posterior.candidates(1)[0]
        if name not in posterior.members(first.number)[0].fault.contacts:
            wrong.append(name)
    return wrong


def test_with_a_ticket_a_contact_that_shows_leads_its_class() -> None:
    assert not_leading(SHOWING[::5]) == []


@pytest.mark.long
def test_with_a_ticket_every_contact_that_shows_leads_its_class() -> None:
    assert not_leading(SHOWING) == []


def test_classes_follow_from_predictions_and_not_from_a_list() -> None:
    # Lanes 8 to 15 dead give the same width: one class; lanes 2 and 3 are another.
    posterior = Posterior(seen("B54"))
    classes = {
        lane: posterior.class_at(posterior.account_of([name]))
        for lane, name in ((2, "B23"), (3, "B27"), (8, "B50"), (9, "B54"), (15, "A80"))
    }
    assert classes[8] == classes[9] == classes[15]
    # Two lanes dead together look like the lower of them alone.
    both = posterior.class_at(posterior.account_of(["B54", "B62"]))
    assert both == classes[9]


def test_lane_registers_part_what_width_cannot() -> None:
    posterior = Posterior(seen("B54"))
    marginal = dataclasses.replace(
        seen("B54").looks[0], width=16, generation=3, top_generation=4, errors=(80, 1),
        lanes=(frozenset({9}), frozenset()), managed=True,
    )  # fmt: skip
    named = Posterior(Evidence((marginal,)))
    first = named.members(named.candidates(1)[0].number)
    assert {name for m in first[:2] for name in m.fault.contacts} == {"B54", "B55"}
    blurred = dataclasses.replace(marginal, lanes=(None, None))
    unnamed = Posterior(Evidence((blurred,)))
    leading = unnamed.members(unnamed.candidates(1)[0].number)
    assert len({member.fault.name for member in leading[:32]}) == 32
    assert leading[0].probability == pytest.approx(leading[31].probability, rel=0.1)
    assert posterior.candidates(1)[0].number != posterior.nothing_class
