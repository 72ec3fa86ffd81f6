"""What NVML adds, asked of a recording; what it cannot answer is absent, never zero."""

from __future__ import annotations

import pytest

from burnin.card.source import LINK_NAMES
from burnin.card.sources.meanings import NvmlReason, NvmlSourceOf
from burnin.card.sources.nvml_card import NvmlCard
from burnin.card.sources.nvml_errors import CODES, NvmlError
from burnin.card.sources.nvml_library import open_handle
from burnin.card.sources.nvml_values import slowdowns
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.core.sample import Slowdown
from burnin.report.languages.catalogue import catalogue
from tests.card.nvml_recorded import FUNCTION_NOT_FOUND, GPU_IS_LOST, NOT_SUPPORTED, RecordedNvml

ADDRESS = "0000:00:06.0"


@pytest.fixture
def library() -> RecordedNvml:
    return RecordedNvml()


@pytest.fixture
def card(library: RecordedNvml) -> NvmlCard:
    return NvmlCard(library, open_handle(library, ADDRESS))


def reason(value: object) -> Reason:
    assert isinstance(value, NotMeasured)
    return value.reason


def test_identity_is_as_recorded(card: NvmlCard) -> None:
    asked = ("name", "firmware_version", "memory_bytes", "driver_version")
    assert card.read(asked) == {
        "name": "NVIDIA H100 80GB HBM3",
        "firmware_version": "96.00.DA.00.0C",
        "memory_bytes": 85520809984,
        "driver_version": "580.159.04",
    }


def test_telemetry_is_as_recorded(card: NvmlCard) -> None:
    told = card.telemetry()
    assert told.gpu_temp_c == 34.0
    assert told.memory_temp_c == 37.0
    assert told.power_w == pytest.approx(70.265)  # the instantaneous one, not the average
    assert told.energy_j == pytest.approx(91234.567)
    assert (told.core_clock_mhz, told.memory_clock_mhz) == (1980.0, 2619.0)
    assert told.busy_pct == 100.0
    assert (told.link_speed_gts, told.link_width_lanes) == (32.0, 16)
    assert told.throttle_reasons == (Slowdown.POWER_LIMIT,)
    assert reason(told.hotspot_temp_c) == NvmlReason.NO_HOTSPOT()
    assert reason(told.fan_rpm) == NvmlReason.NO_FAN()
    assert reason(told.fan_pct) == NvmlReason.NO_FAN()


def test_limits_are_as_recorded(card: NvmlCard) -> None:
    limits = card.temperature_limits()
    assert (limits.slowdown_c, limits.shutdown_c, limits.memory_max_c) == (89.0, 95.0, 95.0)


def test_link_is_as_recorded(card: NvmlCard) -> None:
    end = card.link().card
    assert (end.speed_gts, end.width_lanes) == (32.0, 16)
    assert (end.max_speed_gts, end.max_width_lanes) == (32.0, 16)


def test_power_falls_back_to_the_average_and_then_to_the_older_question(
    library: RecordedNvml, card: NvmlCard
) -> None:
    del library.fields[186]
    assert card.telemetry().power_w == pytest.approx(691.0)
    del library.fields[185]
    assert card.telemetry().power_w == pytest.approx(70.265)


def test_counters_carry_where_they_wrap_and_absent_ones_are_absent(
    library: RecordedNvml, card: NvmlCard
) -> None:
    told = card.error_counters()
    assert not isinstance(told, NotMeasured)
    counters = {counter.name: counter for counter in told}
    assert counters["bad TLP"].value == 17
    assert counters["lane error"].value == 41
    assert counters["bytes received"].modulus == 1 << 32
    assert counters["bytes received"].value == 2781052884
    assert counters["bad TLP"].modulus is None
    assert "replay number rollover" not in counters  # the recorded card does not support it
    assert {counter.end for counter in counters.values()} == {"card"}
    assert counters["bad TLP"].source == NvmlSourceOf.FIELD(field_id=176)
    library.fields.clear()
    none = NvmlCard(library, "handle").error_counters()
    assert reason(none) == NvmlReason.NO_LINK_COUNTERS()


def test_memory_errors_are_no_link_errors(card: NvmlCard) -> None:
    memory, link = card.memory_errors(), card.error_counters()
    assert not isinstance(memory, NotMeasured)
    assert not isinstance(link, NotMeasured)
    names = {counter.name for counter in memory}
    assert names == {"corrected since start", "uncorrected since start"}
    assert not names & {counter.name for counter in link}


def test_what_is_not_supported_is_not_asked_again(library: RecordedNvml, card: NvmlCard) -> None:
    library.answers[("nvmlDeviceGetNumFans",)] = 1
    del library.fields[82]
    card.telemetry()
    library.asked.clear()
    told = card.telemetry()
    assert reason(told.fan_pct) == NvmlError.NOT_SUPPORTED()
    assert reason(told.memory_temp_c) == NvmlError.NOT_SUPPORTED()
    assert "nvmlDeviceGetFanSpeed" not in library.asked
    assert "fields [83, 185, 186]" in library.asked


def test_costly_questions_are_not_asked(library: RecordedNvml, card: NvmlCard) -> None:
    card.telemetry()
    card.telemetry()
    asked = [name for name in library.asked if not name.startswith("fields")]
    assert "nvmlDeviceGetPcieThroughput" not in asked
    assert "nvmlDeviceGetTotalEnergyConsumption" not in asked
    assert len(library.asked) <= 2 * 9


def test_a_lost_card_is_gone_and_stays_gone(library: RecordedNvml, card: NvmlCard) -> None:
    assert card.present()
    library.fail_with = GPU_IS_LOST
    told = card.telemetry()
    assert reason(told.gpu_temp_c) == NvmlError.CARD_LOST()
    assert reason(told.power_w) == NvmlError.CARD_LOST()
    assert isinstance(card.error_counters(), NotMeasured)
    assert not card.present()
    library.fail_with = 0
    assert not card.present()


def test_presence_does_not_hang_on_one_question(library: RecordedNvml) -> None:
    del library.answers[("nvmlDeviceGetPowerUsage",)]
    card = NvmlCard(library, "handle")
    assert card.present()
    library.fail_with = GPU_IS_LOST
    assert not card.present()


def test_older_drivers_are_asked_by_the_older_name(library: RecordedNvml, card: NvmlCard) -> None:
    library.absent.add("nvmlDeviceGetCurrentClocksEventReasons")
    library.answers[("nvmlDeviceGetCurrentClocksThrottleReasons",)] = 0x60
    assert card.throttle_reasons() == (Slowdown.HEAT, Slowdown.HARDWARE)


def test_only_what_is_asked_is_read(library: RecordedNvml, card: NvmlCard) -> None:
    library.asked.clear()
    assert card.read(("gpu_temp_c",)) == {"gpu_temp_c": 34.0}
    assert library.asked == ["nvmlDeviceGetTemperature"]
    wanted = set(card.offers) - set(LINK_NAMES)
    assert set(card.read(sorted(wanted))) == wanted


@pytest.mark.parametrize("number", sorted(CODES))
def test_every_error_arrives_with_its_code(library: RecordedNvml, number: int) -> None:
    library.fail_with = number
    why = CODES[number]()
    opened = reason(open_handle(library, ADDRESS))
    assert opened == NvmlReason.CARD_NOT_OPENED(address=ADDRESS, reason=why)
    assert reason(NvmlCard(library, "handle").telemetry().gpu_temp_c) == why
    for language in ("en", "de"):
        assert catalogue(language).knows(why.code)


def test_an_unknown_error_code_is_told_by_its_number(library: RecordedNvml) -> None:
    library.fail_with = 77
    told = reason(NvmlCard(library, "handle").telemetry().gpu_temp_c)
    assert told == NvmlError.UNKNOWN_CODE(number=77)
    assert "error 77" in catalogue("en").say(told)


def test_error_codes_and_field_ids_are_the_librarys_own() -> None:
    # Source: pynvml.py of nvidia-ml-py; only its constants are used, no driver is needed.
    import pynvml

    codes = {
        value: name
        for name, value in vars(pynvml).items()
        if name.startswith("NVML_ERROR_") and isinstance(value, int)
    }
    assert set(CODES) == set(codes)
    assert set(CODES.values()) == set(NvmlError) - {NvmlError.UNKNOWN_CODE}
    assert pynvml.NVML_ERROR_GPU_IS_LOST == GPU_IS_LOST
    assert pynvml.NVML_ERROR_NOT_SUPPORTED == NOT_SUPPORTED
    assert pynvml.NVML_ERROR_FUNCTION_NOT_FOUND == FUNCTION_NOT_FOUND
    assert slowdowns(pynvml.nvmlClocksEventReasonGpuIdle) == ()
    assert slowdowns(pynvml.nvmlClocksEventReasonSwPowerCap) == (Slowdown.POWER_LIMIT,)
    for bits in (
        pynvml.nvmlClocksEventReasonSwThermalSlowdown,
        pynvml.nvmlClocksEventReasonHwThermalSlowdown,
    ):
        assert Slowdown.HEAT in slowdowns(bits)
    assert Slowdown.UNKNOWN not in slowdowns(pynvml.nvmlClocksEventReasonAll)


def test_an_unknown_reason_is_told_as_unknown() -> None:
    assert slowdowns(1 << 20) == (Slowdown.UNKNOWN,)
    assert slowdowns(1 << 20 | 4) == (Slowdown.POWER_LIMIT, Slowdown.UNKNOWN)
