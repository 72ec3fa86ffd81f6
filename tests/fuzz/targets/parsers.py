"""Parsers of bytes: EDID, configuration space, kernel log, worker's pipe, lists, cells, figures."""

from __future__ import annotations

import errno
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from pathlib import Path
from types import FunctionType

from burnin.card.attributes import Attributes
from burnin.card.edid.base_block import parse_edid
from burnin.card.kernel_log.journal import record_from
from burnin.card.kernel_log.patterns import meant
from burnin.card.kernel_log.records import parse_record
from burnin.card.kernel_log.whose import Place, about
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.pci.slot_registers import read_slot
from burnin.card.sources.pci_names import PciNames
from burnin.core.errors import BadInput
from burnin.core.quantities.quantity import parse_meter, parse_quantity
from burnin.core.quantities.spelling import CELSIUS, OHM, VOLT
from burnin.engine.process.wire import message, unpacked
from burnin.record import csv_rows
from burnin.record.chain import chain_of
from burnin.ticket.before_power.points import parse_point
from burnin.ticket.intake.damage import contact_names
from burnin.ticket.log.days_and_spans import moment_of, parse_day, parse_from, parse_span_s, utc_now
from tests.card.edid_bytes import base_block, cta_block
from tests.fuzz.formats import in_csv, in_json
from tests.fuzz.target import FILE_INPUTS, of_bytes

DATA = Path(__file__).parents[2] / "data"
_ASKED_WITH = ("field", "find", "equalization")
"""Methods of a configuration space that take something."""


def _touch(value: object) -> None:
    """Ask a result for all that it says, properties too."""
    if is_dataclass(value):
        for one in fields(value):
            _touch(getattr(value, one.name))
        for name, part in vars(type(value)).items():
            if isinstance(part, property):
                getattr(value, name)


def _edid(data: bytes) -> None:
    _touch(parse_edid(data))


def _edid_seeds() -> Sequence[bytes]:
    plain = base_block()
    return [plain, base_block(extensions=1) + cta_block(), b"", plain[:128]]


def _space(data: bytes) -> None:
    space = ConfigurationSpace(data)
    for name, part in vars(ConfigurationSpace).items():
        if name in _ASKED_WITH or name.startswith("_"):
            continue
        value = getattr(space, name)
        if isinstance(part, FunctionType):
            value()
    for speed in (2.5, 16.0, 64.0):
        space.equalization(speed)
    read_slot(space)


def _space_seeds() -> Sequence[bytes]:
    whole = (DATA / "config_space.bin").read_bytes()
    return [whole, whole[:256], whole[:64], b"\xff" * 256]


_PLACE = Place(card="0000:01:00.0", port="0000:00:01.0", driver="corvane", only_of_driver=True)


def _kernel(data: bytes) -> None:
    record = parse_record(data)
    if record is not None:
        about(record, _PLACE)
        meant(record.text, "0000:01:00.0")


def _journal(data: bytes) -> None:
    record = record_from(data)
    if record is not None:
        about(record, _PLACE)
        meant(record.text, "0000:01:00.0")


_KERNEL = (
    b"3,1184,60215,-;pcieport 0000:00:01.0: pciehp: Slot(1): Link Down",
    b"4,77,1,-;pcieport 0000:00:01.0: AER: Corrected error message received from 0000:01:00.0\n"
    b" SUBSYSTEM=pci\n DEVICE=+pci:0000:00:01.0",
    b"2,9,9,c;NVRM: Xid (PCI:0000:01:00): 79, GPU has fallen off the bus.",
)


def _rows(data: bytes) -> None:
    for _ in csv_rows.rows(data):
        pass
    chain_of("samples.csv", data)


def _wire(data: bytes) -> None:
    told = message(data)
    for value in told.values():
        if isinstance(value, dict):
            unpacked(value)


_WIRE = (
    b'{"do":"beat"}',
    b'{"is":"event","event":{"kind":"WorkDone","seconds":1.0}}',
    b'{"do":"begin","job":{"kind":"MemoryJob","share":0.9,"passes":1,"patterns":["zeros"]}}',
    b'{"is":"ready","described":{"kind":"EngineDescription","name":"vulkan","device":"x",'
    b'"driver":{"not_measured":{"code":"x"}},"simulated":false}}',
)


@dataclass(frozen=True)
class _OneFile:
    """A bench on which every path is this one file."""

    data: bytes

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:  # noqa: ARG002
        return self.data[:limit]

    def list_folder(self, path: str) -> list[str]:
        raise NotADirectoryError(errno.ENOTDIR, "not a folder", path)

    def resolve(self, path: str) -> str:
        return path


def _attribute(data: bytes) -> None:
    value = Attributes(_OneFile(data), "/sys/x")
    value.text("a")
    value.integer("a")
    value.hexadecimal("a")
    value.scaled("a", 1e-3)


def _names(data: bytes) -> None:
    names = PciNames(_OneFile(data))
    names.vendor(0xF5A7)
    names.device(0xF5A7, 0x0901)
    names.board(0xF5A7, 0x0901, 0xF5A7, 1)


_NAMES = b"# list\nf5a7  Corvane\n\t0901  Strata 9\n\t\tf5a7 0001  Strata 9 OC\nC 00  Unknown\n"


def _typed(data: bytes) -> None:
    """A text that somebody types or that stands in a file: value, point, day, span, contacts."""
    text = data.decode("utf-8", "replace")
    refused = 0
    readers: tuple[Callable[[], object], ...] = (
        lambda: parse_quantity(text, OHM),
        lambda: parse_quantity(text, VOLT),
        lambda: parse_quantity(text, CELSIUS),
        lambda: parse_point(text, None),
        lambda: parse_meter(text),
        lambda: parse_day(text),
        lambda: parse_span_s(text),
        lambda: parse_from(text, utc_now()),
        lambda: contact_names(text),
        lambda: moment_of(text),
    )
    for read in readers:
        try:
            read()
        except BadInput:
            refused += 1
    if refused == len(readers) - 1:
        raise BadInput("none of these")


_TYPED = tuple(
    text.encode()
    for text in (
        "38 Ω",
        "4.7kohm",
        "0.452 V",
        "OL",
        "38±0.5 Ω",
        "38 Ω ± 2 %",
        "B14",
        "B14-trace",
        "B14-B15",
        "ground-back",
        "0.8%+0.2",
        "2026-03-10",
        "2026-03-10T14:00:00+02:00",
        "24 h",
        "B14-B17, A3",
    )
)


@cache
def _csv_seeds() -> Sequence[bytes]:
    folder = DATA / "records" / "compute_card_vulkan"
    return [
        b"\n".join((folder / name).read_bytes().split(b"\n")[:6]) + b"\n"
        for name in ("journal.csv", "readings.csv", "samples.csv")
    ]


TARGETS = (
    of_bytes("edid", _edid_seeds, _edid),
    of_bytes("config_space", _space_seeds, _space),
    of_bytes("kernel_log", lambda: _KERNEL, _kernel),
    of_bytes(
        "kernel_journal",
        lambda: [b'{"MESSAGE":"pcieport 0000:00:01.0: Link Down","PRIORITY":"3"}'],
        _journal,
        in_json,
    ),
    of_bytes("csv_rows", _csv_seeds, _rows, in_csv),
    of_bytes("sensor_file", lambda: [b"54000\n", b"0x8086\n", b"-1\n", b""], _attribute),
    of_bytes("pci_names", lambda: [_NAMES], _names),
    of_bytes("worker_pipe", lambda: _WIRE, _wire, in_json, FILE_INPUTS),
    of_bytes("typed_text", lambda: _TYPED, _typed),
)
