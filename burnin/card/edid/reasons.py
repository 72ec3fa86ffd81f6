"""What is wrong with the bytes of an EDID, and why it does not tell something."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, TermCode


class EdidReason(ReasonCode):
    """Why a value is not told, or what should have stood in place of the bytes found.

    `hex_bytes` are the bytes found, `block` counts blocks from 0, `block_name` is a standard's.
    """

    AT_BYTE = "edid_at_byte", "byte", "hex_bytes", "what"
    AT_BYTE_ALONE = "edid_at_byte_alone", "byte", "what"
    BASE_BLOCK_CUT = "edid_base_block_cut", "bytes_there"
    BASE_BLOCK_INCOMPLETE = "edid_base_block_incomplete"
    NO_BYTES = "edid_no_bytes"
    BYTES_AT_THE_END = "edid_bytes_at_the_end", "bytes_over"
    WRONG_HEADER = "edid_wrong_header", "header_hex"
    WRONG_VERSION = "edid_wrong_version"
    WRONG_CHECKSUM = "edid_wrong_checksum", "block", "block_name", "checksum"
    WRONG_EXTENSION_COUNT = "edid_wrong_extension_count", "promised", "present"
    WRONG_MANUFACTURER = "edid_wrong_manufacturer"
    NO_MANUFACTURER = "edid_no_manufacturer", "hex_bytes"
    NO_WEEK = "edid_no_week"
    NO_NAME = "edid_no_name"
    NAME_BLANK = "edid_name_blank"
    NO_SERIAL_TEXT = "edid_no_serial_text"
    SERIAL_TEXT_BLANK = "edid_serial_text_blank"
    NO_PREFERRED_MODE = "edid_no_preferred_mode"
    IMPOSSIBLE_MODE = "edid_impossible_mode", "mode"
    TIMINGS_MISPLACED = "edid_timings_misplaced"
    DATA_BLOCK_TOO_LONG = "edid_data_block_too_long"


class EdidTerm(TermCode):
    """Names of what an EDID describes."""

    MODE = "edid_mode", "width_px", "height_px", "refresh_hz"
    MODE_INTERLACED = "edid_mode_interlaced", "width_px", "height_px", "refresh_hz"
