"""What `burnin packages` prints: the list with licences, what a check found, the bill."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from datetime import UTC, datetime

from burnin.cli.packages.bill import bill_of_materials
from burnin.cli.packages.check import Checked, check
from burnin.cli.packages.installed import (
    RUN,
    TOOL,
    Package,
    asked_by_tool,
    extras,
    found,
    packages,
)
from burnin.cli.packages.licences import LicenceFrom
from burnin.cli.packages.locks import Locked, lock_names, read_lock
from burnin.cli.packages.meanings import OFFLINE, PackageTerm
from burnin.core.errors import NotFound
from burnin.core.plain import plain
from burnin.core.system import SystemReason
from burnin.report.languages.catalogue import Catalogue, catalogue

Echo = Callable[[str], None]
_FROM = {
    LicenceFrom.EXPRESSION: PackageTerm.FROM_EXPRESSION,
    LicenceFrom.FIELD: PackageTerm.FROM_FIELD,
    LicenceFrom.CLASSIFIER: PackageTerm.FROM_CLASSIFIER,
    LicenceFrom.TEXT: PackageTerm.FROM_TEXT,
    LicenceFrom.NOWHERE: PackageTerm.UNKNOWN,
}


def list_packages(as_json: bool, echo: Echo, language: str) -> int:
    """Every installed package with its licence; the unknown ones are named at the end."""
    installed = packages(found())
    if as_json:
        echo(json.dumps([plain(one) for one in installed], indent=1, ensure_ascii=False))
        return 0
    words = catalogue(language)
    for line in package_lines(installed, words):
        echo(line)
    return 0


def package_lines(installed: Sequence[Package], words: Catalogue) -> list[str]:
    """The list as a table."""
    heads = (
        *(PackageTerm.HEAD_NAME, PackageTerm.HEAD_VERSION, PackageTerm.HEAD_LICENCE),
        *(PackageTerm.HEAD_FROM, PackageTerm.HEAD_FOR),
    )
    rows = [tuple(words.say(head()) for head in heads)]
    for one in installed:
        licence = one.licence.text or words.say(PackageTerm.UNKNOWN())
        purposes = ", ".join(one.needed_for) or words.say(PackageTerm.FOR_NOBODY())
        read_in = words.say(_FROM[one.licence.source]())
        rows.append((one.name, one.version, licence, read_in, purposes))
    widths = [max(len(row[column]) for row in rows) for column in range(len(heads))]
    lines = [
        "  ".join(f"{text:<{width}}" for text, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
    unknown = ", ".join(o.name for o in installed if o.licence.source is LicenceFrom.NOWHERE)
    last = PackageTerm.UNKNOWN_ONES(names=unknown) if unknown else PackageTerm.NONE_UNKNOWN()
    return [*lines, "", words.say(last)]


def check_packages(names: Sequence[str], as_json: bool, echo: Echo, language: str) -> int:
    """What differs from the locks of these names; exit code 1 where anything does.

    Without a name what a run needs must be there, and what any lock holds may be.
    """
    chosen = tuple(names) or lock_names()
    required = [line for name in names or (RUN,) for line in read_lock(name)]
    checked = check(found(), [line for name in chosen for line in read_lock(name)], required)
    if as_json:
        not_known = [plain(code()) for code in OFFLINE]
        told = {"locks": list(chosen), **_plain(checked), "not_known": not_known}
        echo(json.dumps(told, indent=1, ensure_ascii=False))
    else:
        for line in _check_lines(checked, chosen, catalogue(language)):
            echo(line)
    return 1 if checked.faults else 0


def _plain(checked: Checked) -> dict[str, object]:
    told = plain(checked)
    assert isinstance(told, dict)
    return told


def _check_lines(checked: Checked, chosen: Sequence[str], words: Catalogue) -> list[str]:
    count = len(checked.faults)
    return [
        words.say(
            PackageTerm.CHECKED(
                packages_count=checked.packages_count,
                files_count=checked.files_count,
                locks=tuple(chosen),
            )
        ),
        *(f"- {words.say(fault)}" for fault in checked.faults),
        words.say(PackageTerm.FAULTS(faults_count=count) if count else PackageTerm.NO_FAULT()),
        *(f"- {words.say(note)}" for note in checked.notes),
        words.say(PackageTerm.NOT_KNOWN()),
        *(f"- {words.say(code())}" for code in OFFLINE),
    ]


def print_bill(everything: bool, echo: Echo, now: datetime | None = None) -> int:
    """The bill of materials as JSON; raises NotFound where the tool itself is not installed."""
    here = found()
    if TOOL not in here:
        raise NotFound(SystemReason.NOT_FOUND(file=f"{TOOL}.dist-info"))
    asked = asked_by_tool(here, frozenset(extras(here)))
    bill = bill_of_materials(
        here[TOOL].version,
        packages(here),
        _all_locked(),
        now or datetime.now(UTC),
        asked=asked,
        everything=everything,
    )
    echo(json.dumps(bill, indent=1, ensure_ascii=False))
    return 0


def _all_locked() -> list[Locked]:
    return [line for name in lock_names() for line in read_lock(name)]
