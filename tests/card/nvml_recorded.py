"""NVML as one real card answered it: the recorded answers behind the library's own functions.

The library itself runs only beside a card and its driver, so tests ask this recording.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import Any

DATA = Path(__file__).parents[1] / "data"
NOT_SUPPORTED, GPU_IS_LOST, FUNCTION_NOT_FOUND, NOT_FOUND = 3, 15, 13, 6
UNSIGNED_INT, UNSIGNED_LONG_LONG = 1, 3

COUNTER_FIELDS = {
    "REPLAY": 94,
    "L0_TO_RECOVERY": 169,
    "CORRECTABLE_ERRORS": 173,
    "NAKS_RECEIVED": 174,
    "RECEIVER_ERROR": 175,
    "BAD_TLP": 176,
    "NAKS_SENT": 177,
    "BAD_DLLP": 178,
    "NON_FATAL_ERROR": 179,
    "FATAL_ERROR": 180,
    "UNSUPPORTED_REQ": 181,
    "LCRC_ERROR": 182,
    "LANE_ERROR": 183,
    "TX_BYTES": 197,
    "RX_BYTES": 198,
}


class NVMLError(Exception):
    """As the library raises it: the code is in `value`."""

    def __init__(self, value: int) -> None:
        super().__init__(str(value))
        self.value = value


class RecordedNvml:
    """Answers every question that the recording answers; the others are not supported.

    `fail_with` makes every question fail with that code. `asked` lists the questions.
    """

    NVMLError = NVMLError

    def __init__(self) -> None:
        told = json.loads((DATA / "nvml_answers.json").read_text())
        counters = json.loads((DATA / "link_counters.json").read_text())
        self.asked: list[str] = []
        self.fail_with = 0
        self.absent: set[str] = set()
        link, temperature = told["link"], told["temperature"]
        self.answers: dict[tuple[object, ...], Any] = {
            ("nvmlSystemGetDriverVersion",): "580.159.04",
            ("nvmlSystemGetNVMLVersion",): "13.580.159.04",
            ("nvmlDeviceGetName",): told["name"],
            ("nvmlDeviceGetUUID",): told["uuid"],
            ("nvmlDeviceGetSerial",): told["serial"],
            ("nvmlDeviceGetVbiosVersion",): told["vbios"],
            ("nvmlDeviceGetMemoryInfo",): SimpleNamespace(
                total=told["memory_total_bytes"], free=told["memory_free_bytes"]
            ),
            ("nvmlDeviceGetPowerUsage",): told["power"]["usage_mw"],
            ("nvmlDeviceGetCurrPcieLinkGeneration",): link["current_generation"],
            ("nvmlDeviceGetCurrPcieLinkWidth",): link["current_width"],
            ("nvmlDeviceGetMaxPcieLinkGeneration",): link["max_generation"],
            ("nvmlDeviceGetGpuMaxPcieLinkGeneration",): link["gpu_max_generation"],
            ("nvmlDeviceGetMaxPcieLinkWidth",): link["max_width"],
            ("nvmlDeviceGetTemperature", 0): temperature["gpu_c"],
            ("nvmlDeviceGetTemperatureThreshold", 0): temperature["threshold_shutdown_c"],
            ("nvmlDeviceGetTemperatureThreshold", 1): temperature["threshold_slowdown_c"],
            ("nvmlDeviceGetTemperatureThreshold", 2): temperature["threshold_memory_max_c"],
            ("nvmlDeviceGetNumFans",): told["fans"],
            ("nvmlDeviceGetClockInfo", 0): 1980,
            ("nvmlDeviceGetClockInfo", 2): 2619,
            ("nvmlDeviceGetUtilizationRates",): SimpleNamespace(gpu=100, memory=40),
            ("nvmlDeviceGetCurrentClocksEventReasons",): 4,
        }
        self.fields: dict[int, tuple[int, int]] = {
            COUNTER_FIELDS[name]: (value, UNSIGNED_INT)
            for name, value in counters["after"].items()
        }
        self.fields |= {
            82: (temperature["memory_c"], UNSIGNED_INT),
            83: (91_234_567, UNSIGNED_LONG_LONG),
            185: (691_000, UNSIGNED_INT),
            186: (70_265, UNSIGNED_INT),
            3: (0, UNSIGNED_LONG_LONG),
            4: (0, UNSIGNED_LONG_LONG),
        }

    def nvmlDeviceGetHandleByPciBusId(self, address: str) -> str:  # noqa: N802
        if self.fail_with or address != "0000:00:06.0":
            raise NVMLError(self.fail_with or NOT_FOUND)
        return "handle"

    def nvmlDeviceGetFieldValues(  # noqa: N802
        self, _handle: str, ids: Sequence[int]
    ) -> list[SimpleNamespace]:
        self.asked.append(f"fields {sorted(ids)}")
        if self.fail_with:
            raise NVMLError(self.fail_with)
        return [self._field(field_id) for field_id in ids]

    def _field(self, field_id: int) -> SimpleNamespace:
        value, kind = self.fields.get(field_id, (0, UNSIGNED_INT))
        member = {UNSIGNED_INT: "uiVal", UNSIGNED_LONG_LONG: "ullVal"}[kind]
        return SimpleNamespace(
            nvmlReturn=0 if field_id in self.fields else NOT_SUPPORTED,
            valueType=kind,
            value=SimpleNamespace(**{member: value}),
        )

    def __getattr__(self, name: str) -> Any:
        if not name.startswith("nvml") or name in self.absent:
            raise AttributeError(name)

        def ask(*arguments: object) -> Any:
            self.asked.append(name)
            if self.fail_with:
                raise NVMLError(self.fail_with)
            key = (name, *arguments[1:])
            if key not in self.answers:
                raise NVMLError(NOT_SUPPORTED)
            return self.answers[key]

        return ask
