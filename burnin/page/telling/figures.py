"""Temperature, power, link and errors as the page shows them: a large figure, lines below it."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from burnin.core.meaning import Meaning
from burnin.core.plain import finite
from burnin.guard.forecast_band import foreseen_note
from burnin.page.run_so_far import RunSoFar
from burnin.page.terms import PageTerm
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line

_SHOWN_S = (10.0, 30.0)
"""Of a forecast's band, what is told in words; the plot shows all of it."""


@dataclass(frozen=True)
class Figure:
    """A large figure with its unit; `share` of the limit or target is drawn as a bar (0 to 1)."""

    value: str
    unit: str = ""
    lines: tuple[str, ...] = ()
    share: float | None = None
    alarm: bool = False


def figures(so_far: RunSoFar, words: Catalogue, *, live: bool) -> dict[str, object]:
    """All of them, by name, as JSON holds them; `live`: the run goes on."""
    return {
        "temperature": asdict(_temperature(so_far, words, live=live)),
        "power": asdict(_power(so_far, words, live=live)),
        "link": asdict(_link(so_far, words, live=live)),
        "errors": asdict(_errors(so_far, words)),
    }


def limit_c(so_far: RunSoFar, part: str = "gpu") -> float | None:
    """Where the load ends, °C, as the profile has it."""
    return None if so_far.run is None else finite(so_far.run.guards.get(f"{part}_temp_limit_c"))


def _value(so_far: RunSoFar, name: str) -> float | None:
    return None if so_far.sample is None else finite(getattr(so_far.sample, name))


def _whole(value: float, words: Catalogue) -> str:
    return words.number(f"{value:.0f}")


def _old(words: Catalogue, *, live: bool) -> list[str]:
    """That what stands here is no longer measured."""
    return [] if live else [words.say(PageTerm.LAST_ROW())]


def _missing(so_far: RunSoFar, words: Catalogue, *names: str) -> tuple[str, ...]:
    """Why there is no value, where the record tells."""
    if so_far.sample is None:
        return (words.say(PageTerm.NO_ROW_YET()),)
    why = next((so_far.unread[name] for name in names if name in so_far.unread), None)
    return () if why is None else (words.say(PageTerm.NOT_READ(why=why)),)


def _temperature(so_far: RunSoFar, words: Catalogue, *, live: bool) -> Figure:
    value, limit = _value(so_far, "gpu_temp_c"), limit_c(so_far)
    lines = _old(words, live=live)
    if limit is not None:
        lines.append(words.say(PageTerm.TEMPERATURE_LIMIT(limit_c=limit)))
    for part, bare, of_limit in (
        ("hotspot", PageTerm.HOT_SPOT, PageTerm.HOT_SPOT_OF),
        ("memory", PageTerm.MEMORY, PageTerm.MEMORY_OF),
    ):
        other, most = _value(so_far, f"{part}_temp_c"), limit_c(so_far, part)
        if other is not None and most is not None:
            lines.append(words.say(of_limit(temp_c=other, limit_c=most)))
        elif other is not None:
            lines.append(words.say(bare(temp_c=other)))
    if live and so_far.forecast is not None and _is_loaded(so_far):
        lines.append(_forecast(so_far, words))
    if value is None:
        return Figure("–", "°C", (*lines, *_missing(so_far, words, "gpu_temp_c")))
    share = value / limit if limit else None
    return Figure(_whole(value, words), "°C", tuple(lines), share, bool(share and share >= 1.0))


def _forecast(so_far: RunSoFar, words: Catalogue) -> str:
    entry = so_far.forecast
    assert entry is not None
    told = words.say(entry.note("forecast"))
    band = [f for f in entry.foreseen() if any(abs(f.ahead_s - s) < 1.0 for s in _SHOWN_S)]
    if not band:
        return told
    ahead = words.says((foreseen_note(foreseen) for foreseen in band), between=", ")
    return words.say(PageTerm.FORECAST(band=ahead, expected=told))


def _is_loaded(so_far: RunSoFar) -> bool:
    row = so_far.sample
    return row is not None and (row.load_share > 0.0 or bool(row.load_w))


def _power(so_far: RunSoFar, words: Catalogue, *, live: bool) -> Figure:
    value, target = _value(so_far, "power_w"), _value(so_far, "load_w")
    load_share = _value(so_far, "load_share") or 0.0
    asked: Meaning = PageTerm.POWER_NO_LOAD()
    if not live:
        asked, target = PageTerm.LAST_ROW(), None
    elif target:
        asked = PageTerm.POWER_TARGET(load_w=target)
    elif load_share > 0.0:
        asked = PageTerm.POWER_SHARE(share_pct=100.0 * load_share)
    line = words.say(asked)
    if value is None:
        return Figure("–", "W", (line, *_missing(so_far, words, "power_w")))
    return Figure(_whole(value, words), "W", (line,), value / target if target else None)


def _link(so_far: RunSoFar, words: Catalogue, *, live: bool) -> Figure:
    lanes, speed = _value(so_far, "link_width_lanes"), _value(so_far, "link_speed_gts")
    if so_far.sample is not None and not so_far.sample.present:
        return Figure("–", alarm=True)
    if lanes is None or speed is None:
        lines = _missing(so_far, words, "link_width_lanes", "link_speed_gts")
        return Figure("–", lines=lines)
    told = words.say(PageTerm.LINK_AT(lanes=lanes, speed_gts=speed))
    value, _, line = told.partition(", ")
    return Figure(value, lines=(*_old(words, live=live), *([line] if line else [])))


def _errors(so_far: RunSoFar, words: Catalogue) -> Figure:
    if so_far.begin_unread:
        return Figure("–", lines=(words.say(PageTerm.BEGIN_UNREAD()),))
    count, why = so_far.link_errors()
    lines = [words.say(PageTerm.NEW_ERRORS(errors_count=count))] if count is not None else []
    if count is None:
        lines.append(words.say(PageTerm.NOT_COUNTED()))
    if why is not None:
        lines.append(words.say(why))
    lines.append(words.say(PageTerm.KERNEL_LINES(lines_count=so_far.kernel_lines)))
    value = "–" if count is None else str(count)
    alarm = bool(count or so_far.kernel_lines)
    return Figure(value, lines=tuple(one_line(line) for line in lines), alarm=alarm)
