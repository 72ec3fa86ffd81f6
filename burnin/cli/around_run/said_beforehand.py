"""Who answers prompts where the technician said beforehand that nobody is to be asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from burnin.cli.request import Wish
from burnin.cli.terms import CliRefusal, ListTerm
from burnin.core.errors import BadInput
from burnin.core.reading import known
from burnin.run.bench import OpenBench

if TYPE_CHECKING:
    from burnin.stages.context import Prompter


def said_beforehand(wish: Wish, opened: OpenBench) -> Prompter | None:
    """Who answers where nobody is asked; None where somebody is."""
    from burnin.run.prompters import NobodyThere, SaidBeforehand
    from burnin.run.session import prompter_for

    if wish.monitors:
        return SaidBeforehand(_outputs(wish.monitors, opened))
    if wish.unattended:
        return NobodyThere()
    return None if opened.attached is None or wish.ask else prompter_for(opened)


def _outputs(text: str, opened: OpenBench) -> frozenset[str]:
    there = frozenset(o.name for o in known(opened.card.outputs()) or ())
    if text.strip() == "all":
        return there
    named = frozenset(part.strip() for part in text.split(",") if part.strip())
    if named - there:
        absent, seen = tuple(sorted(named - there)), tuple(sorted(there))
        raise BadInput(
            CliRefusal.NO_SUCH_OUTPUTS(outputs=absent, there=seen or (ListTerm.NO_OUTPUTS(),))
        )
    return named
