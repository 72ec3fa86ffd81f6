"""Every language says everything: same keys, same places, a word for every code and reading."""

from __future__ import annotations

import ast
import doctest
import importlib
import pkgutil
import re
import string
import tomllib
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import burnin
from burnin.core.errors import BadInput
from burnin.core.meaning import (
    Cause,
    CauseCode,
    Check,
    CheckCode,
    Code,
    Note,
    NoteCode,
    Owed,
    OwedCode,
    Prompt,
    PromptCode,
    Reason,
    ReasonCode,
    Source,
    SourceCode,
    Term,
    TermCode,
)
from burnin.core.reading import Verdict
from burnin.core.verdict import RunVerdict, StageVerdict
from burnin.report.languages import numbers
from burnin.report.languages.catalogue import catalogue, language_names
from burnin.report.languages.language import Language, language
from burnin.report.languages.word_files import GROUPS, TABLES, word_files
from burnin.report.plots.series import PANELS
from tests.refusals import refused

KINDS: dict[type[Code], type] = {
    ReasonCode: Reason,
    CauseCode: Cause,
    CheckCode: Check,
    OwedCode: Owed,
    PromptCode: Prompt,
    NoteCode: Note,
    SourceCode: Source,
    TermCode: Term,
}
ROOT = Path(burnin.__file__).parent
OTHERS = [code for code in language_names() if code != "en"]


def tables(code: str) -> dict[str, dict[str, Any]]:
    """All words of one language alone, table by table."""
    return _read(code)[0]


@cache
def _read(code: str) -> tuple[dict[str, dict[str, Any]], list[str]]:
    found: dict[str, dict[str, Any]] = {}
    doubles: list[str] = []
    for file in word_files(code):
        for name, words in tomllib.loads(file.read_text("utf-8")).items():
            table = found.setdefault(name, {})
            twice = table.keys() & words.keys()
            doubles.extend(f"{file}: [{name}] {key}" for key in sorted(twice))
            table |= words
    return found, doubles


@cache
def codes() -> tuple[Code, ...]:
    """Every code of every room."""
    for module in pkgutil.walk_packages(burnin.__path__, "burnin."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    enums = (enum for kind in KINDS for enum in kind.__subclasses__())
    ours = (enum for enum in enums if enum.__module__.startswith("burnin."))
    return tuple(member for enum in ours for member in enum)


def places(sentence: str) -> set[str]:
    """Names of the places of a sentence, also of those that only a format names."""
    found = set()
    for _, name, spec, _ in string.Formatter().parse(sentence):
        if name is not None:
            found.add(name)
            found |= {spec[1:]} if spec and spec.startswith("±") else set()
    return found


def test_english_and_german_are_there() -> None:
    assert {"en", "de"} <= set(language_names())
    for code in language_names():
        found = language(code)
        assert isinstance(found, Language)
        assert found.code == code
        assert found.name


@pytest.mark.parametrize("code", language_names())
def test_each_word_has_one_place(code: str) -> None:
    assert _read(code)[1] == []


@pytest.mark.parametrize("code", language_names())
def test_there_are_only_tables_that_the_catalogue_knows(code: str) -> None:
    assert set(tables(code)) <= {*TABLES, *GROUPS}


@pytest.mark.parametrize("code", OTHERS)
def test_every_language_has_the_same_keys(code: str) -> None:
    english, other = tables("en"), tables(code)
    for name in (*TABLES, *GROUPS):
        if name in ("words", "units"):
            # A word or unit that stays as it is needs no entry, and a title in a profile has one
            # only where it is not in its own language.
            continue
        assert set(other.get(name, {})) == set(english.get(name, {})), name


@pytest.mark.parametrize("code", OTHERS)
def test_every_english_word_has_one_in_each_language(code: str) -> None:
    assert set(tables("en")["words"]) <= set(tables(code)["words"])


@pytest.mark.parametrize("code", OTHERS)
def test_labels_have_the_same_places_in_every_language(code: str) -> None:
    for name in (*GROUPS, "showed"):
        for key, english in tables("en").get(name, {}).items():
            other = tables(code)[name][key]
            assert type(other) is type(english), key
            listed = english if isinstance(english, list) else [english]
            local = other if isinstance(other, list) else [other]
            assert len(listed) == len(local), key
            for one, two in zip(listed, local, strict=True):
                assert places(one) == places(two), key


def test_codes_are_found_and_each_is_there_once() -> None:
    counted = Counter(member.value for member in codes())
    assert len(counted) > 300
    assert [value for value, count in counted.items() if count > 1] == []


@pytest.mark.parametrize("code", language_names())
def test_every_code_has_words_and_only_its_own_fields(code: str) -> None:
    says = tables(code)["says"]
    missing = [member.value for member in codes() if member.value not in says]
    assert missing == []
    for member in codes():
        surplus = places(says[member.value]) - set(member.fields)
        assert not surplus, f"{member.value}: {surplus}"


@pytest.mark.parametrize("code", OTHERS)
def test_sentences_have_the_same_places_in_every_language(code: str) -> None:
    for key, english in tables("en")["says"].items():
        assert places(tables(code)["says"][key]) == places(english), key


@pytest.mark.parametrize("code", OTHERS)
def test_no_sentence_stays_in_english(code: str) -> None:
    """Only names and figures are the same in two languages: at most two words of letters."""
    same = []
    for key, english in tables("en")["says"].items():
        words = re.findall(r"[A-Za-z]{3,}", re.sub(r"\{[^}]*\}|\S*[/_=]\S*", " ", english))
        if english == tables(code)["says"][key] and len(words) > 2:
            same.append(f"{key}: {english}")
    assert same == []


def test_a_sentence_that_no_code_has_is_a_stages_or_a_screens_own() -> None:
    known = {member.value for member in codes()}
    own = ("stage_", "cli_", "system_", "explain_", "replay_")
    spare = [k for k in tables("en")["says"] if k not in known and not k.startswith(own)]
    assert spare == []


def reading_names() -> Iterator[str]:
    """Names that rooms give their readings, as far as they are written out in a call."""
    makers = {"judge", "judge_text", "not_measured", "Reading"}
    for room in ("stages", "run"):
        for path in (ROOT / room).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                match node:
                    case ast.Call(func=ast.Name(id=called), args=[first, *_]) if called in makers:
                        yield from _written(first)


def _written(node: ast.expr) -> Iterator[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
        head, blank, _ = str(node.values[0].value).partition(" ")
        if blank:
            yield head


@pytest.mark.parametrize("code", language_names())
def test_every_reading_that_a_stage_takes_has_a_title(code: str) -> None:
    names = set(reading_names())
    assert len(names) > 25
    titles = tables(code)["readings"]
    assert {name for name in names if name.partition(" ")[0] not in titles} == set()


def test_a_language_that_there_is_not_is_refused_with_those_that_there_are() -> None:
    with refused(BadInput, match=r"de, en"):
        catalogue("xx")


def test_what_a_language_lacks_is_said_in_the_original() -> None:
    assert catalogue("de").say(Reason("no_such_code", (("value", 3),))) == "no_such_code(value=3)"
    assert catalogue("de").reading("pcie_crc_errors_count") == "PCIe CRC errors"


def test_places_of_a_sentence_are_written_as_the_language_writes_them() -> None:
    english, german = catalogue("en"), catalogue("de")
    assert english.number("1,234.5") == "1\u202f234.5"
    assert german.number("1,234.5") == "1\u202f234,5"
    assert german.moment("2026-03-02T09:15:30.000Z") == "2. März 2026, 09:15 UTC"
    assert english.moment_after("2026-03-01T23:59:30.000Z") == "2 March 2026, 00:00"
    assert german.unit("lanes") == "Lanes"


def test_the_examples_of_numbers_hold() -> None:
    result = doctest.testmod(numbers)
    assert (result.failed, result.attempted) == (0, 1)


def test_every_label_of_the_catalogue_is_used_somewhere() -> None:
    """A label that nobody prints would be translated for nothing, and hide one that is missing."""
    report = ROOT / "report"
    source = "\n".join(
        path.read_text("utf-8")
        for path in (*report.rglob("*.py"), *(report / "templates").iterdir())
        if path.is_file()
    )
    by_name = {"outcomes", "marks", "curves", "cautions", "customer_outcomes", "customer_marks"}
    by_name |= {"customer_cautions", "cooling", "seen", "drawing", "intake"}
    spare = [
        f"{group}.{key}"
        for group in set(GROUPS) - by_name
        for key in tables("en")[group]
        if not re.search(rf"\b{re.escape(key)}\b", source)
    ]
    made = ("_title", "_axis")
    assert [name for name in spare if not name.endswith(made) and "axis_" not in name] == [
        name for name in spare if name.startswith("people.bench_")
    ]


def test_every_verdict_and_curve_has_its_label() -> None:
    for code in language_names():
        words = catalogue(code)
        assert set(words.group("outcomes")) == set(RunVerdict)
        marks = {f"stage {verdict}" for verdict in StageVerdict} | {"recorded", *Verdict}
        assert set(words.group("marks")) == marks
        assert set(words.group("curves")) == {c.column for p in PANELS for c in p.curves}
