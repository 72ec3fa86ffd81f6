"""A kind of stage: all that the tool must know of one check, in one registration."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from typing import Any

from burnin.core.meaning import Reason
from burnin.core.reading import Reading
from burnin.profile.stage_settings import StageSettings
from burnin.stages.context import StageContext

SparesLoad = Callable[[Any, Sequence[Reading]], Reason | None]
"""From a stage's settings and readings to why nothing may load the card after it."""


@dataclass(frozen=True)
class StageKind:
    """One check, registered under its name in the seam ``burnin.stages``.

    `settings`: what a profile may say of it; its `stage` is the Literal of `name`. `carry_out`
    takes the settings of its own kind and reads what `capabilities` (Protocols of
    `burnin.card.capabilities`) name, nothing else. `expected_s`: how long it should take by its
    settings, 0 where nobody can say. `needs_card`: means nothing where software works the
    processor. `works`: puts the engine to work, so that the card grows warm. `words`: the folder
    of ``words.<language>.toml``. `rule_from`: where the rule is from by which it judges.
    `without_load` takes the reason too: what can be told where nothing may load the card, the rest
    being not measured. `spares_load`: why nothing may load the card after it. `goes_on_after_end`:
    it needs several boots of the bench, so that a run which came to its end goes on until it has
    passed. `needs_cured`: never carried out while a joint cures, whoever overrules its time.
    `fills_link`: it moves as much over the card's link as that carries.
    """

    name: str
    settings: type[StageSettings]
    carry_out: Callable[[StageContext[Any], Any], None]
    expected_s: Callable[[Any], float]
    capabilities: tuple[type, ...]
    needs_card: bool
    works: bool
    words: Traversable
    rule_from: str
    spares_load: SparesLoad | None = None
    without_load: Callable[[StageContext[Any], Any, Reason], None] | None = None
    goes_on_after_end: bool = False
    needs_cured: bool = False
    fills_link: bool = False
