"""What a meter shows, a contact's name, what was seen: typed wrongly."""

from __future__ import annotations

from burnin.connector.finding import (
    contacts_of_group,
    contacts_of_lane,
    find_contacts,
    find_marks,
)
from burnin.connector.refusals import ContactRefusal
from burnin.core.answers.meanings import AnswerReason
from burnin.core.answers.reader import YES_NO, read
from burnin.core.meaning import ReasonCode
from burnin.core.quantities.quantity import parse_meter, parse_quantity
from burnin.core.quantities.refusals import QuantityRefusal
from burnin.core.quantities.spelling import OHM, VOLT
from burnin.diagnosis.by_hand.measured import after_of
from burnin.diagnosis.by_hand.refusals import ByHandRefusal
from burnin.diagnosis.by_hand.seen import evidence_seen
from burnin.diagnosis.explain import check_contacts
from burnin.profile.under_load import SupplyVoltage, VoltageAcross
from burnin.sim.practise.answers import judge_answer
from burnin.sim.practise.exercise import drawn_by_name
from burnin.sim.practise.meter import meter_text
from burnin.sim.practise.refusals import PractiseRefusal
from burnin.stages.under_load.asked import read_answer
from burnin.stages.under_load.meanings import UnderLoadReason
from burnin.stages.under_load.settings import UnderLoad
from burnin.ticket.first_light.at_the_bench import answers_of
from burnin.ticket.refusals import TicketRefusal
from tests.errors.case import Case, each

_JOINT = VoltageAcross(
    measure="voltage_across", name="joint", title="Joint", at="joint", at_most_v=0.05
)
_PLUG = SupplyVoltage(measure="supply_voltage", name="plug", title="12 V at the plug")
_STAGE = UnderLoad(stage="under_load", power_w=300.0)
_QUANTITIES: dict[ReasonCode, tuple[str, str]] = {
    QuantityRefusal.NONE_GIVEN: (OHM, " "),
    QuantityRefusal.NOT_SETTLED: (OHM, "jumps"),
    QuantityRefusal.NO_VALUE: (OHM, "thirty eight ohm"),
    QuantityRefusal.OTHER_UNIT: (OHM, "0.45 V"),
    QuantityRefusal.VOLT_OR_MILLIVOLT: (VOLT, "452"),
    QuantityRefusal.NEGATIVE: (VOLT, "-0.3 V"),
    QuantityRefusal.TOO_MUCH: (OHM, "1e12 Ω"),
    QuantityRefusal.NO_BOUND: (OHM, "<0 Ω"),
    QuantityRefusal.NEGATIVE_UNCERTAINTY: (OHM, "38 Ω ± -1 Ω"),
    QuantityRefusal.NO_UNCERTAINTY: (OHM, "38 Ω ± 0 Ω"),
    QuantityRefusal.TWO_UNITS: (OHM, "38 Ω ± 0.1 V"),
    QuantityRefusal.COMMA: (OHM, "1,200 Ω"),
    QuantityRefusal.TOO_LARGE: (OHM, "1e400 Ω"),
    QuantityRefusal.TOO_SMALL: (OHM, "1e-400 Ω"),
    QuantityRefusal.UNKNOWN_UNIT: (OHM, "38 furlongs"),
    QuantityRefusal.OHM_OR_EXPONENT: (OHM, "4E7"),
}
_METERS: dict[ReasonCode, str] = {
    QuantityRefusal.NO_ACCURACY: "good",
    QuantityRefusal.PERFECT_METER: "0%",
}
_CONTACTS: dict[ReasonCode, str] = {
    ContactRefusal.NO_SIDE: "C5",
    ContactRefusal.NO_NUMBER: "B99",
    ContactRefusal.TURNED: "14B",
    ContactRefusal.NO_LABEL: "8pin/40",
    ContactRefusal.NO_CONTACT: "%%%%%%%%%%%%%%%",
    ContactRefusal.NO_CONTACT_NEAR: "8pn/4",
    ContactRefusal.NOTHING_NAMED: " ",
}
_GROUPS: dict[ReasonCode, str] = {
    ContactRefusal.NO_GROUP: "presense_detect",
    ContactRefusal.NO_GROUP_LIKE: "%%%%%%%%%%",
}
_SEEN: dict[ReasonCode, str] = {
    ByHandRefusal.SEEN_NOTHING: ",",
    ByHandRefusal.SEEN_BOTH: "no card, x8",
    ByHandRefusal.NO_LINK: "x3 of x16",
    ByHandRefusal.SEEN_UNKNOWN: "sleepy",
}
_AFTER: dict[ReasonCode, str] = {
    ByHandRefusal.AFTER_OUTPUT: "DP-2 sings",
    ByHandRefusal.AFTER_POINT: "supply_12v cold",
    ByHandRefusal.AFTER_CONTACT: "B14 cold",
    ByHandRefusal.AFTER_UNKNOWN: "Q7 open",
    ByHandRefusal.AFTER_WHICH_OUTPUT: "dp/18 open",
}

CASES = (
    *each(_QUANTITIES, lambda _, given: parse_quantity(given[1], given[0])),
    *each(_METERS, lambda _, text: parse_meter(text)),
    *each(_CONTACTS, lambda _, text: find_contacts(text)),
    *each(_GROUPS, lambda _, text: contacts_of_group(text)),
    *each(_SEEN, lambda _, text: evidence_seen(text)),
    *each(_AFTER, lambda _, text: after_of(text)),
    Case(ContactRefusal.NO_LANE, lambda _: contacts_of_lane(16)),
    Case(ContactRefusal.NOT_OF_EDGE, lambda _: find_marks({"8pin/4": "damaged"})),
    Case(ContactRefusal.NO_MARK, lambda _: find_marks({"B14": "burnt"})),
    Case(
        ByHandRefusal.NO_OUTPUTS,
        lambda _: after_of("DP-2 stays").added_to(evidence_seen("x8 of x16")),
    ),
    Case(
        ByHandRefusal.NO_OUTPUT,
        lambda _: after_of("DP-2 stays").added_to(evidence_seen("DP-1 dark")),
    ),
    Case(ByHandRefusal.NO_DAMAGED_CONTACT, lambda _: check_contacts(["B99"])),
    Case(PractiseRefusal.NAMES_NOTHING, lambda _: judge_answer(1, "the moon")),
    Case(PractiseRefusal.NO_NUMBER, lambda _: drawn_by_name("practise:x")),
    Case(PractiseRefusal.NO_CONTACT, lambda _: meter_text(1, ["B99"])),
    Case(UnderLoadReason.OVER_THE_RANGE, lambda _: read_answer(_JOINT, _STAGE, "OL")),
    Case(UnderLoadReason.NO_SUPPLY, lambda _: read_answer(_PLUG, _STAGE, "350 mV")),
    Case(AnswerReason.NOT_UNDERSTOOD, lambda _: read("perhaps", YES_NO)),
    Case(AnswerReason.AT, lambda _: answers_of(["beeps=loud"], ())),
    Case(AnswerReason.NO_COUNT, lambda _: answers_of(["beeps=1.5"], ())),
    Case(AnswerReason.NO_NUMBER, lambda _: answers_of(["time_to_image_s=soon"], ())),
    Case(AnswerReason.NOT_BETWEEN, lambda _: answers_of(["beeps=1000"], ())),
    Case(TicketRefusal.NO_ANSWER, lambda _: answers_of(["song=loud"], ())),
)  # fmt: skip
