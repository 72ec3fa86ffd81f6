"""The licence of a package as its metadata tell it; which of them must be kept."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.cli.packages.copyleft import is_copyleft
from burnin.cli.packages.installed import packages
from burnin.cli.packages.licences import UNKNOWN, Licence, LicenceFrom, licence_of, recognised
from burnin.cli.packages.lines import package_lines
from burnin.report.languages.catalogue import catalogue
from tests.cli.made_up_packages import here, put

BSD = "Redistribution and use in source and binary forms, with or without\nmodification, are …"
BSD_3 = f"{BSD}\n* Neither the name of the maker nor the names of its\n  contributors may be used"
MIT = (
    "Permission is hereby granted, free of charge, to any person obtaining a copy of this software"
    ' and associated files (the "Software"), to deal in the Software\nwithout restriction'
)
GPL = "GNU GENERAL PUBLIC LICENSE\n   Version 3, 29 June 2007"


@pytest.mark.parametrize(
    ("fields", "texts", "told"),
    [
        (["License-Expression: mit or Apache-2.0"], {}, ("MIT OR Apache-2.0", True, "expression")),
        (["License: BSD-3-Clause"], {"COPYING": MIT}, ("BSD-3-Clause", True, "field")),
        (
            ["License: MIT licensed", "Classifier: License :: OSI Approved :: MIT License"],
            {},
            ("MIT", True, "classifier"),
        ),
        (
            ["Classifier: License :: OSI Approved :: BSD License"],
            {"LICENSE": BSD_3},
            ("BSD-3-Clause", True, "text"),
        ),
        ([], {"LICENSE": BSD}, ("BSD-2-Clause", True, "text")),
        ([], {"LICENSE": GPL}, ("GPL-3.0-only", True, "text")),
        (
            ["Classifier: License :: OSI Approved :: BSD License"],
            {"A": MIT, "B": GPL},
            ("BSD License", False, "classifier"),
        ),
        (["License: As we please"], {}, ("As we please", False, "field")),
        (["License: UNKNOWN"], {"LICENSE": "Do as you like."}, ("", False, "nowhere")),
        ([], {}, ("", False, "nowhere")),
    ],
)
def test_a_licence_is_read_where_it_is_told_best(
    fields: list[str], texts: dict[str, str], told: tuple[str, bool, str], tmp_path: Path
) -> None:
    put(tmp_path, "strata", fields=fields, texts=texts)
    licence = licence_of(here(tmp_path)["strata"])
    assert (licence.text, licence.spdx, licence.source.value) == told


def test_a_text_that_only_speaks_of_software_is_no_licence() -> None:
    assert recognised("This software may be given to anybody, free of charge.") is None


@pytest.mark.parametrize(
    ("text", "spdx", "kept"),
    [
        ("MIT", True, False),
        ("GPL-2.0-or-later", True, True),
        ("LGPL-3.0-only", True, True),
        ("MIT OR GPL-3.0-only", True, False),
        ("MIT AND MPL-2.0", True, True),
        ("(GPL-3.0-only OR MIT) AND BSD-2-Clause", True, False),
        ("(GPL-3.0-only OR LGPL-3.0-only) AND MIT", True, True),
        ("MIT OR BSD-3-Clause AND GPL-2.0-only", True, False),
        ("GPL-3.0-only WITH GCC-exception-3.1", True, True),
        ("BSD License", False, False),
        ("GNU Lesser General Public License", False, True),
        ("GPLv2 and later, see file", False, True),
        ("Mozilla Public License", False, True),
    ],
)
def test_a_choice_counts_as_the_mildest_and_a_sum_as_the_strictest(
    text: str, spdx: bool, kept: bool
) -> None:
    assert is_copyleft(Licence(text, spdx, LicenceFrom.FIELD)) is kept


def test_packages_of_unknown_licence_are_named(tmp_path: Path) -> None:
    put(tmp_path, "strata")
    put(tmp_path, "nameless", fields=[])
    installed = packages(here(tmp_path))
    assert [one.licence for one in installed if one.name == "nameless"] == [UNKNOWN]
    lines = package_lines(installed, catalogue("en"))
    assert lines[-1] == "licence unknown: nameless"
    assert package_lines(installed, catalogue("de"))[-1] == "Lizenz unbekannt: nameless"


def test_the_command_lists_what_is_installed_and_what_for() -> None:
    rows = json.loads(CliRunner().invoke(app, ["packages", "list", "--json"]).output)
    named = {row["name"]: row for row in rows}
    assert named["numpy"]["needed_for"] == ["run"]
    assert named["pytest"]["needed_for"] != ["run"]
    assert "burnin" not in named
    assert CliRunner().invoke(app, ["packages", "list"]).output.splitlines()[1].split()[-1]
