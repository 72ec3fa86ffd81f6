"""`burnin explain`: a record explained, as text or JSON, from the record alone."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from burnin.connector.contact_map import contacts
from burnin.core.errors import BadInput, RecordError
from burnin.diagnosis.evidence import Evidence, read_evidence
from burnin.diagnosis.explanation import Explanation
from burnin.diagnosis.next_step import Step, next_steps
from burnin.diagnosis.outputs import OutputCause, explain_output
from burnin.diagnosis.posterior import Posterior
from burnin.diagnosis.text import (
    Group,
    claim_text,
    for_and_against,
    group_text,
    groups_of,
    look_text,
    sure_text,
)

TOLD_FROM = 0.5
"""An explanation less probable than this is not told as the answer."""
_ACCOUNTS_FROM = 1e-9
"""Below this probability of the record no hypothesis accounts for it."""
_LISTED, _LISTED_FROM = 4, 0.005
_WIDTH = 96


@dataclass(frozen=True)
class Ranked:
    """One explanation with its words."""

    claim: str
    probability: float
    one_fault: float
    two_faults: float
    groups: tuple[Group, ...]
    speaks_for: tuple[str, ...]
    against: tuple[str, ...]


@dataclass(frozen=True)
class Explained:
    """The answer: `conclusion` is ``nothing to explain``, ``explained`` or ``cannot tell``."""

    conclusion: str
    headline: str
    evidence: Evidence
    damaged: tuple[str, ...]
    ranked: tuple[Ranked, ...]
    steps: tuple[Step, ...]
    outputs: tuple[OutputCause, ...] = ()


def check_contacts(names: Sequence[str]) -> tuple[str, ...]:
    """Names of edge contacts in capitals; raises BadInput for one that there is not."""
    found = []
    for name in names:
        clean = name.strip().upper()
        if not clean:
            continue
        if clean not in contacts():
            raise BadInput(f"--ticket-damage: no contact {name!r}: A1 to A82 and B1 to B82")
        found.append(clean)
    return tuple(dict.fromkeys(found))


def explain_evidence(evidence: Evidence, damaged: Sequence[str] = ()) -> Explained:
    """Explain evidence; raises BadInput for an unknown contact."""
    listed = check_contacts(damaged)
    outputs = tuple(cause for look in evidence.outputs for cause in explain_output(look))
    if not evidence.looks and not evidence.absent and not evidence.lost:
        headline = "Cannot tell: the record holds no link stage that measured anything."
        return Explained("cannot tell", headline, evidence, listed, (), (), outputs)
    try:
        posterior = Posterior(evidence, listed)
    except ValueError as error:
        raise RecordError(f"cannot explain this record: {error}") from None
    explanations = posterior.explanations(_LISTED)
    listed_ones = [e for e in explanations if e.probability >= _LISTED_FROM]
    compared = [*listed_ones, posterior.nothing()]
    ranked = tuple(_ranked(posterior, explanation, compared) for explanation in listed_ones)
    conclusion, headline = _conclude(posterior, explanations, ranked)
    steps = () if conclusion == "nothing to explain" else tuple(next_steps(posterior))
    if conclusion == "nothing to explain" and (outputs or evidence.elsewhere):
        conclusion = "explained" if outputs else "cannot tell"
        headline = "The link showed what a sound card in a sound slot shows; what failed is not it."
    return Explained(conclusion, headline, evidence, listed, ranked, steps, outputs)


def _ranked(
    posterior: Posterior, explanation: Explanation, others: Sequence[Explanation]
) -> Ranked:
    speaks_for, against = for_and_against(posterior, explanation, others)
    members = posterior.members(explanation.number)
    nothing = explanation.number == posterior.nothing_class
    return Ranked(
        claim_text(posterior, explanation),
        explanation.probability,
        explanation.one_fault,
        explanation.two_faults,
        () if nothing else tuple(groups_of(members, explanation.probability)),
        tuple(speaks_for[:5]),
        tuple(against[:4]),
    )


def _conclude(
    posterior: Posterior, explanations: Sequence[Explanation], ranked: Sequence[Ranked]
) -> tuple[str, str]:
    first = explanations[0]
    if posterior.best_account() < _ACCOUNTS_FROM:
        return "cannot tell", "Cannot tell: no fault that is thought of shows itself like this."
    if first.probability < TOLD_FROM:
        return "cannot tell", (
            f"Cannot tell: the most probable explanation has {first.probability:.0%} only."
        )
    if first.number == posterior.nothing_class:
        return "nothing to explain", (
            "Nothing to explain: the link showed what a sound card in a sound slot shows."
        )
    return "explained", ranked[0].claim


def explain(record: Path, damaged: list[str], as_json: bool) -> str:
    """A record's explanation, as text or JSON.

    `damaged`: contacts that the ticket lists as damaged. Raises RecordError where the folder holds
    no record, BadInput for an unknown contact.
    """
    explained = explain_evidence(read_evidence(record), damaged)
    return _as_json(explained) if as_json else _as_text(explained)


def _as_json(explained: Explained) -> str:
    def plain(value: object) -> object:
        if isinstance(value, frozenset):
            return sorted(value)
        raise TypeError(type(value).__name__)

    return json.dumps(asdict(explained), indent=1, ensure_ascii=False, default=plain)


def _as_text(explained: Explained) -> str:
    import textwrap

    lines: list[str] = []

    def say(text: str, indent: int = 0, mark: str = "") -> None:
        first = " " * indent + mark
        lines.extend(
            textwrap.wrap(
                text, _WIDTH, initial_indent=first, subsequent_indent=" " * len(first),
                break_on_hyphens=False,
            )
        )  # fmt: skip

    if explained.evidence.simulated:
        say("SIMULATED: this record speaks of no real card.")
    say(explained.headline)
    if explained.damaged:
        say(f"The ticket lists as damaged: {', '.join(explained.damaged)}.")
    lines.append("")
    for look in explained.evidence.looks:
        say(f"{look.stage}{' (card warm)' if look.warm else ''}: {look_text(look)}")
        if look.offers:
            say(look.offers, 4)
    for number, ranked in enumerate(explained.ranked, start=1):
        lines.append("")
        say(ranked.claim, 0, f"{number}. {sure_text(ranked.probability):>6}  ")
        if ranked.groups:
            say(
                f"one fault shows: {sure_text(ranked.one_fault)}, two:"
                f" {sure_text(ranked.two_faults)}", 11
            )
        for group in ranked.groups:
            each = f" ({group.each:.1%} each)" if len(group.names) > 1 else ""
            say(f"{group_text(group)}{each}", 11, f"{group.probability:6.1%} ")
        for text in ranked.speaks_for:
            say(text, 11, "for: ")
        for text in ranked.against:
            say(text, 11, "against: ")
    for name in dict.fromkeys(cause.output for cause in explained.outputs):
        lines += ["", f"{name}, by itself:"]
        for cause in explained.outputs:
            if cause.output == name:
                where = f" ({', '.join(cause.contacts)})" if cause.contacts else ""
                say(f"{cause.what}{where}", 4, f"{sure_text(cause.probability):>6}  ")
        say("Next: change places of cable and monitor with an output that works.", 4)
    if explained.evidence.elsewhere:
        lines += ["", "Failed elsewhere; no explanation of that is made here:"]
        for text in explained.evidence.elsewhere:
            say(text, 2, "- ")
    if explained.steps:
        lines += ["", "Next, what tells most for its time:"]
        for step in explained.steps:
            say(f"{step.text} About {step.minutes:.0f} min, {step.bits:.2f} bit expected.", 2, "- ")
    elif explained.conclusion == "nothing to explain":
        lines.append("")
        say(
            "What the link does not show, a meter must: grounds, supplies, presence, JTAG, SMBus,"
            " WAKE# and reserved contacts (burnin contacts NAME says how)."
        )
    return "\n".join(lines) + "\n"
