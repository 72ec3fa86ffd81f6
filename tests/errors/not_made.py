"""Errors that no test of this list makes, each with the reason."""

from __future__ import annotations

from burnin.cli.batch.refusals import BatchRefusal
from burnin.cli.terms import CliRefusal
from burnin.core.meaning import ReasonCode
from burnin.core.seams import SeamRefusal
from burnin.core.system import SystemReason
from burnin.diagnosis.by_hand.refusals import ByHandRefusal
from burnin.history.meanings import HistoryReason
from burnin.page.terms import PageReason
from burnin.profile.refusals import ProfileRefusal
from burnin.record.reasons import RecordRefusal
from burnin.report.refusals import ReportRefusal
from burnin.run.proven.refusals import ProvenRefusal
from burnin.run.reasons import RunRefusal
from burnin.stick.refusals import StickRefusal
from burnin.ticket.bound_card.meanings import OtherCard
from burnin.ticket.handover.meanings import HandoverReason
from burnin.ticket.handover.refusals import HandoverRefusal
from burnin.ticket.intake.refusals import IntakeRefusal
from burnin.ticket.log.refusals import LogRefusal
from burnin.ticket.refusals import TicketRefusal
from burnin.ticket.shop.meanings import LogHeadReason, ShopKeyReason
from burnin.ticket.stamp.meanings import StampReason

WHOLE_COMMAND = "raised in the command itself, which is carried out in tests/cli"
WHOLE_RUN = "needs a whole run or its record; carried out in tests/run"
BROKEN_TOOL = "needs a part of the tool, or of another package, that fails; carried out elsewhere"
KEYS = "needs a key, another account or a certificate; carried out in tests/ticket"
HISTORY = "needs a store; carried out in tests/history"
SERVER = "needs PostgreSQL; carried out in tests/history"
PAGE = "needs the page's own packages and sockets; carried out in tests/page"
BUILDS = "needs the tools that build a stick, or their lack; carried out by hand with them"
RULE_OF_MODEL = "one rule of many of a file's model; its sentence is looked at by words alone"

NOT_MADE: dict[ReasonCode, str] = {
    CliRefusal.ASK_OR_UNATTENDED: WHOLE_COMMAND,
    BatchRefusal.TWO_TICKETS: WHOLE_COMMAND,
    BatchRefusal.GONE: WHOLE_COMMAND,
    BatchRefusal.SEVERAL_TICKETS: WHOLE_COMMAND,
    BatchRefusal.NO_CARD: WHOLE_COMMAND,
    BatchRefusal.KEEPERS_OWN: WHOLE_COMMAND,
    CliRefusal.VERIFY_WHAT: WHOLE_COMMAND,
    CliRefusal.NO_CARD_KEPT: WHOLE_COMMAND,
    CliRefusal.CABLE_UNSEEN: WHOLE_RUN,
    CliRefusal.SEVERAL_BENCHES: WHOLE_RUN,
    CliRefusal.NOTHING_OWED: WHOLE_RUN,
    CliRefusal.FAILED_STANDS: "carried out whole in tests/ticket/test_next_step.py",
    CliRefusal.QUEUED_TWICE: WHOLE_RUN,
    SeamRefusal.NOT_LOADED: BROKEN_TOOL,
    SystemReason.CANNOT_WRITE: "root may write everywhere; carried out in tests/faults",
    ByHandRefusal.TWO_SLOTS: WHOLE_RUN,
    RecordRefusal.WRONG_CONTENT: "what the model of run.json does not foresee; tests/fuzz looks",
    ProfileRefusal.UNUSABLE: "what the model of a profile does not foresee; tests/fuzz looks",
    ProfileRefusal.BELOW: RULE_OF_MODEL,
    ProfileRefusal.YES_OR_NO: RULE_OF_MODEL,
    ProfileRefusal.MUST_BE: RULE_OF_MODEL,
    ProvenRefusal.ALREADY: WHOLE_RUN,
    ProvenRefusal.NO_BOUNDS: WHOLE_RUN,
    ProvenRefusal.WRONG_FIELD: WHOLE_RUN,
    ProvenRefusal.NOT_OURS: WHOLE_RUN,
    HandoverRefusal.KEY_CHANGED: KEYS,
    LogRefusal.HOLDS_NO_TICKET: "told by the list of tickets, never raised; tests/ticket",
    RunRefusal.OLDER_FORMAT: WHOLE_RUN,
    RunRefusal.AT_ITS_END: WHOLE_RUN,
    RunRefusal.OTHER_CARD: WHOLE_RUN,
    RunRefusal.OTHER_SERIAL: WHOLE_RUN,
    TicketRefusal.NOTHING_IN_COMMON: WHOLE_RUN,
    IntakeRefusal.FAR_TOO_MANY_PIXELS: "a picture of a gigabyte, which no quick test makes",
    HandoverReason.NOT_SIGNED: WHOLE_RUN,
    HandoverReason.REFUSED: WHOLE_RUN,
    OtherCard.ON_BENCH: WHOLE_RUN,
    OtherCard.TICKET_SIMULATED: "carried out in tests/ticket/test_bound_card.py",
    **dict.fromkeys(
        (
            HistoryReason.NEEDS_CARD, HistoryReason.NOT_A_WAY, HistoryReason.NOT_INSTALLED,
            HistoryReason.NO_PLOT, HistoryReason.NO_RESULTS, HistoryReason.NO_STORE,
            HistoryReason.NO_SUCH_CARD, HistoryReason.OTHER_LAYOUT, HistoryReason.PLOT_ENDING,
            HistoryReason.STORE_BROKEN, HistoryReason.STORE_HELD,
        ),
        HISTORY,
    ),
    **dict.fromkeys(
        (
            HistoryReason.NO_DRIVER, HistoryReason.NO_SEAL_KEY, HistoryReason.NO_SERVER,
            HistoryReason.SERVER_ADDRESS, HistoryReason.SERVER_GONE, HistoryReason.SERVER_HELD,
            HistoryReason.SERVER_NEEDS_TLS, HistoryReason.SERVER_NOT_LAID_OUT,
            HistoryReason.SERVER_REFUSED, HistoryReason.SERVER_RIGHTS,
        ),
        SERVER,
    ),
    LogHeadReason.NOT_WHOLE: KEYS,
    ShopKeyReason.HISTORY_NOT_WHOLE: KEYS,
    ShopKeyReason.NOT_OURS: KEYS,
    ShopKeyReason.NO_LIBRARY: KEYS,
    ShopKeyReason.OTHERS_MAY_WRITE: KEYS,
    ShopKeyReason.OTHER_KIND: KEYS,
    ShopKeyReason.WITH_PASSWORD: KEYS,
    StampReason.NO_CERTIFICATE: KEYS,
    PageReason.NO_PACKAGES: PAGE,
    PageReason.NO_ADDRESS: PAGE,
    PageReason.EVERY_ADDRESS: PAGE,
    ReportRefusal.FORMAT_FAILED: BROKEN_TOOL,
    ReportRefusal.NO_SINGLE_FILE: BROKEN_TOOL,
    ReportRefusal.NOT_SET: BROKEN_TOOL,
    StickRefusal.NOT_ROOT: BUILDS,
    StickRefusal.IMAGE_THERE: BUILDS,
    StickRefusal.NOT_IN_PACKAGE: BUILDS,
}
