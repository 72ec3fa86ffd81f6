"""A source of a shop's own, and a card of which a value is offered by nobody."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import fields
from pathlib import Path
from typing import cast

import pytest

from burnin.card.absent import AbsentCard
from burnin.card.capabilities import Card, Link
from burnin.card.meanings import CardReason
from burnin.card.merge import MergedBench
from burnin.card.merged_card import MergedCard
from burnin.card.source import (
    BEST,
    LINK_NAMES,
    TEXT_NAMES,
    USUAL,
    VALUE_NAMES,
    WHOLE_NAMES,
    CardPlace,
    Reader,
    SensorSource,
    Value,
)
from burnin.card.sources.linux import SOURCE as LINUX
from burnin.card.sources.linux_card import LinuxCard
from burnin.card.sources.meanings import LinuxReason
from burnin.core.errors import NoCard
from burnin.core.meaning import Meaning, Reason, Source, SourceCode
from burnin.core.reading import NotMeasured
from burnin.core.sample import TELEMETRY_NAMES, Slowdown
from burnin.report.languages.catalogue import catalogue
from tests.card.sysfs_tree import CARD, CORVANE, SysfsTree, corvane_bench


class ProbeSource(SourceCode):
    PROBE = "test_thermocouple"


class Thermocouple:
    """A reader that knows what it is given, and nothing else of a card."""

    def __init__(self, values: Mapping[str, object], rank: int = BEST) -> None:
        self._values = values
        self.offers = dict.fromkeys(values, rank)
        self.asked: list[str] = []

    def read(self, names: Collection[str]) -> Mapping[str, Value | NotMeasured]:
        self.asked += names
        if any(isinstance(self._values[name], Exception) for name in names):
            raise RuntimeError("cable off")
        told = {name: self._values[name] for name in names if self._values[name] is not None}
        return cast("Mapping[str, Value | NotMeasured]", told)  # and what a source should not

    def source(self, name: str) -> Source:  # noqa: ARG002
        return ProbeSource.PROBE()

    def present(self) -> bool:
        return True


class Shop:
    """A source with a reader for one card, by its address."""

    name = "shop"

    def __init__(self, address: str, reader: Reader) -> None:
        self._address, self._reader = address, reader

    def probe(self, place: CardPlace) -> Reader | NotMeasured:
        if place.address != self._address:
            return NotMeasured(LinuxReason.NO_SENSORS())
        return self._reader


@pytest.fixture
def tree(tmp_path: Path) -> SysfsTree:
    return corvane_bench(tmp_path)


def with_shop(tree: SysfsTree, reader: Reader, address: str = CARD) -> MergedCard:
    sources: dict[str, SensorSource] = {"linux": LINUX, "shop": Shop(address, reader)}
    (card,) = MergedBench(tree.files, sources).cards()
    return card


def some_value(name: str) -> Value:
    if name == "throttle_reasons":
        return (Slowdown.HEAT,)
    if name in TEXT_NAMES:
        return f"the shop's {name}"
    return 77 if name in WHOLE_NAMES else 77.5


@pytest.mark.parametrize("name", VALUE_NAMES)
def test_it_can_offer_any_value_of_a_card(tree: SysfsTree, name: str) -> None:
    card = with_shop(tree, Thermocouple({name: some_value(name)}))
    told: dict[str, object] = {
        "free_memory_bytes": card.free_memory_bytes(),
        "fan_count": card.fan_count(),
    }
    for whole in (
        card.telemetry(),
        card.identity(),
        card.temperature_limits(),
        card.ratings(),
    ):
        told |= {field.name: getattr(whole, field.name) for field in fields(whole)}
    assert told[name] == some_value(name)
    assert card.sources()[name] == ProbeSource.PROBE()


def test_the_reader_that_knows_a_value_best_is_asked_first(tree: SysfsTree) -> None:
    worse = Thermocouple({"gpu_temp_c": 20.0}, rank=USUAL - 1)
    assert with_shop(tree, worse).telemetry().gpu_temp_c == 54.0
    assert worse.asked == [], "the kernel's file measured it, so nobody else is asked"
    tree.write(f"/sys/bus/pci/devices/{CARD}/hwmon/hwmon3/temp1_input", "garbage")
    assert with_shop(tree, worse).telemetry().gpu_temp_c == 20.0


def test_another_card_is_not_read_by_it(tree: SysfsTree) -> None:
    card = with_shop(tree, Thermocouple({"gpu_temp_c": 20.0}), address="0000:09:00.0")
    assert card.telemetry().gpu_temp_c == 54.0
    assert card.left_out == {"shop": NotMeasured(LinuxReason.NO_SENSORS())}


def test_what_goes_wrong_in_a_source_costs_its_own_values_alone(tree: SysfsTree) -> None:
    card = with_shop(tree, Thermocouple({"gpu_temp_c": RuntimeError(), "uuid": None}))
    told = card.telemetry()
    assert told.gpu_temp_c == 54.0, "the kernel still tells it"
    assert told.hotspot_temp_c == 67.5
    silent = CardReason.SOURCE_KEPT_SILENT(source="shop", value="uuid")
    assert card.identity().uuid == NotMeasured(silent)
    raising = with_shop(tree, Thermocouple({"uuid": RuntimeError()}))
    raised = CardReason.SOURCE_RAISED(source="shop", error="RuntimeError", words="cable off")
    assert raising.identity().uuid == NotMeasured(raised)


@pytest.mark.parametrize("wrong", ["warm", True, float("nan"), b"1", (1.0,)])
def test_a_value_of_the_wrong_kind_is_not_measured(tmp_path: Path, wrong: object) -> None:
    tree = SysfsTree(tmp_path)
    tree.function(CARD, vendor="0xf5a7", **{"class": "0x030000"})
    told = with_shop(tree, Thermocouple({"memory_temp_c": wrong})).telemetry().memory_temp_c
    assert isinstance(told, NotMeasured)
    assert told.reason.means(CardReason.WRONG_KIND)


class Raising:
    name = "shop"

    def probe(self, place: CardPlace) -> Reader | NotMeasured:  # noqa: ARG002
        raise OSError("no such port")


def test_a_source_that_fails_to_look_is_left_out(tree: SysfsTree) -> None:
    (card,) = MergedBench(tree.files, {"linux": LINUX, "shop": Raising()}).cards()
    left_out = card.left_out["shop"]
    assert left_out.reason == CardReason.SOURCE_RAISED(
        source="shop", error="OSError", words="no such port"
    )
    assert card.telemetry().gpu_temp_c == 54.0


# --- what nobody offers ---------------------------------------------------------------------

NOBODY: dict[str, Callable[[Card], object]] = {
    "configuration_space": lambda card: card.configuration_space(),
    "configuration_space at the card": lambda card: card.configuration_space_at("card"),
    "configuration_space at the port": lambda card: card.configuration_space_at("port"),
    "link": lambda card: card.link().port,
    "error_counters": lambda card: card.error_counters(),
    "free_memory_bytes": lambda card: card.free_memory_bytes(),
    "memory_errors": lambda card: card.memory_errors(),
    "outputs": lambda card: card.outputs(),
}
SIMPLE = {name: name.split()[0] for name in NOBODY}


def unread_card(tmp_path: Path) -> MergedCard:
    """A card that no source has a reader of."""
    place = CardPlace(SysfsTree(tmp_path).files, CARD, CORVANE)
    return MergedCard(place, {}, {"shop": NotMeasured(LinuxReason.NO_SENSORS())})


def nobody_offers(value: str) -> Reason:
    return CardReason.NOT_OFFERED_BECAUSE(
        value=value, sources=("shop",), reasons=(LinuxReason.NO_SENSORS(),)
    )


@pytest.mark.parametrize("what", NOBODY)
def test_a_capability_that_nobody_offers_says_so(tmp_path: Path, what: str) -> None:
    assert NOBODY[what](unread_card(tmp_path)) == NotMeasured(nobody_offers(SIMPLE[what]))


def test_every_single_value_that_nobody_offers_says_so(tmp_path: Path) -> None:
    card = unread_card(tmp_path)
    telemetry, limits, link = card.telemetry(), card.temperature_limits(), card.link()
    for name in TELEMETRY_NAMES:
        assert getattr(telemetry, name) == NotMeasured(nobody_offers(name))
    for name in ("slowdown_c", "shutdown_c", "memory_max_c"):
        assert getattr(limits, name) == NotMeasured(nobody_offers(name))
    for name in LINK_NAMES:
        assert getattr(link.card, name) == NotMeasured(nobody_offers("link"))
    assert card.sources() == {}


def test_an_identity_that_nobody_reads_is_numbers_of_0_and_reasons(tmp_path: Path) -> None:
    identity = unread_card(tmp_path).identity()
    assert (identity.address, identity.vendor_id) == (CARD, CORVANE)
    assert (identity.device_id, identity.class_code, identity.bars) == (0, 0, ())
    others = {f.name for f in fields(identity)} - {
        *("address", "vendor_id", "device_id", "class_code", "bars", "simulated"),
    }
    assert len(others) == 12
    for name in others:
        assert getattr(identity, name) == NotMeasured(nobody_offers(name))


@pytest.mark.parametrize("language", ["en", "de"])
def test_what_nobody_offers_has_words(language: str) -> None:
    words = catalogue(language)
    for reason in (
        nobody_offers("uuid"),
        CardReason.NOT_OFFERED(value="uuid", sources=("linux",)),
    ):
        assert words.reading("uuid") in words.say(reason)
        assert words.say(reason) != str(reason)


WHY = LinuxReason.NO_DRIVER()


def test_a_card_that_is_not_there_gives_its_reason_for_every_capability() -> None:
    card: Card = AbsentCard(WHY)
    why = NotMeasured(WHY)
    for ask in NOBODY.values():
        assert ask(card) == why
    telemetry, limits, link = card.telemetry(), card.temperature_limits(), card.link()
    assert isinstance(link, Link)
    assert {getattr(telemetry, name) for name in TELEMETRY_NAMES} == {why}
    assert {limits.slowdown_c, limits.shutdown_c, limits.memory_max_c} == {why}
    assert {getattr(link.card, name) for name in LINK_NAMES} == {why}
    assert not card.present()
    assert card.sources() == {}
    with pytest.raises(NoCard) as raised:
        card.identity()
    assert isinstance(raised.value.told, Meaning)
    assert raised.value.told == WHY


def test_a_linux_card_offers_what_it_answers(tree: SysfsTree) -> None:
    card = LinuxCard(tree.files, CARD)
    told = card.read([name for name in card.offers if name in VALUE_NAMES])
    assert set(told) == set(VALUE_NAMES) - {"uuid"}
    for name, source in card.sources().items():
        assert not isinstance(told[name], NotMeasured)
        assert catalogue("en").knows(source.code)
