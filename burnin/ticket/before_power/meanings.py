"""What is meant by values of the unpowered card, and by what stands against power."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, PromptCode, ReasonCode, SourceCode, TermCode


class BeforePowerReason(ReasonCode):
    """Why a value fails, was not taken, or stands against power.

    `was`, `reads`, `short` and `least` are values (`QuantityTerm`), `point` a measuring point,
    `title` what is measured there, `other` what is measured elsewhere, `against` reasons.
    """

    NOBODY_MEASURED = "before_power_nobody_measured"
    NOBODY_MEASURED_TWIN = "before_power_nobody_measured_twin", "point"
    TAKEN_BACK = "before_power_taken_back", "was"
    WORKED_ON_SINCE = "before_power_worked_on_since", "was"
    SHORT = "before_power_short", "reads"
    OPEN_CIRCUIT = "before_power_open_circuit"
    OPEN_FUSE = "before_power_open_fuse"
    OPEN_PATH = "before_power_open_path"
    OPEN_CONTACT = "before_power_open_contact"
    OPEN_TRACE = "before_power_open_trace"
    OPEN_COPPER = "before_power_open_copper"
    SHORT_TO_GROUND = "before_power_short_to_ground", "reads"
    BRIDGE = "before_power_bridge", "reads"
    BETWEEN = "before_power_between", "reads", "short", "least"
    UNSETTLED = "before_power_unsettled", "was", "reads"
    OPEN_ON_ONE_CARD = "before_power_open_on_one_card"
    READS_A_SHORT = "before_power_reads_a_short", "title", "point", "reads", "short"
    SHORT_TAKEN_BACK = "before_power_short_taken_back", "title", "point", "reads", "short"
    RATHER_OF = "before_power_rather_of", "reads", "title", "other"
    MORE_THAN_USUAL = "before_power_more_than_usual", "reads", "title", "usual"
    SMOKE_AND_NO_REPAIR = "before_power_smoke_and_no_repair", "time_utc"
    NO_POWER = "before_power_no_power", "number", "against"


class BeforePowerSource(SourceCode):
    """Where a value is from; `file` is a file's name, `number` a ticket's."""

    TYPED = "before_power_typed"
    TYPED_BY = "before_power_typed_by", "by"
    FROM_FILE = "before_power_from_file", "file"
    FROM_FILE_BY = "before_power_from_file_by", "file", "by"
    OF_TWO_LEGS = "before_power_of_two_legs"
    OF_TWO_CARDS = "before_power_of_two_cards", "number"


class QuantityTerm(TermCode):
    """What a meter shows; `value` and `uncertainty` (k = 2) in `unit`, such as kΩ or V."""

    WITH_UNCERTAINTY = "quantity_with_uncertainty", "value", "uncertainty", "unit"
    EXACT = "quantity_exact", "value", "unit"
    OVER_RANGE = "quantity_over_range"


class PointTerm(TermCode):
    """What is measured at a point; `patch` is a word for copper laid bare.

    ``AT_…``: where a contact lies, on side A or B, towards the bracket or beyond the key notch:
    `mm` from the notch's middle, the `nth` contact from there.
    """

    DIODE = "point_diode", "contact"
    TRACE = "point_trace", "contact"
    PARTED = "point_parted", "contacts"
    BARE_COPPER = "point_bare_copper", "patch"
    SMOKE = "point_smoke"
    AT_A_BRACKET = "point_at_a_bracket", "contact", "mm", "nth"
    AT_A_BEYOND = "point_at_a_beyond", "contact", "mm", "nth"
    AT_B_BRACKET = "point_at_b_bracket", "contact", "mm", "nth"
    AT_B_BEYOND = "point_at_b_beyond", "contact", "mm", "nth"


class MeasurePrompt(PromptCode):
    """What is asked at the bench; `title` is what is measured, `unit` Ω or V, `why` a doubt."""

    VALUE = "measure_value", "title", "unit"
    KEEP = "measure_keep", "why"


class MeasureNote(NoteCode):
    """What is said while values are taken; `why` is in the words of whoever left it out."""

    ALL_MEASURED = "measure_all_measured"
    TAKEN = "measure_taken", "title", "value"
    ONCE_MORE = "measure_once_more", "was", "value"
    NOT_KEPT = "measure_not_kept", "title"
    SKIPPED = "measure_skipped", "title"
    SKIPPED_WHY = "measure_skipped_why", "title", "why"
    NONE_BEFORE = "measure_none_before"
    UNPLUG = "measure_unplug"
    SOLDER = "measure_solder"
    COOLANT = "measure_coolant"
    LOCAL_CODES = "measure_local_codes"


CAUTIONS = (
    MeasureNote.UNPLUG(),
    MeasureNote.SOLDER(),
    MeasureNote.COOLANT(),
    MeasureNote.LOCAL_CODES(),
)
"""Told before anybody measures."""
