"""Whether detected screens stay detected: a poor hot-plug contact comes and goes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from burnin.card.capabilities import DetectsDisplays
from burnin.card.meanings import CardReason
from burnin.core.reading import Limit, NotMeasured, Reading, judge, known, not_measured
from burnin.stages.context import StageContext
from burnin.stages.display.meanings import DisplayReason, DisplaySource

_NONE = "none"
"""In the place of a status where the driver shows no such output."""
_LOOK_COVERS_S = 0.5
"""A look speaks of so long before it at most: a bench that stood still has seen nothing."""
_ENOUGH = 0.9
"""Share of the time asked for that must have been looked at."""
_MOST_ATTEMPTS = 3
_SEVERAL = 3
"""So many screens do not go in one moment by themselves (common practice, no source)."""


class _Watched:
    """What was seen of each output, and for how long anybody looked."""

    def __init__(self, context: StageContext[DetectsDisplays], names: Sequence[str]) -> None:
        self._context = context
        self.lost = dict.fromkeys(names, 0)
        self.gone: set[str] = set()
        self._lost_at = {name: list[int]() for name in names}
        self._looks = 0
        self.forced: dict[str, str] = {}
        self.looked_s = 0.0
        self._seen = dict.fromkeys(names, "connected")
        self._last_s = context.clock.monotonic_s()

    def look(self) -> None:
        """Look at all outputs; one that is shown no longer has lost its screen too."""
        outputs = self._context.card.outputs()
        now = self._context.clock.monotonic_s()
        since_s, self._last_s = now - self._last_s, now
        if isinstance(outputs, NotMeasured) and outputs.reason.means(CardReason.NO_ANSWER):
            return
        self._looks += 1
        self.looked_s += min(since_s, _LOOK_COVERS_S)
        there = {output.name: output for output in known(outputs) or ()}
        for name in self.lost:
            output = there.get(name)
            if output is not None and output.forced:
                self.forced[name] = output.forced
                continue
            status = _NONE if output is None else known(output.status) or "unreadable"
            if status != self._seen[name]:
                self.lost[name] += status != "connected"
                if status == "disconnected":
                    self._lost_at[name].append(self._looks)
                self._seen[name] = status
            if output is None:
                self.gone.add(name)

    def together(self, name: str) -> tuple[str, ...]:
        """The outputs whose screens went each time in the same look as this one, or in the next.

        A status that could not be read is no screen that went.
        """
        own = self._lost_at[name]
        if not own or len(own) != self.lost[name]:
            return ()
        return tuple(
            other
            for other, looks in self._lost_at.items()
            if len(looks) == len(own)
            and all(abs(a - b) <= 1 for a, b in zip(own, looks, strict=True))
        )


def steady_readings(
    context: StageContext[DetectsDisplays], seconds: float, names: Sequence[str]
) -> Iterator[Reading]:
    """One reading for each of these outputs, which showed a screen; takes at least `seconds`.

    Where the bench stood still meanwhile (no processor, a disk that hangs) it is watched for
    longer, and what was never looked at is no pass.
    """
    watched = _Watched(context, names)
    for _ in range(_MOST_ATTEMPTS):
        context.rest(max(0.0, seconds - watched.looked_s), watched.look)
        if watched.looked_s >= _ENOUGH * seconds:
            break
    for name, times in watched.lost.items():
        yield _reading(watched, name, times, seconds)


def _reading(watched: _Watched, name: str, times: int, seconds: float) -> Reading:
    reading = f"screen_lost_times {name}"
    if name in watched.forced:
        by_hand = DisplayReason.FORCED(output=name, state=watched.forced[name])
        return not_measured(reading, "", by_hand)
    if not times and watched.looked_s < _ENOUGH * seconds:
        short = DisplayReason.WATCHED_TOO_SHORT(watched_s=watched.looked_s, asked_s=seconds)
        return not_measured(reading, "", short)
    together = watched.together(name)
    if name in watched.gone:
        why = DisplayReason.OUTPUT_GONE(output=name)
    elif len(together) >= _SEVERAL:
        why = DisplayReason.LOST_TOGETHER(
            output=name, times_count=times, over_s=seconds, outputs=together
        )
    else:
        why = DisplayReason.SCREEN_LOST(output=name, times_count=times, over_s=seconds)
    source = DisplaySource.STATUS_OVER(over_s=seconds)
    return judge(reading, float(times), "", Limit(0, 0), source=source, why_fail=why)
