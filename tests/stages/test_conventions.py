"""What every registered kind of stage must bring, a shop's own as much as ours."""

from __future__ import annotations

import importlib
import inspect
import math
import pkgutil
import re
import types
from collections.abc import Iterator
from typing import Any

import pytest

from burnin.core.meaning import Code
from burnin.profile.stage_settings import StageSettings
from burnin.report.languages.catalogue import catalogue, language_names
from burnin.stages.kind import StageKind
from burnin.stages.registry import stage_kinds
from tests.stages.on_bench import SHORT, settings_of

KINDS = stage_kinds()
UNITS = ("_c", "_k", "_s", "_w", "_j", "_gib", "_lanes", "_k_per_s", "_k_per_w", "_w_per_s",
         "_pct", "_rpm", "_mhz", "_gts", "_gbs", "_v", "_ohm", "_bytes")
DIMENSIONLESS = ("share", "rate", "duty", "seed", "passes", "generation", "errors", "outputs")
COUNTS = ("starts", "reseats", "cards_expected", "power_plugs")
COMMON = frozenset(StageSettings.model_fields)

kinds = pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)


def module_of(kind: StageKind) -> types.ModuleType:
    """The package in which the kind is registered: its settings lie in it."""
    return importlib.import_module(kind.settings.__module__.rpartition(".")[0])


def modules_of(kind: StageKind) -> Iterator[types.ModuleType]:
    package = module_of(kind)
    yield package
    for found in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
        yield importlib.import_module(found.name)


def codes_of(kind: StageKind) -> set[str]:
    """Every code that a module of the kind defines."""
    return {
        member.value
        for module in modules_of(kind)
        for _, found in inspect.getmembers(module, inspect.isclass)
        if issubclass(found, Code) and found.__module__ == module.__name__
        for member in found
    }


def numbers_of(schema: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Name and schema of every field that is a number, of sub-tables too."""
    for table in (schema, *schema.get("$defs", {}).values()):
        for name, field in table.get("properties", {}).items():
            for option in field.get("anyOf", [field]):
                if option.get("type") in ("number", "integer"):
                    yield name, option


def test_ten_kinds_are_ours() -> None:
    assert set(SHORT) <= set(KINDS)
    assert len(SHORT) == 10


@kinds
def test_numbers_have_units_in_their_names_and_bounds_in_the_schema(kind: StageKind) -> None:
    numbers = list(numbers_of(kind.settings.model_json_schema()))
    assert numbers
    for name, option in numbers:
        named = name.endswith(UNITS) or name in COUNTS
        assert named or any(part in name for part in DIMENSIONLESS), name
        if "enum" in option or "const" in option:
            continue
        assert option.keys() & {"minimum", "exclusiveMinimum"}, f"{name} has no lower bound"
        assert option.keys() & {"maximum", "exclusiveMaximum"}, f"{name} has no upper bound"


@kinds
def test_every_code_has_words_in_every_language(kind: StageKind) -> None:
    codes = codes_of(kind)
    assert codes
    assert len(language_names()) >= 2
    for language in language_names():
        words = catalogue(language)
        missing = [code for code in sorted(codes) if not words.knows(code)]
        assert not missing
        assert words.knows(f"stage_{kind.name}")
        assert words.knows(f"stage_{kind.name}_asks")


@kinds
def test_words_have_a_place_for_nothing_that_their_code_does_not_bring(kind: StageKind) -> None:
    members = {
        member.value: set(member.fields)
        for module in modules_of(kind)
        for _, found in inspect.getmembers(module, inspect.isclass)
        if issubclass(found, Code) and found.__module__ == module.__name__
        for member in found
    }
    for language in language_names():
        for code, fields in members.items():
            template = catalogue(language).template(code)
            places = set(re.findall(r"\{(\w+)", template))
            assert places <= fields, f"{code} in {language}: {places - fields}"


@kinds
def test_each_says_whose_rule_it_judges_by_and_how_to_read_it(kind: StageKind) -> None:
    told = module_of(kind).__doc__ or ""
    assert "Start with" in told
    assert "Rule:" in told
    assert len(kind.rule_from) > 20
    for module in modules_of(kind):
        assert module.__doc__, module.__name__


@kinds
def test_each_says_whether_it_warms_the_card_and_how_long_it_takes(kind: StageKind) -> None:
    assert isinstance(kind.works, bool)
    assert isinstance(kind.needs_card, bool)
    expected_s = kind.expected_s(settings_of(kind))
    assert math.isfinite(expected_s)
    assert expected_s >= 0.0


@kinds
def test_capabilities_are_protocols_of_a_card(kind: StageKind) -> None:
    for capability in kind.capabilities:
        assert getattr(capability, "_is_protocol", False)
        assert capability.__module__ == "burnin.card.capabilities"


@kinds
def test_settings_are_told_apart_by_their_kind_and_keep_what_all_have(kind: StageKind) -> None:
    schema = kind.settings.model_json_schema()
    assert schema["properties"]["stage"]["const"] == kind.name
    assert set(kind.settings.model_fields) >= COMMON
    assert kind.settings.__doc__
    assert schema["additionalProperties"] is False
