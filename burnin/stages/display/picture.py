"""Whether the picture on a detected screen is clean: no register tells, somebody has to look."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.card.capabilities import DetectsDisplays
from burnin.core.answers.form import YES_NO
from burnin.core.answers.reader import Said
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured, Reading, Verdict, judge_text, not_measured
from burnin.stages.asking import ask_said
from burnin.stages.context import StageContext
from burnin.stages.display.meanings import DisplayPrompt, DisplayReason, DisplaySource
from burnin.stages.display.settings import Display
from burnin.stages.meanings import StagesReason

_SAID = (
    StagesReason.PROMPT_LEFT_OUT, StagesReason.PROMPT_NOT_UNDERSTOOD, DisplayReason.NO_PICTURE,
)  # fmt: skip
"""Somebody is there who says this."""
CLEAN, FLAWED = "clean", "flawed"
_POSSIBLE = (Said.YES, Said.NO, Said.NONE, Said.SKIP)
_MORE = {"clean": Said.YES, "sauber": Said.YES, "dark": Said.NONE, "dunkel": Said.NONE}


def ask_of_pictures(
    context: StageContext[DetectsDisplays], settings: Display, outputs: Sequence[str]
) -> None:
    """Ask for one screen after the other; where nobody answers in time, nobody is asked again."""
    silent: Reason | None = None
    for output in outputs:
        context.watch.heed_stop()  # where the run is to end, nobody is asked any more
        if silent is not None:
            context.take(not_measured(f"picture_seen {output}", "", silent, required=False))
            continue
        reading = context.take(_picture_seen(context, settings, output))
        why = reading.reason
        if reading.verdict is Verdict.NOT_MEASURED and why is not None and not why.means(*_SAID):
            silent = why


def _picture_seen(
    context: StageContext[DetectsDisplays], settings: Display, output: str
) -> Reading:
    """What somebody saw on the screen at an output.

    A screen that shows nothing says nothing of the card: the system may draw on no screen of a card
    under test. Whatever is not told is not measured, and stands so on the sheet.
    """
    name = f"picture_seen {output}"
    prompt = YES_NO.on(DisplayPrompt.PICTURE(output=output))
    said = ask_said(
        context.prompter, context.clock, prompt, settings.prompt_timeout_s, _POSSIBLE, _MORE
    )
    if isinstance(said, NotMeasured):
        return not_measured(name, "", said.reason, required=False)
    if said is Said.NONE:
        return not_measured(name, "", DisplayReason.NO_PICTURE(output=output), required=False)
    return judge_text(
        name, CLEAN if said is Said.YES else FLAWED, (CLEAN,), source=DisplaySource.EYE(),
        required=False, why_fail=DisplayReason.PICTURE_FLAWED(output=output),
    )  # fmt: skip
