"""What a detected screen's EDID says: whether it arrived whole, and the mode that it prefers."""

from __future__ import annotations

from collections.abc import Iterator

from burnin.card.capabilities import Output
from burnin.card.edid.base_block import parse_edid
from burnin.core.reading import NotMeasured, Reading, judge_text, not_measured
from burnin.stages.display.meanings import DisplayReason, DisplaySource


def edid_readings(output: Output) -> Iterator[Reading]:
    """Readings of an output on which a screen is detected."""
    name, source = f"edid {output.name}", DisplaySource.EDID_READ()
    if isinstance(output.edid, NotMeasured):
        yield not_measured(name, "", output.edid.reason, source=source)
        return
    if output.edid_set:
        yield not_measured(name, "", DisplayReason.EDID_SET(output=output.name), source=source)
        return
    edid = parse_edid(output.edid)
    problems = tuple(problem.told() for problem in edid.problems)
    yield judge_text(
        name,
        "sound" if not problems else "damaged",
        ("sound",),
        source=source,
        why_fail=DisplayReason.EDID_DAMAGED(output=output.name, problems=problems),
    )
    mode = edid.preferred_mode
    told: str | NotMeasured = (
        NotMeasured(DisplayReason.NO_PREFERRED_MODE()) if mode is None else str(mode)
    )
    yield judge_text(f"preferred_mode {output.name}", told, None, required=False)
    if mode is not None and not problems:
        yield _offered(output, f"{mode.width_px}x{mode.height_px}")


def _offered(output: Output, preferred: str) -> Reading:
    """The driver offers the screen's own mode only where the picture lanes carry it.

    A cable or adapter can be the cause as well as the card: unless both are proven at this output,
    the run that fails by it stays conditional.
    """
    name, source = f"preferred_mode_offered {output.name}", DisplaySource.MODES()
    offered = tuple(word.removesuffix("i") for word in output.modes)
    if preferred in offered:
        return judge_text(name, preferred, (preferred,), source=source)
    if output.modes:
        most = output.modes[0]
        why = DisplayReason.MODE_NOT_OFFERED(output=output.name, preferred=preferred, most=most)
    else:
        most = "none"
        why = DisplayReason.NO_MODE_OFFERED(output=output.name, preferred=preferred)
    return judge_text(name, most, (preferred,), source=source, why_fail=why)
