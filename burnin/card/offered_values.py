"""Single values of one card, each taken from the reader that knows it best and measured it."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from burnin.card.meanings import CardReason
from burnin.card.source import TEXT_NAMES, WHOLE_NAMES, Reader, Value
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.core.sample import Slowdown


@dataclass(frozen=True)
class Read:
    """Values by name, and by which reader each was measured; one not measured has no reader."""

    values: Mapping[str, Value | NotMeasured]
    by: Mapping[str, str]


class OfferedValues:
    """What the readers of one card offer; `left_out`: sources that have no reader, and why."""

    def __init__(
        self, readers: Mapping[str, Reader], left_out: Mapping[str, NotMeasured]
    ) -> None:
        self._readers = readers
        self._left_out = left_out
        self._orders: dict[str, tuple[str, ...]] = {}

    def order(self, value: str) -> tuple[str, ...]:
        """Names of the readers that offer a value, the one that knows it best first."""
        if value not in self._orders:
            ranked = [
                (-reader.offers[value], name)
                for name, reader in self._readers.items()
                if value in reader.offers
            ]
            self._orders[value] = tuple(name for _, name in sorted(ranked))
        return self._orders[value]

    def read(self, names: Collection[str]) -> Read:
        """Each value of these names; a reader is asked once for all that it should tell.

        Where nobody measured a value, the reason is that of the reader that knows it best.
        """
        values: dict[str, Value | NotMeasured] = {}
        by: dict[str, str] = {}
        missing, turn = list(names), 0
        while missing:
            asked: dict[str, list[str]] = {}
            for name in missing:
                order = self.order(name)
                if turn < len(order):
                    asked.setdefault(order[turn], []).append(name)
            if not asked:
                break
            for reader, wanted in asked.items():
                for name, value in self._ask(reader, wanted).items():
                    if not isinstance(value, NotMeasured):
                        values[name], by[name] = value, reader
                    else:
                        values.setdefault(name, value)
            missing, turn = [name for name in missing if name not in by], turn + 1
        for name in missing:
            values.setdefault(name, NotMeasured(self.nobody_offers(name)))
        return Read(values, by)

    def nobody_offers(self, value: str) -> Reason:
        """Why a value that no reader offers is not measured."""
        sources = tuple(sorted((*self._readers, *self._left_out)))
        reasons = tuple(why.reason for why in self._left_out.values())
        if not reasons:
            return CardReason.NOT_OFFERED(value=value, sources=sources)
        return CardReason.NOT_OFFERED_BECAUSE(value=value, sources=sources, reasons=reasons)

    def _ask(self, name: str, wanted: list[str]) -> dict[str, Value | NotMeasured]:
        """The answers of one reader; what goes wrong in it costs its own values alone."""
        try:
            answers = self._readers[name].read(wanted)
        except Exception as error:
            raised = CardReason.SOURCE_RAISED(
                source=name, error=type(error).__name__, words=str(error)
            )
            return dict.fromkeys(wanted, NotMeasured(raised))
        found: dict[str, Value | NotMeasured] = {}
        for value in wanted:
            if value not in answers:
                silent = CardReason.SOURCE_KEPT_SILENT(source=name, value=value)
                found[value] = NotMeasured(silent)
                continue
            answer = answers[value]
            if not isinstance(answer, NotMeasured) and not fits(value, answer):
                got = CardReason.WRONG_KIND(source=name, value=value, got=repr(answer)[:40])
                answer = NotMeasured(got)
            found[value] = answer
        return found


def fits(name: str, value: object) -> bool:
    """Whether a value is of the kind that its name stands for.

    >>> fits("gpu_temp_c", 54.5), fits("gpu_temp_c", "warm"), fits("serial", "0042")
    (True, False, True)
    """
    if name in TEXT_NAMES:
        return isinstance(value, str)
    if name == "throttle_reasons":
        return isinstance(value, tuple) and all(isinstance(each, Slowdown) for each in value)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return isinstance(value, int) if name in WHOLE_NAMES else math.isfinite(value)
