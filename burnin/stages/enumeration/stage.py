"""Enumeration: the card is on the bus, as itself, with its memory and its driver."""

from __future__ import annotations

from burnin.card.card import Bar, Identity
from burnin.core.reading import Limit, NotMeasured, Reading, judge, judge_text, known
from burnin.profile.model import Enumeration
from burnin.stages.context import StageContext

_GIB = 1 << 30


def carry_out(context: StageContext, settings: Enumeration) -> None:
    """Read the identity once and judge it against the profile."""
    identity = context.card.identity()
    expected = float(settings.cards_expected)
    context.take(
        judge(
            "cards_found",
            float(context.cards_found),
            "",
            Limit(expected, expected),
            source="PCI classes 0x03 and 0x12 on this bench",
            why_fail=f"{context.cards_found} cards found, {settings.cards_expected} expected",
        )
    )
    for reading in _ids(identity, settings):
        context.take(reading)
    context.take(_memory(identity, settings))
    context.take(
        judge_text("bars", _bars(identity.bars), None, source="sysfs resource", required=False)
    )
    context.take(_driver(identity, settings))
    context.take(
        judge_text(
            "firmware_version",
            identity.firmware_version,
            settings.firmware_versions or None,
            required=bool(settings.firmware_versions),
        )
    )
    context.take(_name(identity))
    _configuration_space(context, identity)


def _ids(identity: Identity, settings: Enumeration) -> list[Reading]:
    class_code = f"0x{identity.class_code >> 8 & 0xFFFF:04x}"
    subsystem = known(identity.subsystem_vendor_id), known(identity.subsystem_id)
    subsystem_id: str | NotMeasured
    if subsystem[0] is None or subsystem[1] is None:
        subsystem_id = NotMeasured("the card shows no subsystem id")
    else:
        subsystem_id = f"0x{subsystem[1]:04x}"
    source = "PCI configuration space"
    return [
        judge_text(
            "vendor_id", f"0x{identity.vendor_id:04x}", settings.vendor_ids or None, source=source
        ),
        judge_text(
            "device_id", f"0x{identity.device_id:04x}", settings.device_ids or None, source=source
        ),
        judge_text(
            "subsystem_id",
            subsystem_id,
            settings.subsystem_ids or None,
            source=source,
            required=bool(settings.subsystem_ids),
        ),
        judge_text(
            "class_code",
            class_code,
            settings.class_codes,
            source=source,
            why_fail=f"class {class_code} is none of a graphics or compute card",
        ),
    ]


def _memory(identity: Identity, settings: Enumeration) -> Reading:
    size = identity.memory_bytes
    gib = NotMeasured(size.reason) if isinstance(size, NotMeasured) else size / _GIB
    floor = settings.memory_at_least_gib
    limit = None if floor is None else Limit(lower=floor)
    return judge("memory_gib", gib, "GiB", limit, required=floor is not None)


def _bars(bars: tuple[Bar, ...]) -> str | NotMeasured:
    if not bars:
        return NotMeasured("the system assigned no address window to the card")
    return ", ".join(f"BAR{bar.number} {_size(bar.size_bytes)}" for bar in bars)


def _size(size_bytes: int) -> str:
    for unit, name in ((_GIB, "GiB"), (1 << 20, "MiB"), (1 << 10, "KiB")):
        if size_bytes >= unit:
            return f"{size_bytes / unit:g} {name}"
    return f"{size_bytes} B"


def _driver(identity: Identity, settings: Enumeration) -> Reading:
    driver = identity.driver
    if isinstance(driver, NotMeasured) and settings.driver_needed:
        return judge_text(
            "driver", driver, None, source="sysfs driver link"
        )
    return judge_text("driver", driver, None, source="sysfs driver link", required=False)


def _name(identity: Identity) -> Reading:
    return judge_text("card_name", identity.name, None, required=False)


def _configuration_space(context: StageContext, identity: Identity) -> None:
    """The ids that the system read at start-up must still be what the card answers now."""
    space = context.card.configuration_space()
    if isinstance(space, NotMeasured):
        context.take(judge_text("identity_holds", space, None, required=False))
        return
    vendor_id, device_id = known(space.vendor_id), known(space.device_id)
    if vendor_id is None or device_id is None:
        reason = NotMeasured("the configuration space is too short to hold the ids")
        context.take(judge_text("identity_holds", reason, None, required=False))
        return
    now = f"{vendor_id:04x}:{device_id:04x}"
    then = f"{identity.vendor_id:04x}:{identity.device_id:04x}"
    context.take(
        judge_text(
            "identity_holds",
            now,
            (then,),
            source="PCI configuration space, read again",
            why_fail=f"the card enumerated as {then} and now answers {now}",
        )
    )
