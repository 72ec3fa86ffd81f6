"""All parts of the card work at once, then together with rests between. Start with `stage.py`.

Rule: what each part works out is compared as where it works alone: results with the first of them,
memory words with what was written, copied words with what was sent. No card is used one part after
the other; faults of supply and heat show when all parts work (common practice, no source).
"""

from __future__ import annotations

from importlib.resources import files

from burnin.card.capabilities import HasMemory, TellsRatings
from burnin.stages.all_at_once.settings import TogetherSettings
from burnin.stages.all_at_once.stage import carry_out, expected_s
from burnin.stages.kind import StageKind

KIND = StageKind(
    name="all_at_once",
    settings=TogetherSettings,
    carry_out=carry_out,
    expected_s=expected_s,
    capabilities=(HasMemory, TellsRatings),
    needs_card=False,
    works=True,
    fills_link=True,
    words=files(__name__),
    needs_cured=True,
    rule_from="every result compared while all parts work: with the first, the written, the sent",
)
