"""What the sheet says, in words that a customer who knows nothing of cards understands."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Mark:
    """A word in a frame; the frame's `shape` tells it apart in black and white.

    Shapes: ``outline`` passed, ``filled`` failed or stopped, ``dashed`` in part, ``dotted`` not
    done, ``none`` judged by nothing.
    """

    word: str
    shape: str


@dataclass(frozen=True)
class Outcome:
    """The sheet's large word, its frame, and the sentence under it."""

    word: str
    shape: str
    sentence: str


OUTCOMES: dict[str, Outcome] = {
    "pass": Outcome(
        "PASS", "outline", "The card did everything right in every check named on this sheet."
    ),
    "fail": Outcome(
        "FAIL",
        "filled",
        "The card did not do everything right. It needs more work before anybody relies on it.",
    ),
    "aborted": Outcome(
        "STOPPED BY A GUARD",
        "filled",
        "The test was ended early to protect the card. The card is not proven and should not be"
        " used until the cause is found.",
    ),
    "conditional": Outcome(
        "CONDITIONAL",
        "dashed",
        "Everything that could be judged was right, but not everything could be. The card is"
        " proven only when the open points below are closed.",
    ),
    "incomplete": Outcome(
        "INCOMPLETE",
        "dotted",
        "The test did not come to its end. This sheet proves nothing about the card.",
    ),
}

STAGE_MARKS: dict[str, Mark] = {
    "pass": Mark("PASS", "outline"),
    "fail": Mark("FAIL", "filled"),
    "aborted": Mark("STOPPED", "filled"),
    "conditional": Mark("IN PART", "dashed"),
    "not measured": Mark("NOT TESTED", "dotted"),
    "incomplete": Mark("NOT FINISHED", "dotted"),
}

READING_MARKS: dict[str, Mark] = {
    "pass": Mark("pass", "outline"),
    "fail": Mark("FAIL", "filled"),
    "unsure": Mark("unsure", "dashed"),
    "not measured": Mark("not measured", "dotted"),
    "": Mark("recorded", "none"),
}

STAGE_TITLES: dict[str, str] = {
    "enumeration": "Identity",
    "link": "Connection to the computer",
    "display": "Screen outputs",
    "memory": "Memory",
    "compute": "Arithmetic",
    "thermal_ramp": "Heat under rising load",
    "cold_starts": "Starting from cold, again and again",
}

BENCH_TITLES = (
    "enumeration",
    "link",
    "display outputs",
    "memory",
    "compute",
    "thermal ramp",
    "cold starts",
)
"""What the bench calls a kind of stage; the customer reads the plain title in its place."""

STAGE_MEANINGS: dict[str, str] = {
    "enumeration": "Does the computer see the card, and does the card name itself correctly?",
    "link": "Does the card talk to the computer at full width and speed, without errors?",
    "display": "Does each screen socket notice a screen and read what that screen can show?",
    "memory": "Does the memory give back exactly what was written into it?",
    "compute": "Does the card work out the same right answer every time?",
    "thermal_ramp": "Does the card stay cool enough while it works harder and harder?",
    "cold_starts": "Does the card come up right each time it is switched on?",
}

NO_MEANING = "A check that this card's profile asks for."

CAUTIONS: tuple[tuple[str, str], ...] = (
    (
        "Hot surfaces",
        "Heatsink, backplate and board stay hot for minutes after work. Let the card cool before"
        " touching it.",
    ),
    (
        "Stored charge",
        "Switch off, unplug from the wall and wait some minutes before the card is touched, fitted"
        " or taken out. Never open a power supply.",
    ),
    (
        "Coolant near mains",
        "If the card is cooled by liquid: look for drops before switching on. If anything is wet,"
        " cut the power at the wall outlet, not at the computer, and let it dry.",
    ),
    (
        "Local rules",
        "Local electrical rules come before anything on this sheet. Work on mains wiring and inside"
        " power supplies is for licensed people.",
    ),
    (
        "What a test can say",
        "The sheet tells how this card behaved on this bench at this time. It does not promise how"
        " it behaves later or in another computer.",
    ),
)

GUARD_ENDED = (
    "A guard watches the card while it works and ends the work before harm is done. It ended this"
    " test:"
)
GUARD_ENDED_BEFORE = (
    "A guard ended an earlier attempt, after which the run was taken up again. What it saw then:"
)

DO_NOT_USE = (
    "Do not use the card",
    "It has not passed. Leave it switched off until the cause is found and the test was repeated.",
)

SIMULATED = "SIMULATED MACHINE — says nothing of a real card"
SOFTWARE_ENGINE = (
    "SOFTWARE ENGINE — the computer's own processor did the work; memory and arithmetic results say"
    " nothing of a card"
)

DECISION_RULE = (
    "A value passes only if the whole of value ± uncertainty lies inside its limit, fails only if"
    " the whole lies outside, and is unsure in between (guard band after JCGM 106:2012, 8.3). ± is"
    " the expanded uncertainty, coverage factor 2."
)
