"""What stands in a plot at the moment at which something broke."""

from __future__ import annotations

from burnin.core.meaning import NoteCode

_AT = ("at_s", "conditions")


class PlotNote(NoteCode):
    """Short words for what a sheet tells in a sentence; `conditions` as the reason had them.

    `value` and `allowed` are a reading's own, as they are told.
    """

    WIDTH_FELL = "plot_width_fell", "shown_lanes", "lanes", *_AT
    SPEED_FELL = "plot_speed_fell", "shown_gts", "speed_gts", *_AT
    GONE = "plot_gone", *_AT
    SLOWED = "plot_slowed", "slowdowns", *_AT
    CLOCK_FELL = "plot_clock_fell", "from_mhz", "to_mhz", *_AT
    OUTSIDE = "plot_outside", "value", "allowed", "at_s"
