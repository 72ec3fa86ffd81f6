"""Display: every output detects a screen, and the screen's EDID arrives whole."""

from __future__ import annotations

from burnin.card.card import Output
from burnin.card.edid.base_block import parse_edid
from burnin.core.reading import (
    Limit,
    NotMeasured,
    Reading,
    Verdict,
    judge,
    judge_text,
    known,
    not_measured,
)
from burnin.profile.model import Display
from burnin.stages.context import StageContext

_SETTLE_S = 1.0
"""Time that hot-plug detection and the reading of an EDID take after a cable is moved."""


def carry_out(context: StageContext, settings: Display) -> None:
    """Judge each output; ask for the cable where no monitor is seen and not all are said to be."""
    outputs = context.card.outputs()
    expected = float(settings.outputs)
    if isinstance(outputs, NotMeasured):
        context.take(
            not_measured("outputs_found", "", outputs.reason, limit=Limit(expected, expected))
        )
        return
    names = ", ".join(o.name for o in outputs) or "none"
    context.take(
        judge(
            "outputs_found",
            float(len(outputs)),
            "",
            Limit(expected, expected),
            source="DRM connectors",
            why_fail=f"{len(outputs)} outputs found ({names}), {settings.outputs} expected",
        )
    )
    detected: list[str] = []
    for index, output in enumerate(outputs):
        context.progress(float(index), float(len(outputs)), "outputs", output.name)
        if _judge_output(context, settings, output):
            detected.append(output.name)
    context.progress(float(len(outputs)), float(len(outputs)), "outputs")
    if detected and settings.watch_s:
        _judge_steady(context, settings.watch_s, detected)


def _judge_steady(context: StageContext, seconds: float, names: list[str]) -> None:
    """A poor hot-plug contact comes and goes: a detected screen must stay detected."""
    lost = dict.fromkeys(names, 0)
    seen = dict.fromkeys(names, "connected")

    def each() -> None:
        for output in known(context.card.outputs()) or ():
            if output.name not in lost:
                continue
            status = known(output.status) or "unreadable"
            if status != seen[output.name]:
                lost[output.name] += status != "connected"
                seen[output.name] = status

    context.rest(seconds, each)
    for name, times in lost.items():
        context.take(
            judge(
                f"screen_lost_times {name}",
                float(times),
                "",
                Limit(0, 0),
                source=f"DRM connector status over {seconds:g} s",
                why_fail=f"{name}: the screen was lost {times} times in {seconds:g} s: "
                "cable, monitor, or the output's hot-plug contact",
            )
        )


def _judge_output(context: StageContext, settings: Display, output: Output) -> bool:
    """Judge one output; whether a screen is detected on it."""
    name = f"screen_detected {output.name}"
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
            context.take(not_measured(name, "", "no monitor at hand for this output"))
            return False
    status = output.status
    context.take(
        judge_text(
            name,
            status,
            ("connected",),
            source="DRM connector status",
            why_fail=f"{output.name}: a monitor is attached and the output does not detect it",
        )
    )
    if status == "connected":
        _judge_edid(context, output)
    return status == "connected"


def _ask(context: StageContext, settings: Display, output: Output) -> bool | NotMeasured:
    answer = context.prompter.ask(
        f"Connect a monitor that is known to work to {output.name}. Connected? (yes / no)",
        settings.prompt_timeout_s,
    )
    if isinstance(answer, NotMeasured):
        return answer
    return answer.strip().lower() in ("y", "yes")


def _again(context: StageContext, output: Output) -> Output:
    outputs = context.card.outputs()
    if isinstance(outputs, NotMeasured):
        return output
    return next((o for o in outputs if o.name == output.name), output)


def _judge_edid(context: StageContext, output: Output) -> None:
    name, source = f"edid {output.name}", "EDID as the driver read it (VESA E-EDID 1.4)"
    if isinstance(output.edid, NotMeasured):
        context.take(not_measured(name, "", output.edid.reason, source=source))
        return
    edid = parse_edid(output.edid)
    problems = "; ".join(str(p) for p in edid.problems)
    context.take(
        judge_text(
            name,
            "sound" if not edid.problems else "damaged",
            ("sound",),
            source=source,
            why_fail=f"{output.name}: EDID damaged: {problems}",
        )
    )
    mode = edid.preferred_mode
    text: str | NotMeasured = (
        NotMeasured("the EDID names no preferred mode") if mode is None else str(mode)
    )
    context.take(judge_text(f"preferred_mode {output.name}", text, None, required=False))
    if mode is not None and not edid.problems:
        _judge_offered(context, output, f"{mode.width_px}x{mode.height_px}")


def _judge_offered(context: StageContext, output: Output, preferred: str) -> None:
    """The driver offers the screen's own mode only where the picture lanes carry it.

    A cable or adapter can be the cause as well as the card, so that this alone fails nothing.
    """
    name, source = f"preferred_mode_offered {output.name}", "DRM connector modes"
    offered = tuple(word.removesuffix("i") for word in output.modes)
    if preferred in offered:
        context.take(judge_text(name, preferred, (preferred,), source=source))
        return
    most = output.modes[0] if output.modes else "none"
    why = (
        f"{output.name}: the screen prefers {preferred} and the driver offers {most} at most: "
        "picture lanes of the output, cable or adapter; try another cable"
    )
    context.take(
        Reading(name, most, "", 0.0, None, (preferred,), Verdict.UNSURE, why, source)
    )
