"""A real driver's temperature (lm75 at an emulated chip): as it rises, stands still, goes away.

No emulated card has a sensor. So the files below the chip stand in the place of those below the
card; it is the kernel that answers them.
"""

from __future__ import annotations

import fcntl
import os
import struct
import time
from collections.abc import Callable
from ctypes import addressof, c_uint16, create_string_buffer
from pathlib import Path

from burnin.card.capabilities import Card
from burnin.card.files import HostFiles
from burnin.card.merge import open_bench
from burnin.core.clock import WallClock
from burnin.core.reading import NotMeasured
from burnin.guard.factory import make_guards
from burnin.guard.sampler import LoadStopped, Watch
from burnin.profile.loader import load_profile
from burnin.run.guard_facts import facts_of_card
from tests.kernel.guest.place import CARD, DEVICES
from tests.kernel.guest.run_there import PROFILES
from tests.kernel.guest.saying import say, tell_kernel, text, until

CHIP = Path("/sys/bus/i2c/devices/0-0048")
BUS = Path("/sys/bus/i2c/devices/i2c-0")
_SLAVE, _SMBUS = 0x0703, 0x0720
_WRITE, _WORD = 0, 3
_TEMPERATURE = 0
"""Register of the chip (LM75 data sheet); ioctls of linux/i2c-dev.h, linux/i2c.h."""


class ChipFiles(HostFiles):
    """The bench's files, with the chip's sensors in the place of the card's."""

    def _at(self, path: str) -> Path:
        below = f"{DEVICES / CARD}/hwmon"
        return Path(path.replace(below, f"{CHIP}/hwmon", 1) if path.startswith(below) else path)


def set_c(celsius: float) -> None:
    """What the chip measures from now on."""
    steps = round(celsius * 2) & 0x1FF
    word = (steps << 7) & 0xFFFF
    data = c_uint16(((word & 0xFF) << 8) | word >> 8)  # the chip sends the high byte first
    handle = os.open("/dev/i2c-0", os.O_RDWR)
    try:
        fcntl.ioctl(handle, _SLAVE + 3, 0x48)  # forced: the driver has it already
        told = create_string_buffer(
            struct.pack("BBIP", _WRITE, _TEMPERATURE, _WORD, addressof(data))
        )
        fcntl.ioctl(handle, _SMBUS, told)
    finally:
        os.close(handle)


def carry_out() -> None:
    """The reader beside the kernel's file, then the guards over a load that warms the chip."""
    set_c(25.0)
    tell_kernel(BUS / "new_device", "lm75 0x48")
    until(lambda: bool(list(CHIP.glob("hwmon/hwmon*/temp1_input"))))
    for celsius in (25.0, 61.5, -7.0):
        set_c(celsius)
        time.sleep(1.6)  # the driver asks the chip anew after 1.5 s
        told = _card().telemetry().gpu_temp_c
        (file,) = CHIP.glob("hwmon/hwmon*/temp1_input")
        say("temperature", written=celsius, tool=told, kernel=text(file))
    _watched("rises", lambda at_s: set_c(40.0 + 8.0 * at_s))
    set_c(40.0)
    _watched("disappears", _taken_off_after_2_s)
    tell_kernel(BUS / "new_device", "lm75 0x48")


def _taken_off_after_2_s(at_s: float) -> None:
    if at_s > 2.0 and CHIP.exists():
        tell_kernel(BUS / "delete_device", "0x48")


def _card() -> Card:
    (found,) = open_bench(ChipFiles(), this_machine=True).cards()
    return found


def _watched(kind: str, each: Callable[[float], None]) -> None:
    """A load as the guards are told of it, until one ends it or 20 s are over."""
    there, clock = _card(), WallClock()
    guards = load_profile(str(PROFILES / "emulated.toml")).profile.guards
    watch = Watch(
        there, make_guards(guards, facts_of_card(there)), clock, lambda _: None, lambda: False,
        clock.monotonic_s(),
    )  # fmt: skip
    began, highest = time.monotonic(), -273.0
    stopped: LoadStopped | None = None
    while stopped is None and time.monotonic() - began < 20.0:
        each(time.monotonic() - began)
        try:
            sample = watch.look("work", load_share=1.0, load_w=50.0)
            told = sample.telemetry.gpu_temp_c
            highest = max(highest, told) if not isinstance(told, NotMeasured) else highest
        except LoadStopped as stop:
            stopped = stop
        watch.pause()
    say(
        "watched",
        kind=kind,
        after_s=round(time.monotonic() - began, 2),
        highest_c=highest,
        guard=stopped and stopped.trip.guard,
        why=stopped and stopped.trip.reason.as_plain(),
    )
