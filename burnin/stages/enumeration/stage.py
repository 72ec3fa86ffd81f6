"""Enumeration: the card is on the bus, as itself, with its memory and its driver."""

from __future__ import annotations

from typing import Protocol

from burnin.card.capabilities import Enumerates, HasConfigurationSpace
from burnin.core.identity import Identity
from burnin.core.reading import Limit, NotMeasured, Reading, judge, judge_text, known
from burnin.stages.context import StageContext
from burnin.stages.enumeration.meanings import EnumerationReason, EnumerationSource
from burnin.stages.enumeration.settings import Enumeration

_GIB = 1 << 30


class Needs(Enumerates, HasConfigurationSpace, Protocol):
    """What enumeration asks of a card."""


def carry_out(context: StageContext[Needs], settings: Enumeration) -> None:
    """Read the identity once and judge it against the profile."""
    identity = context.card.identity()
    expected = float(settings.cards_expected)
    context.take(
        judge(
            "cards_found",
            float(context.cards_found),
            "",
            Limit(lower=expected),  # other cards of the host are expected
            source=EnumerationSource.BUS_CLASSES(),
            why_fail=EnumerationReason.CARDS_FOUND(
                found_count=context.cards_found, expected_count=settings.cards_expected
            ),
        )
    )
    for reading in _ids(identity, settings):
        context.take(reading)
    context.take(_memory(identity, settings))
    context.take(
        judge_text(
            "bars",
            _bars(identity),
            None,
            source=EnumerationSource.RESOURCE_FILE(),
            required=False,
        )
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
    context.take(judge_text("card_name", identity.name, None, required=False))
    _configuration_space(context, identity)


def _ids(identity: Identity, settings: Enumeration) -> list[Reading]:
    class_code = _number(identity, identity.class_code >> 8 & 0xFFFF)
    subsystem = known(identity.subsystem_vendor_id), known(identity.subsystem_id)
    subsystem_id: str | NotMeasured
    if subsystem[0] is None or subsystem[1] is None:
        subsystem_id = _no_subsystem(identity)
    else:
        subsystem_id = f"0x{subsystem[1]:04x}"
    source = EnumerationSource.CONFIGURATION_SPACE()
    return [
        judge_text(
            "vendor_id",
            _number(identity, identity.vendor_id),
            settings.vendor_ids or None,
            source=source,
        ),
        judge_text(
            "device_id",
            _number(identity, identity.device_id),
            settings.device_ids or None,
            source=source,
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
            why_fail=EnumerationReason.WRONG_CLASS(class_code=known(class_code)),
        ),
    ]


def _number(identity: Identity, number: int) -> str | NotMeasured:
    """A number as PCI writes it; one that is 0 beside an unread revision was not read either."""
    if not number and isinstance(identity.revision, NotMeasured):
        return NotMeasured(EnumerationReason.NUMBERS_UNREAD(reason=identity.revision.reason))
    return f"0x{number:04x}"


def _no_subsystem(identity: Identity) -> NotMeasured:
    for value in (identity.subsystem_vendor_id, identity.subsystem_id):
        if isinstance(value, NotMeasured):
            return NotMeasured(EnumerationReason.NO_SUBSYSTEM_ID(reason=value.reason))
    raise ValueError("both numbers are known")


def _memory(identity: Identity, settings: Enumeration) -> Reading:
    size = identity.memory_bytes
    gib = size if isinstance(size, NotMeasured) else size / _GIB
    floor = settings.memory_at_least_gib
    limit = None if floor is None else Limit(lower=floor)
    return judge("memory_gib", gib, "GiB", limit, required=floor is not None)


def _bars(identity: Identity) -> str | NotMeasured:
    if identity.bars:
        return ", ".join(f"BAR{bar.number} {_size(bar.size_bytes)}" for bar in identity.bars)
    whole = _number(identity, identity.device_id)
    return whole if isinstance(whole, NotMeasured) else NotMeasured(EnumerationReason.NO_WINDOWS())


def _size(size_bytes: int) -> str:
    for unit, name in ((_GIB, "GiB"), (1 << 20, "MiB"), (1 << 10, "KiB")):
        if size_bytes >= unit:
            return f"{size_bytes / unit:g} {name}"
    return f"{size_bytes} B"


def _driver(identity: Identity, settings: Enumeration) -> Reading:
    needed = isinstance(identity.driver, NotMeasured) and settings.driver_needed
    source = EnumerationSource.DRIVER_LINK()
    return judge_text("driver", identity.driver, None, source=source, required=needed)


def _configuration_space(context: StageContext[Needs], identity: Identity) -> None:
    """The ids that the system read at start-up must still be what the card answers now."""
    space, before = context.card.configuration_space(), _number(identity, identity.device_id)
    if isinstance(space, NotMeasured):
        context.take(judge_text("identity_holds", space, None, required=False))
        return
    if isinstance(before, NotMeasured):
        context.take(judge_text("identity_holds", before, None, required=False))
        return
    vendor_id, device_id = known(space.vendor_id), known(space.device_id)
    if vendor_id is None or device_id is None:
        short = NotMeasured(EnumerationReason.SPACE_TOO_SHORT())
        context.take(judge_text("identity_holds", short, None, required=False))
        return
    now = f"{vendor_id:04x}:{device_id:04x}"
    then = f"{identity.vendor_id:04x}:{identity.device_id:04x}"
    context.take(
        judge_text(
            "identity_holds",
            now,
            (then,),
            source=EnumerationSource.CONFIGURATION_SPACE_AGAIN(),
            why_fail=EnumerationReason.IDENTITY_CHANGED(then=then, now=now),
        )
    )
