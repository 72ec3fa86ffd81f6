"""Words in frames: the frame's shape tells verdicts apart in black and white.

Shapes: ``outline`` passed, ``filled`` failed or stopped, ``dashed`` in part, ``dotted`` not done,
``none`` judged by nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from burnin.core.reading import Verdict
from burnin.core.verdict import RunVerdict, StageVerdict
from burnin.report.languages.catalogue import Catalogue
from burnin.report.sheet.meanings import SimulatedTerm

RUN_SHAPES: Mapping[RunVerdict, str] = {
    RunVerdict.PASS: "outline",
    RunVerdict.FAIL: "filled",
    RunVerdict.ABORTED: "filled",
    RunVerdict.CONDITIONAL: "dashed",
    RunVerdict.INCOMPLETE: "dotted",
}
STAGE_SHAPES: Mapping[StageVerdict, str] = {
    StageVerdict.PASS: "outline",
    StageVerdict.FAIL: "filled",
    StageVerdict.ABORTED: "filled",
    StageVerdict.CONDITIONAL: "dashed",
    StageVerdict.NOT_MEASURED: "dotted",
    StageVerdict.INCOMPLETE: "dotted",
}
_READING_SHAPES: Mapping[Verdict | None, str] = {
    Verdict.PASS: "outline",
    Verdict.FAIL: "filled",
    Verdict.UNSURE: "dashed",
    Verdict.NOT_MEASURED: "dotted",
    None: "none",
}


@dataclass(frozen=True)
class Mark:
    """A word in a frame."""

    word: str
    shape: str


@dataclass(frozen=True)
class Outcome:
    """The sheet's large word, its frame, and the sentence under it."""

    word: str
    shape: str
    sentence: str


def outcome(verdict: RunVerdict, words: Catalogue, *, simulated: bool) -> Outcome:
    """The large word of a run's verdict; a simulated run's is its own."""
    word, sentence = words.group("outcomes")[verdict]
    found = Outcome(word, RUN_SHAPES[verdict], sentence)
    return simulated_outcome(found, words) if simulated else found


def simulated_outcome(of_card: Outcome, words: Catalogue) -> Outcome:
    """What stands in the place of a card's outcome where no card was tested."""
    return Outcome(
        words.say(SimulatedTerm.WORD(word=of_card.word)),
        of_card.shape,
        words.say(SimulatedTerm.SENTENCE()),
    )


def stage_mark(verdict: StageVerdict, words: Catalogue) -> Mark:
    """The mark of a stage's verdict."""
    return Mark(words.label("marks", f"stage {verdict}"), STAGE_SHAPES[verdict])


def reading_mark(verdict: Verdict | None, words: Catalogue) -> Mark:
    """The mark of a reading's verdict; None: recorded and judged by nothing."""
    return Mark(words.label("marks", verdict or "recorded"), _READING_SHAPES[verdict])
