"""Display: every output detects a screen, and the screen's EDID arrives whole."""

from __future__ import annotations

from burnin.card.capabilities import DetectsDisplays, Output
from burnin.core.answers.form import YES_NO
from burnin.core.meaning import Reason
from burnin.core.reading import Limit, NotMeasured, judge, judge_text, not_measured
from burnin.stages.asking import ask_yes_no
from burnin.stages.context import StageContext
from burnin.stages.display.edid_readings import edid_readings
from burnin.stages.display.meanings import (
    DisplayNote,
    DisplayPrompt,
    DisplayReason,
    DisplaySource,
)
from burnin.stages.display.picture import ask_of_pictures
from burnin.stages.display.settings import Display
from burnin.stages.display.steady import steady_readings

_SETTLE_S = 1.0
"""Time that hot-plug detection and the reading of an EDID take after a cable is moved."""


def carry_out(context: StageContext[DetectsDisplays], settings: Display) -> None:
    """Judge each output; ask for the cable where no monitor is seen and not all are said to be."""
    outputs = context.card.outputs()
    expected = float(settings.outputs)
    if isinstance(outputs, NotMeasured):
        context.take(
            not_measured("outputs_found", "", outputs.reason, limit=Limit(expected, expected))
        )
        return
    context.take(
        judge(
            "outputs_found",
            float(len(outputs)),
            "",
            Limit(expected, expected),
            source=DisplaySource.CONNECTORS(),
            why_fail=_found(outputs, settings.outputs),
        )
    )
    detected: list[str] = []
    for index, output in enumerate(outputs):
        at_output = DisplayNote.AT_OUTPUT(output=output.name)
        context.progress(float(index), float(len(outputs)), "outputs", at_output)
        if _judge_output(context, settings, output):
            detected.append(output.name)
    context.progress(float(len(outputs)), float(len(outputs)), "outputs")
    if detected and settings.watch_s:
        for reading in steady_readings(context, settings.watch_s, detected):
            context.take(reading)
    if settings.picture == "ask":
        ask_of_pictures(context, settings, detected)


def _found(outputs: tuple[Output, ...], expected: int) -> Reason:
    if not outputs:
        return DisplayReason.NO_OUTPUT_FOUND(expected_count=expected)
    return DisplayReason.OUTPUTS_FOUND(
        found_count=len(outputs),
        outputs=tuple(o.name for o in outputs),
        expected_count=expected,
    )


def _judge_output(
    context: StageContext[DetectsDisplays], settings: Display, output: Output
) -> bool:
    """Judge one output; whether a screen is detected on it."""
    name = f"screen_detected {output.name}"
    if output.forced:
        forced = DisplayReason.FORCED(output=output.name, state=output.forced)
        context.take(not_measured(name, "", forced))
        return False
    if output.status != "connected":
        attached: bool | NotMeasured = True
        if settings.monitors != "all":
            attached = _ask(context, settings, output)
            context.rest(_SETTLE_S)
            output = _again(context, output)
        if isinstance(attached, NotMeasured):
            context.take(not_measured(name, "", attached.reason))
            return False
        if not attached:
            context.take(not_measured(name, "", DisplayReason.NO_MONITOR()))
            return False
    context.take(
        judge_text(
            name,
            output.status,
            ("connected",),
            source=DisplaySource.STATUS(),
            why_fail=DisplayReason.NOT_DETECTED(output=output.name),
        )
    )
    if output.status != "connected":
        return False
    for reading in edid_readings(output):
        context.take(reading)
    return True


def _ask(
    context: StageContext[DetectsDisplays], settings: Display, output: Output
) -> bool | NotMeasured:
    prompt = YES_NO.on(DisplayPrompt.CONNECT_MONITOR(output=output.name))
    return ask_yes_no(context.prompter, context.clock, prompt, settings.prompt_timeout_s)


def _again(context: StageContext[DetectsDisplays], output: Output) -> Output:
    outputs = context.card.outputs()
    if isinstance(outputs, NotMeasured):
        return output
    return next((o for o in outputs if o.name == output.name), output)
