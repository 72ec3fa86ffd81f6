"""An answer drawn: courses with their bands, or each row's value with its interval."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any

from burnin.core.errors import BadInput
from burnin.history.answer import Answer, Drawn, Question
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryReason

if TYPE_CHECKING:
    from burnin.report.languages.catalogue import Catalogue

_ENDINGS = (".svg", ".png", ".pdf")
_SETTINGS = {"svg.hashsalt": "burnin", "font.family": ["DejaVu Sans"], "font.size": 8.0,
             "text.parse_math": False}  # fmt: skip
_DASHES: tuple[Any, ...] = ("-", (0, (5, 1.6)), (0, (1, 1.6)), (0, (5, 1.4, 1, 1.4)))
_INK = "#1c2326"


def drawing_ending(path: Path) -> str:
    """What kind of drawing a file's name asks for; raises BadInput."""
    ending = path.suffix.lower()
    if ending not in _ENDINGS:
        raise BadInput(HistoryReason.PLOT_ENDING(file=str(path)))
    return ending.removeprefix(".")


def draw(answer: Answer, question: Question, words: Catalogue, path: Path) -> None:
    """Draw an answer that has something to draw; raises OSError."""
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    drawn = answer.drawn
    if drawn is None:
        return
    ending = drawing_ending(path)
    with mpl.rc_context(_SETTINGS), warnings.catch_warnings():  # type: ignore[arg-type]
        warnings.simplefilter("ignore")
        tall = 4.2 if drawn.courses else max(1.6, 0.8 + 0.28 * len(drawn.names))
        figure = Figure(figsize=(7.3, tall), layout="constrained")
        FigureCanvasAgg(figure)
        axes = figure.add_subplot()
        axes.set_title(words.say(question.title()))
        if drawn.courses:
            _courses(axes, drawn, words)
        else:
            _intervals(axes, drawn, words)
        figure.savefig(path, format=ending, metadata={"Date": None} if ending == "svg" else None)


def _courses(axes: Any, drawn: Drawn, words: Catalogue) -> None:
    by_steps = any(course.low for course in drawn.courses)
    for number, course in enumerate(drawn.courses):
        style = {"linestyle": _DASHES[number % 4], "linewidth": 1.0 + 0.3 * (number // 4)}
        name = _group(course.name, words)
        if by_steps:
            (line,) = axes.step(course.at, course.value, where="post", label=name, **style)
            axes.fill_between(
                course.at, course.low, course.high, step="post", alpha=0.12, linewidth=0.0,
                color=line.get_color(),
            )  # fmt: skip
        else:
            axes.plot(course.at, course.value, label=name, **style)
    if drawn.limit is not None:
        axes.axhline(drawn.limit, color=_INK, linewidth=0.7, linestyle=(0, (1, 1)))
    axes.set_xlabel(words.say(drawn.across()))
    axes.set_ylabel(words.say(drawn.up()))
    axes.set_ylim(bottom=0.0)
    axes.legend(frameon=False)


def _intervals(axes: Any, drawn: Drawn, words: Catalogue) -> None:
    places = range(len(drawn.names))
    middle = [value for value, _, _ in drawn.values]
    away = [
        [max(0.0, value - low) for value, low, _ in drawn.values],
        [max(0.0, high - value) for value, _, high in drawn.values],
    ]
    axes.errorbar(middle, list(places), xerr=away, fmt="o", color=_INK, markersize=3.5, capsize=2.0)
    names = [
        words.stage(text) if drawn.up is Heading.STAGE else _group(text, words)
        for text in drawn.names
    ]
    axes.set_yticks(list(places), names)
    axes.invert_yaxis()
    axes.set_xlim(left=0.0)
    axes.set_xlabel(words.say(drawn.across()))


def _group(name: str, words: Catalogue) -> str:
    """The name of a group: one of ours in words, anything else as somebody wrote it."""
    told = words.word(f"history_group_{name}")
    return name if told == f"history_group_{name}" else told
