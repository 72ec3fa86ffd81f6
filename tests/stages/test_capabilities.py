"""A stage names what it asks of a card, sees no more, and names what the card does not offer."""

from __future__ import annotations

import typing
from dataclasses import replace
from pathlib import Path
from typing import Any, Protocol, cast

import pytest

import burnin.card.capabilities as capabilities
from burnin.card.capabilities import Card, DetectsDisplays, Enumerates
from burnin.card.meanings import CardReason
from burnin.core.meaning import Reason
from burnin.core.reading import Verdict
from burnin.stages.all_at_once.stage import Needs as TogetherNeeds
from burnin.stages.context import StageContext, UndeclaredCapability, methods_of, offer
from burnin.stages.enumeration.stage import Needs as EnumerationNeeds
from burnin.stages.kind import StageKind
from burnin.stages.link.ends_seen import Needs as LinkNeeds
from burnin.stages.memory.stage import Needs as MemoryNeeds
from burnin.stages.movement.looks import Needs as MovementNeeds
from burnin.stages.registry import stage_kind, stage_kinds
from burnin.stages.thermal_ramp.stage import Needs as RampNeeds
from burnin.stages.under_load.course import Needs as UnderLoadNeeds
from tests.stages.on_bench import carried_out

ASKED = [(name, c) for name, kind in stage_kinds().items() for c in kind.capabilities]


def needs_of(kind: StageKind) -> type:
    """The type argument of the context in the stage's signature."""
    context = typing.get_type_hints(kind.carry_out)["context"]
    assert typing.get_origin(context) is StageContext
    return cast("type", typing.get_args(context)[0])


@pytest.mark.parametrize("name", sorted(stage_kinds()))
def test_what_a_kind_declares_is_what_its_signature_names(name: str) -> None:
    kind = stage_kinds()[name]
    needs = needs_of(kind)
    declared = frozenset().union(*map(methods_of, kind.capabilities))
    assert methods_of(needs) == declared
    for capability in kind.capabilities:
        assert getattr(capability, "_is_protocol", False)
        assert getattr(capabilities, capability.__name__) is capability


def test_a_card_of_all_capabilities_serves_every_stage() -> None:
    """Checked by mypy: each line is an error where a stage needs what `Card` does not have."""

    def takes(
        card: Card,
    ) -> tuple[
        EnumerationNeeds,
        LinkNeeds,
        DetectsDisplays,
        MemoryNeeds,
        RampNeeds,
        MovementNeeds,
        UnderLoadNeeds,
        TogetherNeeds,
    ]:
        return card, card, card, card, card, card, card, card

    needed = set(typing.get_args(typing.get_type_hints(takes)["return"]))
    assert {needs_of(kind) for kind in stage_kinds().values()} - {object} == needed


def test_a_stage_that_asks_for_more_is_an_error_to_mypy_and_at_run_time(tmp_path: Path) -> None:
    def asks_for_screens(context: StageContext[Enumerates], settings: Any) -> None:
        # warn_unused_ignores makes this line an error as soon as mypy lets the call pass.
        context.card.outputs()  # type: ignore[attr-defined]

    greedy = replace(
        stage_kind("enumeration"), capabilities=(Enumerates,), carry_out=asks_for_screens
    )
    with pytest.raises(UndeclaredCapability, match=r"outputs\(\).*identity, present"):
        carried_out(greedy, tmp_path)


def test_a_card_is_offered_as_it_was_declared() -> None:
    class Shows(Protocol):
        def shown(self) -> int: ...

    class Thing:
        def shown(self) -> int:
            return 7

        def hidden(self) -> int:
            return 8

    offered = offer(Thing(), (Shows,))
    assert offered.shown() == 7
    with pytest.raises(UndeclaredCapability):
        offered.hidden()
    with pytest.raises(UndeclaredCapability):
        offer(Thing(), ()).shown()


@pytest.mark.parametrize(("name", "capability"), ASKED)
def test_what_no_source_offers_is_not_measured_with_its_code(
    name: str, capability: type, tmp_path: Path
) -> None:
    kind = stage_kind(name)
    whole, _ = carried_out(kind, tmp_path / "whole")
    lacking, _ = carried_out(kind, tmp_path / "lacking", lacks=capability)
    measured = {r.name: r for r in whole.readings if r.verdict is not Verdict.NOT_MEASURED}
    not_offered = {r.name for r in lacking.readings if r.reason and names_it(r.reason)}
    lost = {
        r.name
        for r in lacking.readings
        if r.verdict is Verdict.NOT_MEASURED and r.name in measured
    }
    assert not_offered
    assert lost <= not_offered
    failed = {r.name for r in whole.readings if r.verdict is Verdict.FAIL}
    assert {r.name for r in lacking.readings if r.verdict is Verdict.FAIL} <= failed


def names_it(reason: Reason) -> bool:
    codes = (CardReason.NOT_OFFERED, CardReason.NOT_OFFERED_BECAUSE)
    return any(part.means(*codes) for part in reason.parts())
