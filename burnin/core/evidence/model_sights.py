"""Sights of a model: whether a profile was made for another card than this one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from burnin.core.evidence.seen import PowerSeen
from burnin.core.parties import Sight
from burnin.core.reading import Reading, Verdict, reading_subject

_NUMBERS = ("vendor_id", "device_id", "subsystem_id", "firmware_version")
_PROPERTIES = ("memory_gib",)
MODEL = (*_NUMBERS, *_PROPERTIES)
"""Readings by which a profile says which model it is made for."""


def model_sights(readings: Sequence[Reading]) -> Iterator[Sight]:
    """Whether all that the profile says of a model speaks of another one.

    A card with wrong numbers and the memory of this model has the wrong firmware; one with the
    right numbers and too little memory lacks some. Where numbers and memory are both another's,
    and nothing is this model's, a sound card was run under the wrong profile.
    """
    judged = [
        r
        for r in readings
        if reading_subject(r.name)[0] in MODEL and r.verdict in (Verdict.PASS, Verdict.FAIL)
    ]
    failed = {r.name for r in judged if r.verdict is Verdict.FAIL}
    numbers, properties = failed & set(_NUMBERS), failed & set(_PROPERTIES)
    other = bool(numbers and properties) and len(failed) == len({r.name for r in judged})
    yield Sight.OTHER_MODEL if other else Sight.OF_THIS_MODEL


def at_own_power(reading: Reading, readings: Sequence[Reading], power: PowerSeen) -> bool:
    """Whether a card that drew less than the profile asks for drew all that it is made for."""
    if reading.name != "power_w" or power.limit_in_force_w is not None:
        return False
    return any(
        r.name == "own_power_share" and r.stage == reading.stage and r.verdict is Verdict.PASS
        for r in readings
    )
