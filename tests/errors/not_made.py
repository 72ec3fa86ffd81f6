"""Errors that no test of this list makes, each with the reason."""

from __future__ import annotations

from burnin.cli.terms import CliRefusal
from burnin.core.meaning import ReasonCode
from burnin.core.seams import SeamRefusal
from burnin.core.system import SystemReason
from burnin.diagnosis.by_hand.refusals import ByHandRefusal

WHOLE_COMMAND = "raised in the command itself, which is carried out in tests/cli"
WHOLE_RUN = "needs a whole run or its record; carried out in tests/run"
BROKEN_TOOL = "needs a part of the tool, or of another package, that fails; carried out elsewhere"
RULE_OF_MODEL = "one rule of many of a file's model; its sentence is looked at by words alone"

NOT_MADE: dict[ReasonCode, str] = {
    CliRefusal.ASK_OR_UNATTENDED: WHOLE_COMMAND,
    CliRefusal.VERIFY_WHAT: WHOLE_COMMAND,
    CliRefusal.NO_CARD_KEPT: WHOLE_COMMAND,
    CliRefusal.CABLE_UNSEEN: WHOLE_RUN,
    CliRefusal.SEVERAL_BENCHES: WHOLE_RUN,
    CliRefusal.NOTHING_OWED: WHOLE_RUN,
    SeamRefusal.NOT_LOADED: BROKEN_TOOL,
    SystemReason.CANNOT_WRITE: "root may write everywhere; carried out in tests/faults",
    ByHandRefusal.TWO_SLOTS: WHOLE_RUN,
}
