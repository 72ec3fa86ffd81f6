"""Every member of the seam of guards, ours and foreign ones, by one convention."""

from __future__ import annotations

import ast
import inspect
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import ValidationError
from pydantic.fields import FieldInfo

import burnin.guard
import burnin.thermal
from burnin.core import seams
from burnin.core.meaning import Code
from burnin.core.sample import Sample, Telemetry
from burnin.guard.factory import GuardFacts, guard_kinds, make_guards
from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.kind import GuardKind
from burnin.guard.meanings import GuardCause, GuardCheck, GuardNote, GuardReason, GuardTerm
from burnin.profile.guards import AddedGuard, Guards
from burnin.report.languages.catalogue import catalogue
from burnin.report.languages.word_files import word_files
from burnin.thermal.meanings import (
    CoolingCause,
    CoolingCheck,
    CoolingTerm,
    RampNote,
    RampReason,
)
from burnin.thermal.states import CANNOT_TELL, Cooling
from tests.guard.added_guard import SAGGING, SaggingClock, installed

ALL_SET = Guards(
    gpu_temp_limit_c=90.0,
    hotspot_temp_limit_c=105.0,
    memory_temp_limit_c=100.0,
    hotspot_delta_limit_k=35.0,
    power_limit_w=500.0,
    answers_from_w=80.0,
    forecast=True,
    cooling="fans",
)
UNITS = ("_c", "_k", "_s", "_w", "_j", "_mhz", "_c_per_s", "_pct")
LANGUAGES = ("en", "de")
CODES: tuple[type[Code], ...] = (
    GuardReason, GuardCause, GuardCheck, GuardNote, GuardTerm, CoolingTerm, CoolingCause,
    CoolingCheck, RampNote, RampReason,
)  # fmt: skip
KINDS = [pytest.param(kind, id=kind.name) for kind in guard_kinds()]


def table(language: str, name: str) -> dict[str, str]:
    """One table of all word files of a language."""
    found: dict[str, str] = {}
    for file in word_files(language):
        found |= tomllib.loads(file.read_text(encoding="utf-8")).get(name, {})
    return found


def numbers(kind: GuardKind[AddedGuard]) -> Iterator[tuple[str, FieldInfo]]:
    """Fields that hold a number."""
    for name, field in kind.settings.model_fields.items():
        if "float" in str(field.annotation) or "int" in str(field.annotation):
            yield name, field


def test_ours_are_registered_under_their_own_names() -> None:
    names = [kind.name for kind in guard_kinds()]
    assert set(names) == set(seams.names("guards"))
    assert {"lost_card", "stale_data", "forecast", "gpu_limit", "heat_throttle"} <= set(names)
    assert names[0] == "lost_card"


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_says_what_it_is_from_and_what_may_be_set(kind: GuardKind[AddedGuard]) -> None:
    assert len(kind.rule_from) > 10
    assert inspect.getdoc(kind.settings)
    for name, field in numbers(kind):
        assert name.endswith(UNITS), f"{name} has no unit in its name"
        assert field.description, f"{name} has no description"
        bounds = str([*field.metadata, field.annotation])
        assert "Ge(" in bounds or "Gt(" in bounds, f"{name} has no least"
        assert "Le(" in bounds, f"{name} has no most"
    for fact in kind.heeds:
        assert hasattr(GuardFacts(), fact)


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_makes_a_guard_with_a_name_in_every_language(kind: GuardKind[AddedGuard]) -> None:
    fields = kind.settings.model_fields
    said = kind.settings.model_validate({name: getattr(ALL_SET, name) for name in fields})
    guard = kind.build(said, GuardFacts())
    assert guard is not None
    assert inspect.getdoc(type(guard))
    assert guard.expectation() is None
    assert guard.judge(Sample(0.0, "", "x", Telemetry(gpu_temp_c=30.0, power_w=20.0))) is None
    for language in LANGUAGES:
        assert guard.name in table(language, "words")


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("codes", CODES)
def test_each_code_has_a_sentence_with_all_its_places(
    codes: type[Code], language: str
) -> None:
    says = table(language, "says")  # of this language alone: no other stands in
    for code in codes:
        assert code.value in says, f"{code.value} has no words in {language}"
        for field in code.fields:
            unsaid = code is GuardTerm.WITHIN_SECONDS
            assert ("{" + field in says[code.value]) != unsaid, f"{code.value}: {field}"


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_words_of_records_for_the_cooling_are_worded_like_its_terms(language: str) -> None:
    words = catalogue(language)
    for state in (*Cooling, CANNOT_TELL):
        assert words.word(str(state)) == words.say(CoolingTerm[state.name]())


def test_a_guard_of_another_package_is_registered_and_asked_for_the_same_way(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with installed(monkeypatch):
        table = {"guard": "sagging_clock", "core_clock_least_mhz": 900.0}
        settings = Guards.model_validate({"gpu_temp_limit_c": 90.0, "added": [table]})
        fitted = make_guards(settings)
        assert any(isinstance(guard, SaggingClock) for guard in fitted.guards)
        assert fitted.settings()["sagging_clock"]["core_clock_least_mhz"] == 900.0
        slow = Telemetry(gpu_temp_c=50.0, power_w=200.0, core_clock_mhz=700.0)
        trip = fitted.judge(Sample(0.0, "", "x", slow, 1.0))
        assert trip is not None
        assert trip.guard == "sagging clock"
        back = Guards.model_validate_json(settings.model_dump_json())
        assert back == settings
        assert "sagging_clock" in str(Guards.model_json_schema()["properties"]["added"])
        assert SAGGING in guard_kinds()
    assert all(kind.name != "sagging_clock" for kind in guard_kinds())


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ({"guard": "sagging_clock", "core_clock_least_mhz": -5.0}, "core_clock_least_mhz"),
        ({"guard": "no_such"}, "no guard named 'no_such'"),
        ({"core_clock_least_mhz": 5.0}, "no guard named None"),
    ],
)
def test_what_an_added_guard_cannot_be_given_is_told(
    monkeypatch: pytest.MonkeyPatch, table: dict[str, object], told: str
) -> None:
    with (
        installed(monkeypatch),
        pytest.raises(ValidationError, match=told),
    ):
        Guards.model_validate({"gpu_temp_limit_c": 90.0, "added": [table]})


def test_facts_go_before_the_profile_and_what_nobody_reads_is_not_foreseen() -> None:
    told = make_guards(ALL_SET, GuardFacts(die_limit_c=70.0)).settings()
    assert told["gpu_limit"]["gpu_temp_limit_c"] == 70.0
    assert told["forecast"]["gpu_temp_limit_c"] == 70.0
    blind = make_guards(ALL_SET, GuardFacts(hotspot_seen=False)).forecast
    sees = make_guards(ALL_SET, GuardFacts(hotspot_seen=True)).forecast
    assert isinstance(blind, ForecastGuard)
    assert isinstance(sees, ForecastGuard)
    assert blind.watch.setup.limits.hotspot_c is None
    assert sees.watch.setup.limits.hotspot_c == 104.5
    assert sees.watch.setup.limits.die_c == 89.5


@pytest.mark.parametrize("room", [burnin.guard, burnin.thermal])
def test_no_two_files_of_a_room_need_each_other(room: object) -> None:
    folder = Path(inspect.getfile(room)).parent  # type: ignore[arg-type]
    name = folder.name
    needs = {file.stem: set(_imported(file, f"burnin.{name}.")) for file in folder.glob("*.py")}
    assert len(needs) > 8
    found = {(a, b) for a in needs for b in _reached(a, needs) if a in _reached(b, needs)}
    assert not found


def _imported(file: Path, prefix: str) -> Iterator[str]:
    """Modules of the room that a file imports, also for types alone."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            if node.module.startswith(prefix):
                yield node.module.removeprefix(prefix).split(".")[0]
            elif node.module + "." == prefix:
                yield from (alias.name for alias in node.names)


def _reached(start: str, needs: dict[str, set[str]]) -> set[str]:
    found: set[str] = set()
    ahead = list(needs.get(start, ()))
    while ahead:
        at = ahead.pop()
        if at not in found:
            found.add(at)
            ahead += needs.get(at, ())
    return found
