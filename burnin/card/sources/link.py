"""Both ends of a card's link and the errors that each of them counts, from sysfs."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TypeVar

from burnin.card.attributes import Attributes
from burnin.card.capabilities import Counter, Link, LinkEnd
from burnin.card.files import BenchFiles
from burnin.card.pci.link_registers import LinkRegisters
from burnin.card.rates import parse_speed_gts, parse_width_lanes
from burnin.card.sources.meanings import LinuxReason, LinuxSourceOf
from burnin.card.sources.pci_devices import ADDRESS, Ends, configuration_space
from burnin.core.meaning import Reason, Source
from burnin.core.reading import NotMeasured

AER_FILES: dict[str, str] = {
    "aer_dev_correctable": "correctable",
    "aer_dev_nonfatal": "non-fatal",
    "aer_dev_fatal": "fatal",
}
AER_NAMES: dict[str, str] = {
    # spelt as in drivers/pci/pcie/aer.c
    "RxErr": "receiver error",
    "BadTLP": "bad TLP",
    "BadDLLP": "bad DLLP",
    "Rollover": "replay number rollover",
    "Timeout": "replay timer timeout",
    "NonFatalErr": "advisory non-fatal",
    "CorrIntErr": "corrected internal",
    "HeaderOF": "header log overflow",
    "DLP": "data link protocol",
    "SDES": "surprise down",
    "TLP": "poisoned TLP",
    "FCP": "flow control protocol",
    "CmpltTO": "completion timeout",
    "CmpltAbrt": "completer abort",
    "UnxCmplt": "unexpected completion",
    "RxOF": "receiver overflow",
    "MalfTLP": "malformed TLP",
    "UnsupReq": "unsupported request",
    "ACSViol": "access control violation",
    "UncorrIntErr": "internal",
    "BlockedTLP": "multicast blocked TLP",
    "AtomicOpBlocked": "atomic operation blocked",
    "TLPBlockedErr": "TLP prefix blocked",
    # spelt as in Documentation/ABI/testing/sysfs-bus-pci-devices-aer
    "Receiver Error": "receiver error",
    "Bad TLP": "bad TLP",
    "Bad DLLP": "bad DLLP",
    "RELAY_NUM Rollover": "replay number rollover",
    "REPLAY_NUM Rollover": "replay number rollover",
    "Replay Timer Timeout": "replay timer timeout",
    "Advisory Non-Fatal": "advisory non-fatal",
    "Corrected Internal Error": "corrected internal",
    "Header Log Overflow": "header log overflow",
    "Data Link Protocol": "data link protocol",
    "Surprise Down Error": "surprise down",
    "Poisoned TLP": "poisoned TLP",
    "Flow Control Protocol": "flow control protocol",
    "Completion Timeout": "completion timeout",
    "Completer Abort": "completer abort",
    "Unexpected Completion": "unexpected completion",
    "Receiver Overflow": "receiver overflow",
    "Malformed TLP": "malformed TLP",
    "Unsupported Request": "unsupported request",
    "ACS Violation": "access control violation",
    "Uncorrectable Internal Error": "internal",
    "MC Blocked TLP": "multicast blocked TLP",
    "AtomicOp Egress Blocked": "atomic operation blocked",
    "TLP Prefix Blocked Error": "TLP prefix blocked",
}
"""Kernel spellings of an error, and ours, which are those of `burnin.card.pci.registers`."""

SERVICES = "/sys/bus/pci_express/drivers"
"""Drivers of what a root port does for all below it: hot-plug, error messages, power events."""
COUNTER_MODULUS = 1 << 64
"""The kernel counts in 64 bits (struct aer_stats of drivers/pci/pcie/aer.c)."""

T = TypeVar("T")
_LINE = re.compile(r"(\S.*?)\s+(\d{1,20})", re.ASCII)


def read_link(files: BenchFiles, ends: Ends) -> Link:
    """Both ends as read now."""
    if isinstance(ends.port, NotMeasured):
        return Link(read_end(files, ends.card), ends.port)
    return Link(read_end(files, ends.card), read_end(files, ends.port))


def read_end(files: BenchFiles, folder: str) -> LinkEnd:
    """One end from its attributes; where the kernel shows none, from its registers."""
    attributes = Attributes(files, folder)
    speed = _parsed(attributes, "current_link_speed", parse_speed_gts)
    width = _parsed(attributes, "current_link_width", parse_width_lanes)
    max_speed = _parsed(attributes, "max_link_speed", parse_speed_gts)
    max_width = _parsed(attributes, "max_link_width", parse_width_lanes)
    where = folder.rsplit("/", 1)[-1]
    source: Source = LinuxSourceOf.LINK_ATTRIBUTES(address=where)
    if all(isinstance(value, NotMeasured) for value in (speed, width, max_speed, max_width)):
        registers = _registers(files, folder)
        if not isinstance(registers, NotMeasured):
            return LinkEnd(
                speed_gts=registers.speed_gts,
                width_lanes=registers.width_lanes,
                max_speed_gts=registers.max_speed_gts,
                max_width_lanes=registers.max_width_lanes,
                source=LinuxSourceOf.LINK_REGISTERS(address=where),
            )
    return LinkEnd(speed, width, max_speed, max_width, source)


def current_link(
    files: BenchFiles, ends: Ends
) -> tuple[float | NotMeasured, int | NotMeasured]:
    """Speed in GT/s and width in lanes of the card's end alone: two reads."""
    attributes = Attributes(files, ends.card)
    return (
        _parsed(attributes, "current_link_speed", parse_speed_gts),
        _parsed(attributes, "current_link_width", parse_width_lanes),
    )


def read_counters(files: BenchFiles, ends: Ends) -> tuple[Counter, ...] | NotMeasured:
    """What both ends count; an error counts at the end that sees it.

    The files are there also where nobody counts: with ``pci=noaer`` and where the firmware keeps
    errors to itself they stand at nought for ever (seen on Linux 6.1 and 6.12).
    """
    unheard = _unheard(files, ends)
    if unheard is not None:
        return NotMeasured(unheard)
    found: list[Counter] = []
    for end, folder in (("card", ends.card), ("port", ends.port)):
        if isinstance(folder, str):
            found.extend(_end_counters(Attributes(files, folder), end))
    if found:
        return tuple(found)
    return NotMeasured(LinuxReason.NO_ERROR_COUNTERS())


def _unheard(files: BenchFiles, ends: Ends) -> Reason | None:
    """Why the root port's errors reach nobody; None where they do, or nobody can say.

    Messages of errors are taken by the service of the root port (Linux
    Documentation/PCI/pciebus-howto.rst); its name begins with the port's address.
    """
    if isinstance(ends.port, NotMeasured):
        return None
    root = next((part for part in ends.port.split("/") if ADDRESS.fullmatch(part)), "")
    try:
        services = files.list_folder(SERVICES)
        bound = files.list_folder(f"{SERVICES}/aer") if "aer" in services else []
    except OSError:
        return None
    if any(name.startswith(f"{root}:") for name in bound):
        return None
    return LinuxReason.ERRORS_NOT_TAKEN(port=root)


def _end_counters(attributes: Attributes, end: str) -> list[Counter]:
    where = attributes.folder.rsplit("/", 1)[-1]
    found: list[Counter] = []
    for file_name, severity in AER_FILES.items():
        text = attributes.text(file_name)
        if isinstance(text, NotMeasured):
            continue
        for line in text.splitlines():
            match = _LINE.fullmatch(line.strip())
            # The total counts messages, not errors, and need not be the sum of the others.
            if match is None or match.group(1).startswith("TOTAL") or match.group(1) == "Undefined":
                continue
            name = AER_NAMES.get(match.group(1), match.group(1))
            source = LinuxSourceOf.AER_FILE(file=file_name, address=where)
            found.append(
                Counter(f"{name} ({severity})", end, int(match.group(2)), COUNTER_MODULUS, source)
            )
    return found


def _parsed(
    attributes: Attributes, name: str, parse: Callable[[str], T | NotMeasured]
) -> T | NotMeasured:
    text = attributes.text(name)
    return text if isinstance(text, NotMeasured) else parse(text)


def _registers(files: BenchFiles, folder: str) -> LinkRegisters | NotMeasured:
    space = configuration_space(files, folder)
    return space if isinstance(space, NotMeasured) else space.link()
