"""Differences of counters, which alone speak of a run (law 8)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from burnin.card.capabilities import Counter
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.stages.meanings import StagesReason

_NOT_ERRORS = ("bytes", "recovery", "l0_to")
"""Parts of names of counters that count traffic or normal events."""


@dataclass(frozen=True)
class CounterChange:
    """What counters did between two readings.

    `errors` and `other`: increase by ``end name``. `unusable`: why a counter says nothing, e.g.
    it was there only once, or fell although it does not wrap (the card was reset in between).
    """

    errors: dict[str, int]
    other: dict[str, int]
    unusable: tuple[Reason, ...]


def difference(before: tuple[Counter, ...], after: tuple[Counter, ...]) -> CounterChange:
    """Increase of every counter found in both, wrapped counters unwrapped once at most."""
    earlier = {(c.end, c.name): c for c in before}
    later = {(c.end, c.name): c for c in after}
    errors: dict[str, int] = {}
    other: dict[str, int] = {}
    unusable = [
        _read_once(f"{end} {name}", before=(end, name) in earlier)
        for end, name in sorted(earlier.keys() ^ later.keys())
    ]
    for key in sorted(earlier.keys() & later.keys()):
        first, last = earlier[key], later[key]
        label = f"{first.end} {first.name}"
        rise = last.value - first.value
        is_error = not any(part in first.name.lower() for part in _NOT_ERRORS)
        if rise < 0 and is_error:
            # An error counter does not wrap within a stage: it restarted with its card.
            unusable.append(
                StagesReason.COUNTER_RESTARTED(
                    counter=label, first=first.value, last=last.value
                )
            )
            continue
        if rise < 0 and first.modulus:
            rise %= first.modulus
        (errors if is_error else other)[label] = rise
    return CounterChange(errors, other, tuple(unusable))


def _read_once(counter: str, *, before: bool) -> Reason:
    when = StagesReason.COUNTER_ONLY_BEFORE if before else StagesReason.COUNTER_ONLY_AFTER
    return when(counter=counter)


def rises(errors: Mapping[str, int]) -> tuple[Reason, ...]:
    """The counters that rose, each with its increase."""
    return tuple(
        StagesReason.COUNTER_ROSE(counter=name, rise_count=count)
        for name, count in errors.items()
        if count
    )


_UNSEEN = {
    "to_card": NotMeasured(StagesReason.DAMAGE_TO_CARD_UNSEEN()),
    "to_host": NotMeasured(StagesReason.DAMAGE_TO_HOST_UNSEEN()),
}
_SAME_PACKET_AT_ITS_RECEIVER = ("lcrc error", "bad tlp", "naks sent")
_SAME_PACKET_AT_ITS_SENDER = ("naks received", "replay")
_ON_ITS_OWN_AT_ITS_RECEIVER = ("bad dllp", "receiver error")
_ENOUGH = ("bad tlp", "lcrc error", "naks sent", "naks received", "receiver error")
"""Counters that see every damaged packet; a replay timer alone sees only lost answers."""


@dataclass(frozen=True)
class WayErrors:
    """Errors of one direction: at least the largest counter, at most all events together."""

    at_least: int
    at_most: int


def errors_by_direction(errors: Mapping[str, int]) -> dict[str, WayErrors | NotMeasured]:
    """Errors of packets on their way ``to_card`` and ``to_host``, from differences by ``end name``.

    An error counts at the end that sees it: a receiver sees what arrives damaged, a sender sees
    that it was asked to send again. A damaged packet fails its LCRC, is a bad TLP, and is asked
    for again: one event in three counters, of which the largest counts.
    """
    found: dict[str, dict[str, list[int]]] = {
        way: {"packet": [], "own": []} for way in ("to_card", "to_host")
    }
    enough = {"to_card": False, "to_host": False}
    for label, count in errors.items():
        end, _, name = label.partition(" ")
        name = name.lower()
        receiver = _has(name, _SAME_PACKET_AT_ITS_RECEIVER + _ON_ITS_OWN_AT_ITS_RECEIVER)
        if not receiver and not _has(name, _SAME_PACKET_AT_ITS_SENDER):
            continue
        way = "to_card" if receiver == (end == "card") else "to_host"
        kind = "own" if _has(name, _ON_ITS_OWN_AT_ITS_RECEIVER) else "packet"
        found[way][kind].append(count)
        enough[way] = enough[way] or _has(name, _ENOUGH)
    return {
        way: WayErrors(
            max((*counts["packet"], *counts["own"])),
            max(counts["packet"], default=0) + sum(counts["own"]),
        )
        if enough[way]
        else _UNSEEN[way]
        for way, counts in found.items()
    }


def uncorrected(errors: Mapping[str, int]) -> dict[str, int]:
    """Of all differences those of errors that the link could not mend by sending again."""
    return {label: count for label, count in errors.items() if "fatal" in label.lower()}


def _has(name: str, parts: tuple[str, ...]) -> bool:
    return any(part in name for part in parts)
