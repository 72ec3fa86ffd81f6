"""Why a profile, or another file of settings, cannot be used, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class ProfileRefusal(ReasonCode):
    """`faults` are reasons, one a field; `near` is the nearest name, `words` the reader's."""

    NO_SUCH = "refused_profile_no_such", "name", "there"
    NO_SUCH_NEAR = "refused_profile_no_such_near", "name", "near", "there"
    NO_FILE = "refused_profile_no_file", "file"
    UNUSABLE = "refused_profile_unusable", "file", "words"
    NO_TOML = "refused_profile_no_toml", "file", "words"
    NO_TEXT = "refused_profile_no_text", "file", "byte"
    TOO_DEEP = "refused_profile_too_deep", "file"
    FAULTS = "refused_profile_faults", "faults"
    AT_LINE = "refused_profile_at_line", "file", "line", "field", "what"
    IN_FILE = "refused_profile_in_file", "file", "field", "what"
    IN_WHOLE_FILE = "refused_profile_in_whole_file", "file", "what"
    MISSING = "refused_profile_missing"
    NO_KIND = "refused_profile_no_kind", "text", "there"
    NO_FIELD = "refused_profile_no_field", "text"
    GIVEN = "refused_profile_given", "text", "what"
    AT_MOST = "refused_profile_at_most", "limit"
    AT_LEAST = "refused_profile_at_least", "limit"
    BELOW = "refused_profile_below", "limit"
    ABOVE = "refused_profile_above", "limit"
    ONE_OF = "refused_profile_one_of", "there"
    A_NUMBER = "refused_profile_a_number"
    A_WHOLE_NUMBER = "refused_profile_a_whole_number"
    A_TEXT = "refused_profile_a_text"
    A_LIST = "refused_profile_a_list"
    YES_OR_NO = "refused_profile_yes_or_no"
    MUST_BE = "refused_profile_must_be", "words"
    RULE = "refused_profile_rule", "words"
