"""Which fault explains how a card took its power: by voltages, limits, sense lines and the meter.

Every fault that is thought of says how probable all that was read would have been; the chances are
in `faults` (what may be wrong), `paths` (voltages over current) and `signs` (limits,
words, meter, ticket). A fault that could not show in what was read is hardly suspected: sound
means that nothing is wrong that could have shown.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from burnin.diagnosis.power.faults import PowerCause, PowerFault, faults_of
from burnin.diagnosis.power.look import PowerLook
from burnin.diagnosis.power.paths import PathReadings
from burnin.diagnosis.power.signs import could_show, signs

_HIDDEN = 0.06
"""Share of its weight that a fault keeps where nothing that was read could show it (belief)."""
_MOST_CONTACTS = 4
_LEAST_CONTACT = 0.05
"""A contact is told with at least this share of its cause's probability."""


@dataclass(frozen=True)
class PowerSuspect:
    """A cause with its probability and the contacts it points to, most suspect first."""

    cause: PowerCause
    probability: float
    contacts: tuple[str, ...] = ()


def explain_power(look: PowerLook) -> tuple[PowerSuspect, ...]:
    """Causes of what was read of a card's supply, most probable first; they add up to 1."""
    paths = PathReadings.of(look)
    faults = faults_of(look)
    nothing = not (look.steps or look.meter_ohm or look.absent)
    logs = []
    for fault in faults:
        hidden = not nothing and not could_show(fault, look, paths)
        weight = fault.weight * (_HIDDEN if hidden else 1.0)
        logs.append(math.log(weight) + paths.fit(fault) + signs(fault, look))
    most = max(logs)
    mass = [math.exp(value - most) for value in logs]
    whole = sum(mass)
    return tuple(
        sorted(
            (_suspect(cause, faults, [m / whole for m in mass]) for cause in PowerCause),
            key=lambda suspect: -suspect.probability,
        )
    )


def _suspect(
    cause: PowerCause, faults: Sequence[PowerFault], chances: Sequence[float]
) -> PowerSuspect:
    """One cause: its faults together, and its contacts by the probability that each is at fault."""
    whole = 0.0
    of_contact: dict[str, float] = {}
    for fault, chance in zip(faults, chances, strict=True):
        if fault.cause is not cause:
            continue
        whole += chance
        for contact in fault.contacts:
            of_contact[contact] = of_contact.get(contact, 0.0) + chance
    ranked = sorted(of_contact.items(), key=lambda item: -item[1])[:_MOST_CONTACTS]
    named = tuple(name for name, chance in ranked if chance >= _LEAST_CONTACT * whole > 0.0)
    return PowerSuspect(cause, whole, named)


def told(suspects: Sequence[PowerSuspect], least: float = 0.02) -> tuple[PowerSuspect, ...]:
    """Those worth telling; none where nothing is wrong."""
    if suspects and suspects[0].cause is PowerCause.SOUND:
        return ()
    return tuple(s for s in suspects if s.probability >= least)
