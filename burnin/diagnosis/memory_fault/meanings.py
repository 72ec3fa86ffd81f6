"""What an explanation of failing words can say.

`bits` are numbers of data or address bits, `masks` tuples of such numbers (`MemoryTerm.PARITY`),
`where` is the rule (`MemoryTerm`), `warm` is `DiagnosisTerm.ONCE_WARM` or None.
"""

from __future__ import annotations

from burnin.core.meaning import CauseCode, NoteCode, TermCode


class MemoryCause(CauseCode):
    """What may be wrong with a memory; `chip` is a name of the board file, or a term of `where`."""

    DATA_LINE = "memory_fault_data_line", "bits", "where", "warm"
    ADDRESS_LINE = "memory_fault_address_line", "masks", "where", "warm"
    CHIP = "memory_fault_chip", "where", "warm"
    BANK = "memory_fault_bank", "where", "warm"
    ROW = "memory_fault_row", "first_bytes", "where", "warm"
    COLUMN = "memory_fault_column", "where", "warm"
    HEAT = "memory_fault_heat", "where"
    SUPPLY = "memory_fault_supply", "where", "warm"
    CELLS = "memory_fault_cells", "places_count", "where", "warm"
    ELSE = "memory_fault_something_else"


class MemoryTerm(TermCode):
    """Names of places in a memory and of rules on addresses."""

    NAMED_CHIP = "memory_place_chip", "chip"
    ONE_OF = "memory_place_one_of", "parts_count"
    ANYWHERE = "memory_place_anywhere"
    NO_MASK = "memory_place_no_mask"
    PARITY = "memory_rule_parity", "bits", "wanted"
    PARITY_INSIDE = "memory_rule_parity_inside", "bits", "wanted"
    PARITY_OF_PAGE = "memory_rule_parity_of_page", "bits"
    REMAINDER = "memory_rule_remainder", "stripe_bytes", "modulus", "remainder"
    REMAINDER_OF_PAGE = "memory_rule_remainder_of_page", "stripe_bytes", "modulus"
    WINDOW = "memory_rule_window", "first_bytes", "last_bytes"
    BITS = "memory_rule_bits", "bits"


class MemoryUnknown(NoteCode):
    """What cannot be known from these words."""

    PAGES = "memory_unknown_pages", "page_bytes"
    HIGH_BITS = "memory_unknown_high_bits", "from_bit"
    FEW_WORDS = "memory_unknown_few_words", "places_count"
    TEMPERATURE = "memory_unknown_temperature"
    NO_RULE = "memory_unknown_no_rule"
    LEFT_OVER = "memory_unknown_left_over", "words_count"
    WHICH_CHIP = "memory_unknown_which_chip"
