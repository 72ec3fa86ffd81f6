"""Every target by name, one for each thing that is read; its room is loaded when asked for."""

from __future__ import annotations

from importlib import import_module

from tests.fuzz.target import Target

ROOMS = {
    "parsers": (
        *("edid", "config_space", "kernel_log", "kernel_journal", "csv_rows", "sensor_file"),
        *("pci_names", "worker_pipe", "typed_text"),
    ),
    "files": (
        *("profile", "scenario", "shop_file", "keys", "language", "photo", "recording"),
        "meter_file",
    ),
    "logs": (
        *("ticket_log", "ticket_story", "ticket_sheets", "cold_starts", "bench_log", "signed"),
    ),
    "records": ("record", "record_replay", "record_explain", "record_sheet", "record_resume"),
    "trees": ("sysfs_tree",),
    "batches": ("batch_file", "night_file", "night_queue", "bench_of_several", "letter"),
}
NAMES = tuple(name for names in ROOMS.values() for name in names)


def target(name: str) -> Target:
    """A target by its name; raises KeyError where there is none."""
    for room, names in ROOMS.items():
        if name in names:
            found: tuple[Target, ...] = import_module(f"tests.fuzz.targets.{room}").TARGETS
            return next(one for one in found if one.name == name)
    raise KeyError(name)
