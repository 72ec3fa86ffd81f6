"""What can be said of packages: faults, notes, what no check without a network knows."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode, TermCode


class PackageFault(ReasonCode):
    """What a check finds wrong; `name` is a package, `file` a path in its folder."""

    NOT_LOCKED = "packages_not_locked", "name", "version"
    OTHER_VERSION = "packages_other_version", "name", "version", "locked"
    MISSING = "packages_missing", "name", "locked"
    NO_FILE_LIST = "packages_no_file_list", "name"
    FILE_CHANGED = "packages_file_changed", "name", "file"
    FILE_MISSING = "packages_file_missing", "name", "file"
    FILE_WITHOUT_SUM = "packages_file_without_sum", "name", "file"
    FILE_OF_NOBODY = "packages_file_of_nobody", "file"
    COPYLEFT = "packages_copyleft", "name", "licence"
    LICENCE_UNKNOWN = "packages_licence_unknown", "name"


class PackageNote(NoteCode):
    """What is said and is no fault; the last ones are what cannot be known without a network."""

    ACCEPTED = "packages_accepted", "name", "licence", "why"
    WITH_PYTHON = "packages_with_python", "name", "version"
    YANKED_UNKNOWN = "packages_yanked_unknown"
    FLAWS_UNKNOWN = "packages_flaws_unknown"
    ARCHIVES_UNKNOWN = "packages_archives_unknown"
    BUNDLED_UNKNOWN = "packages_bundled_unknown"


OFFLINE = (
    PackageNote.YANKED_UNKNOWN,
    PackageNote.FLAWS_UNKNOWN,
    PackageNote.ARCHIVES_UNKNOWN,
    PackageNote.BUNDLED_UNKNOWN,
)
"""Said after every check: it cannot be known here, so nobody may read it as checked."""


class PackageTerm(TermCode):
    """Lines of the lists, and why a licence is accepted."""

    TESTS_ALONE = "packages_tests_alone"
    AN_EXTRA = "packages_an_extra"
    UNKNOWN = "packages_unknown"
    FROM_EXPRESSION = "packages_from_expression"
    FROM_FIELD = "packages_from_field"
    FROM_CLASSIFIER = "packages_from_classifier"
    FROM_TEXT = "packages_from_text"
    FOR_NOBODY = "packages_for_nobody"
    HEAD_NAME = "packages_head_name"
    HEAD_VERSION = "packages_head_version"
    HEAD_LICENCE = "packages_head_licence"
    HEAD_FROM = "packages_head_from"
    HEAD_FOR = "packages_head_for"
    UNKNOWN_ONES = "packages_unknown_ones", "names"
    NONE_UNKNOWN = "packages_none_unknown"
    CHECKED = "packages_checked", "packages_count", "files_count", "locks"
    NO_FAULT = "packages_no_fault"
    FAULTS = "packages_faults", "faults_count"
    NOT_KNOWN = "packages_not_known"
