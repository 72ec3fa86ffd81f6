"""What link and error registers say, decoded from their numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from burnin.card.pci import registers as reg
from burnin.card.pci.reasons import ConfigReason
from burnin.core.reading import NotMeasured


@dataclass(frozen=True)
class LinkRegisters:
    """Link capabilities, control and status of one port (PCI Express Base 5.0, 7.5.3.6 to .8, .18
    to .20).

    `bandwidth_managed` is sticky: the port changed speed or width to keep the link reliable, or
    software retrained it. `bandwidth_autonomous`: changed for another cause, such as saving power.
    Both are fixed at zero in an endpoint.
    """

    max_speed_gts: float | NotMeasured
    max_width_lanes: int | NotMeasured
    speed_gts: float | NotMeasured
    width_lanes: int | NotMeasured
    training: bool
    active: bool | NotMeasured
    bandwidth_managed: bool
    bandwidth_autonomous: bool
    disabled: bool
    width_fixed: bool
    aspm: str
    target_speed_gts: float | NotMeasured
    supported_speeds_gts: tuple[float, ...] | NotMeasured


@dataclass(frozen=True)
class ErrorStatus:
    """Advanced error reporting: sticky status bits by name, and those masked from reporting."""

    uncorrectable: tuple[str, ...]
    correctable: tuple[str, ...]
    uncorrectable_masked: tuple[str, ...]
    correctable_masked: tuple[str, ...]


@dataclass(frozen=True)
class Equalization:
    """How far equalisation at one speed came; `states` names the bits that are set."""

    speed_gts: float
    complete: bool
    states: tuple[str, ...]


@dataclass(frozen=True)
class LaneMargining:
    """The margining capability of a port (PCI Express Base 4.0, 7.7.7): where, and how ready."""

    offset: int
    uses_driver_software: bool
    ready: bool
    software_ready: bool


def set_bits(bits: Mapping[int, str], value: int) -> tuple[str, ...]:
    """Names of the bits that are set, in their order."""
    return tuple(name for bit, name in bits.items() if value & bit)


def lanes_of(value: int) -> tuple[int, ...]:
    """Numbers of the lanes whose bit is set."""
    return tuple(lane for lane in range(32) if value >> lane & 1)


def speed_of(code: int) -> float | NotMeasured:
    """Speed in GT/s behind a speed code."""
    speed = reg.SPEED_BY_CODE_GTS.get(code)
    return NotMeasured(ConfigReason.SPEED_UNDEFINED(speed_code=code)) if speed is None else speed


def width_of(register: int) -> int | NotMeasured:
    """Lanes in bits 9:4 of Link Capabilities or Link Status."""
    lanes = (register & reg.EXP_LNKSTA_WIDTH) >> reg.EXP_LNKSTA_WIDTH_SHIFT
    if lanes in reg.WIDTHS_LANES:
        return lanes
    if lanes == 0:
        return NotMeasured(ConfigReason.NO_LINK())
    return NotMeasured(ConfigReason.WIDTH_RESERVED(lanes=lanes))


def decode_link(
    capabilities: int,
    control: int,
    status: int,
    supported_speeds_gts: tuple[float, ...] | NotMeasured,
    target_speed_gts: float | NotMeasured,
) -> LinkRegisters:
    """Link Capabilities, Control and Status decoded, beside what the second registers say."""
    active: bool | NotMeasured = bool(status & reg.EXP_LNKSTA_ACTIVE)
    if not capabilities & reg.EXP_LNKCAP_ACTIVE_REPORTING:
        active = NotMeasured(ConfigReason.ACTIVE_UNREPORTED())
    return LinkRegisters(
        max_speed_gts=speed_of(capabilities & reg.EXP_LNKCAP_SPEED),
        max_width_lanes=width_of(capabilities),
        speed_gts=speed_of(status & reg.EXP_LNKSTA_SPEED),
        width_lanes=width_of(status),
        training=bool(status & reg.EXP_LNKSTA_TRAINING),
        active=active,
        bandwidth_managed=bool(status & reg.EXP_LNKSTA_MANAGED),
        bandwidth_autonomous=bool(status & reg.EXP_LNKSTA_AUTONOMOUS),
        disabled=bool(control & reg.EXP_LNKCTL_DISABLE),
        width_fixed=bool(control & reg.EXP_LNKCTL_WIDTH_FIXED),
        aspm=("off", "L0s", "L1", "L0s and L1")[control & reg.EXP_LNKCTL_ASPM],
        target_speed_gts=target_speed_gts,
        supported_speeds_gts=supported_speeds_gts,
    )
