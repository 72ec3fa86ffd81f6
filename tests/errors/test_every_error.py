"""Every error that the command can give: made by real bad input, and read in both languages.

The list is the members of every `…Refusal`, and whatever else an error is raised with; what no case
makes stands in `not_made.py` with the reason. ``pytest -s`` prints each error in both languages.
"""

from __future__ import annotations

import ast
import importlib
import pkgutil
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import burnin
from burnin.core.errors import BurninError
from burnin.core.meaning import Meaning, ReasonCode
from burnin.report.languages.catalogue import catalogue
from tests.errors import of_commands, of_records, of_sticks, of_tickets, of_values
from tests.errors.case import Case
from tests.errors.not_made import NOT_MADE

CASES = (
    *of_values.CASES, *of_tickets.CASES, *of_records.CASES, *of_sticks.CASES, *of_commands.CASES,
)  # fmt: skip
ERRORS = {"BadInput", "ProfileError", "ScenarioError", "RecordError", "NoCard"}
PLACES = re.compile(r"\{[^}]*\}")
SPELLINGS = re.compile(
    r"`[^`]*`|„[^“]*“|'[^']*'|--[a-z]+( '[^']*')?|\bburnin( [a-z-]+)+|\S*[/_=*.]\S*"
)
"""What is no German in a German sentence: commands, options, spellings, files, fields."""
ENGLISH = {
    *("the", "is", "are", "were", "of", "not", "and", "or", "to", "with", "there", "this"),
    *("that", "it", "no", "be", "cannot", "must", "such", "has", "have", "one", "give"),
    *("write", "type", "file", "value", "given", "nothing", "record", "ticket", "sheet", "bench"),
    *("card", "missing", "read", "which", "what", "why", "without", "needs", "more", "than"),
}
OWN_WORDS_OF_OPTIONS = {
    *("open", "alike", "off", "short", "comes", "stays", "clean", "sparkles", "picture", "warm"),
    *("beeps", "leaves", "dark", "sound", "edid", "damaged", "gen", "no", "card", "of", "value"),
    *("letter", "back", "true", "false", "or"),
}
DOING = {
    "en": (
        r"\b(write|type|name|give|say|take|leave|put|save|measure|unplug|mend|install|check|begin|"
        r"make|cut|shorten|split|change|sort|print|fill|run|tell|compare|register|record|open|sit|"
        r"try|add|delete|look|see|remove|must be)\b|such as|as in|for example"
    ),
    "de": r"\b[a-zäöü]\w*(en|ern|eln|n)\b(?=[;.,:)!?]|$| oder| und)|\bwie\b",
}
"""A verb of doing, in German an infinitive that ends a clause; or a spelling to follow."""
TYPED = re.compile(r"`[a-z.]|--[a-z]+|\bburnin [a-z]+|[A-B]1 (to|bis) ")
"""A command, an option, or the contacts that there are: to be typed as it stands."""
CHOICES = {"there", "near", "free", "columns", "needed", "example", "again", "benches", "possible"}
"""Data that tell what could have been typed."""


def says_what_to_do(told: Meaning, language: str) -> bool:
    """Whether the error or a reason inside it has a verb of doing, a command, or the choices."""
    words = catalogue(language)
    for part in told.parts():
        if not words.knows(part.code):
            continue
        template = words.template(part.code)
        if re.search(DOING[language], PLACES.sub("", template), re.IGNORECASE):
            return True
        if TYPED.search(template) or CHOICES & {name for name, value in part.data if value}:
            return True
    return False


@cache
def refusals() -> tuple[ReasonCode, ...]:
    """Members of every `…Refusal` of the package."""
    for module in pkgutil.walk_packages(burnin.__path__, "burnin."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    kinds = [kind for kind in ReasonCode.__subclasses__() if kind.__name__.endswith("Refusal")]
    return tuple(member for kind in kinds for member in kind)


def raised_with() -> Iterator[str]:
    """`Kind.MEMBER` of every code that an error is raised with, as the source has it."""
    for path in sorted(Path(burnin.__file__).parent.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            match node:
                case ast.Call(
                    func=ast.Name(id=error),
                    args=[ast.Call(func=ast.Attribute(value=ast.Name(id=kind), attr=member))],
                ) if error in ERRORS:
                    yield f"{kind}.{member}"


def told_of(case: Case, folder: Path) -> Meaning:
    """What the case's error tells."""
    with pytest.raises(BurninError) as caught:
        case.make(folder)
    told = caught.value.told
    assert isinstance(told, Meaning), told
    return told


def name_of(case: Case) -> str:
    return f"{type(case.code).__name__}.{case.code.name}"


def test_each_error_is_made_or_it_is_said_why_not() -> None:
    made = {case.code for case in CASES}
    listed = made | set(NOT_MADE)
    assert [str(code) for code in refusals() if code not in listed] == []
    assert [str(code) for code in NOT_MADE if code in made] == []


def test_whatever_an_error_is_raised_with_is_on_the_list() -> None:
    listed = {f"{type(code).__name__}.{code.name}" for code in (*NOT_MADE, *refusals())}
    listed |= {name_of(case) for case in CASES}
    assert sorted(set(raised_with()) - listed) == []


@pytest.mark.parametrize("case", CASES, ids=name_of)
def test_an_error_is_told_in_both_languages_with_what_to_do(case: Case, tmp_path: Path) -> None:
    told = told_of(case, tmp_path)
    assert any(part.means(case.code) for part in told.parts()), told
    for language in ("en", "de"):
        sentence = catalogue(language).say(told)
        print(f"{language}: {sentence}")
        assert len(sentence) > 20
        assert str(told) not in sentence
        assert says_what_to_do(told, language), sentence
        assert told.code.endswith("_faults") or sentence.count("\n") < 2  # one line a fault
    assert catalogue("de").say(told) != catalogue("en").say(told)


@pytest.mark.parametrize("code", refusals(), ids=lambda code: f"{code.value}")
def test_a_german_error_has_no_english_words(code: ReasonCode) -> None:
    sentence = SPELLINGS.sub(" ", PLACES.sub("", catalogue("de").template(code.value)))
    words = {word.lower() for word in re.findall(r"[A-Za-zÄÖÜäöüß]+", sentence)}
    assert words & (ENGLISH - OWN_WORDS_OF_OPTIONS) == set(), sentence
