"""What the display stage saw of each output, and what was tried at it since."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from burnin.core.reading import Reading, Verdict, reading_subject


class Edid(StrEnum):
    """How an EDID arrived."""

    SOUND = "sound"
    DAMAGED = "damaged"
    NONE = "none"


class Picture(StrEnum):
    """What a screen showed, or how far the driver found that the picture lanes carry."""

    CLEAN = "clean"
    SPARKLES = "sparkles"
    NONE = "none"


class OtherCable(StrEnum):
    """What came of another cable, the monitor the same."""

    COMES = "comes"
    STAYS = "stays"


@dataclass(frozen=True)
class OutputLook:
    """What was seen at one output; None: nobody asked, or nobody could tell.

    `wrong_bits`: how many of the eight bit places of EDID bytes were wrong. `open_contacts`,
    `sound_contacts`: what a meter said at contacts of its connector (``dp/18``). `lost`: its screen
    was lost for moments, or not while it was watched. `proven`: its monitor and cable had shown
    themselves good at this bench.
    """

    name: str
    detected: bool
    edid: Edid | None = None
    picture: Picture | None = None
    other_cable: OtherCable | None = None
    wrong_bits: int | None = None
    open_contacts: frozenset[str] = field(default_factory=frozenset)
    sound_contacts: frozenset[str] = field(default_factory=frozenset)
    lost: bool | None = None
    proven: bool = False


def looks_at_outputs(
    readings: Sequence[Reading], proven: Collection[str] = ()
) -> tuple[OutputLook, ...]:
    """What a record's readings say of each output where a monitor was attached.

    `proven`: outputs whose monitor and cable the bench had shown to be good.
    """
    by_name = {reading.name: reading for reading in readings}
    found = []
    for name, reading in by_name.items():
        head, output = reading_subject(name)
        if head != "screen_detected" or reading.verdict not in (Verdict.PASS, Verdict.FAIL):
            continue
        edid = _edid(by_name.get(f"edid {output}"))
        offered = _picture(by_name.get(f"preferred_mode_offered {output}"))
        picture = _seen(by_name.get(f"picture_seen {output}"), offered)
        lost = _lost(by_name.get(f"screen_lost_times {output}"))
        look = OutputLook(output, reading.value == "connected", edid, picture, lost=lost)
        found.append(replace(look, proven=output in proven))
    return tuple(found)


def _edid(reading: Reading | None) -> Edid | None:
    if reading is None:
        return None
    if reading.verdict is Verdict.NOT_MEASURED:
        return Edid.NONE
    return next((edid for edid in Edid if edid.value == reading.value), None)


def _lost(times: Reading | None) -> bool | None:
    if times is None or times.verdict not in (Verdict.PASS, Verdict.FAIL):
        return None
    return times.verdict is Verdict.FAIL


def _seen(seen: Reading | None, offered: Picture | None) -> Picture | None:
    """An eye on the screen tells more than the driver, which trains lanes that sparkle too."""
    if seen is None or seen.verdict not in (Verdict.PASS, Verdict.FAIL):
        return offered
    if seen.verdict is Verdict.FAIL:
        return Picture.SPARKLES
    return offered or Picture.CLEAN


def _picture(offered: Reading | None) -> Picture | None:
    """A driver offers the screen's own mode only where the picture lanes carry it."""
    if offered is None or offered.verdict not in (Verdict.PASS, Verdict.FAIL):
        return None
    return Picture.CLEAN if offered.verdict is Verdict.PASS else Picture.NONE
