"""What the page says of its own: labels, the word so far, figures with what they mean."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, TermCode


class PageTerm(TermCode):
    """Labels and lines of the page; figures in text are as they are shown."""

    TITLE = "page_title"
    NO_RECORD = "page_no_record", "folder"
    TO_WORD = "page_to_word"
    WORD = "page_word"
    WORD_SO_FAR = "page_word_so_far"
    STAGE = "page_stage"
    STAGE_AT = "page_stage_at", "number", "stages_count"
    LEFT = "page_left"
    LEFT_ABOUT = "page_left_about", "seconds"
    LEFT_AT_LEAST = "page_left_at_least", "seconds"
    LEFT_UNKNOWN = "page_left_unknown"
    LEFT_NONE = "page_left_none"
    TEMPERATURE = "page_temperature"
    TEMPERATURE_LIMIT = "page_temperature_limit", "limit_c"
    HOT_SPOT = "page_hot_spot", "temp_c"
    HOT_SPOT_OF = "page_hot_spot_of", "temp_c", "limit_c"
    MEMORY = "page_memory", "temp_c"
    MEMORY_OF = "page_memory_of", "temp_c", "limit_c"
    POWER = "page_power"
    POWER_TARGET = "page_power_target", "load_w"
    POWER_SHARE = "page_power_share", "share_pct"
    POWER_NO_LOAD = "page_power_no_load"
    NO_ROW_YET = "page_no_row_yet"
    LAST_ROW = "page_last_row"
    LINK = "page_link"
    LINK_AT = "page_link_at", "lanes", "speed_gts"
    ERRORS = "page_errors"
    NEW_ERRORS = "page_new_errors", "errors_count"
    NOT_COUNTED = "page_not_counted"
    KERNEL_LINES = "page_kernel_lines", "lines_count"
    FAILED_VALUES = "page_failed_values", "failed_count"
    FAILED_VALUE = "page_failed_value", "reading", "why"
    NOT_READ = "page_not_read", "why"
    STAGES = "page_stages"
    COURSE = "page_course"
    COURSE_TOLD = "page_course_told"
    CURVE_HOT_SPOT = "page_curve_hot_spot"
    CURVE_LIMIT = "page_curve_limit"
    CURVE_BAND = "page_curve_band"
    CURVE_TARGET = "page_curve_target"
    NOW = "page_now"
    TO_COME = "page_to_come"
    PROMPT = "page_prompt"
    PROMPT_LEFT = "page_prompt_left", "seconds"
    STOP = "page_stop"
    STOP_TOLD = "page_stop_told"
    TAKEN = "page_taken"
    STOP_TAKEN = "page_stop_taken"
    QUIET = "page_quiet", "seconds"
    NO_CONNECTION = "page_no_connection"
    NEED_KEY = "page_need_key"
    NEED_SCRIPT = "page_need_script"
    OTHER_LANGUAGE = "page_other_language"
    WARNING = "page_warning", "what"
    CHECK = "page_check", "what"
    FORECAST = "page_forecast", "band", "expected"
    SIMULATED = "page_simulated", "scenario"
    OWED = "page_owed", "what", "why"


class WordSoFar(TermCode):
    """The large word while a run goes on: never a verdict, for that is given at its end."""

    NOTHING_YET = "page_so_far_nothing"
    NO_FAULT = "page_so_far_no_fault"
    OPEN = "page_so_far_open"
    FAILED = "page_so_far_failed"
    ENDED = "page_so_far_ended"
    STOPPING = "page_so_far_stopping"
    CUT_OFF = "page_so_far_cut_off"
    CHECKING = "page_so_far_checking"


class SoFarDetail(TermCode):
    """What stands below the large word."""

    STAGES_DONE = "page_stages_done", "done_count", "stages_count"
    GO_ON_WITH = "page_go_on_with", "folder"
    CHECKING = "page_checking_told"
    STOPPING = "page_stopping_told"


class PageReason(ReasonCode):
    """Why the page does not do what was asked of it, or cannot be begun."""

    UNREADABLE = "page_unreadable", "words"
    BAD_REQUEST = "page_bad_request"
    TOO_LARGE = "page_too_large", "most_bytes"
    TOO_SLOW = "page_too_slow"
    TOO_MANY = "page_too_many", "most_count"
    NOT_THIS_PAGE = "page_not_this_page"
    OTHER_SITE = "page_other_site"
    NO_KEY = "page_no_key"
    OTHER_RUN = "page_other_run"
    NO_SUCH_PLACE = "page_no_such_place"
    WRONG_METHOD = "page_wrong_method", "allowed"
    NOT_JSON = "page_not_json"
    NO_PACKAGES = "page_no_packages"
    NO_ADDRESS = "page_no_address", "address"
    EVERY_ADDRESS = "page_every_address", "address"
    NOT_SERVED = "page_not_served", "address", "port", "words"
    KEY_OF_OTHERS = "page_key_of_others", "file"


class ServingTerm(TermCode):
    """What the terminal says when the page is served."""

    AT = "page_serving_at", "address"
    FINGERPRINT = "page_serving_fingerprint", "fingerprint"
    SECRET = "page_serving_secret"
    SHOWS = "page_serving_shows", "folder"
    END = "page_serving_end"
