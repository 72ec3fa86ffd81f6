"""Display outputs as the kernel's graphics layer shows them: connectors, their state, their EDID.

Files as in Linux drivers/gpu/drm/drm_sysfs.c. Nothing is written. A state or an EDID that somebody
has set by hand looks there like one that was detected: whether it was is told by debugfs alone
(drm_debugfs.c), which root may read.
"""

from __future__ import annotations

import re

from burnin.card.attributes import Attributes
from burnin.card.capabilities import Output
from burnin.card.file_errors import why_unread
from burnin.card.files import BenchFiles
from burnin.card.sources.meanings import LinuxReason
from burnin.core.reading import NotMeasured, known

DRM = "/sys/class/drm"
_SETTINGS = "/sys/kernel/debug/dri"
_NOT_FORCED = "unspecified"
_EDID_LIMIT_BYTES = 256 * 128
"""A base block and at most 255 extensions (VESA E-EDID 1.4, 2.2.1)."""

_CARD = re.compile(r"card\d+", re.ASCII)
_NOT_FITTED_CLASSES = (0x0302, 0x1200)
"""3D controllers and processing accelerators drive no display by their class (PCI Code and ID
Assignment 1.11, 1.4 and 1.19)."""


def read_outputs(
    files: BenchFiles, folder: str, class_code: int | None
) -> tuple[Output, ...] | NotMeasured:
    """Every output of the card in `folder`; an empty tuple where it has none fitted."""
    try:
        names = files.list_folder(DRM)
        device = files.resolve(folder)
    except OSError as error:
        return _none_shown(class_code, why_unread(error, DRM))
    own = [name for name in names if _CARD.fullmatch(name) and _is_of(files, name, device)]
    if not own:
        absent = NotMeasured(LinuxReason.NO_DRM_DEVICE())
        return _none_shown(class_code, absent)
    found = [
        _output(Attributes(files, f"{DRM}/{name}"), *name.split("-", 1))
        for name in names
        if "-" in name and name.split("-", 1)[0] in own and "Writeback" not in name
    ]
    return tuple(found)


def _none_shown(class_code: int | None, cause: NotMeasured) -> tuple[Output, ...] | NotMeasured:
    if class_code is not None and class_code >> 8 in _NOT_FITTED_CLASSES:
        return ()
    return NotMeasured(LinuxReason.NO_CONNECTORS(reason=cause.reason))


def _is_of(files: BenchFiles, name: str, device: str) -> bool:
    try:
        return files.resolve(f"{DRM}/{name}/device") == device
    except OSError:
        return False


def _output(attributes: Attributes, card: str, name: str) -> Output:
    edid: bytes | NotMeasured
    try:
        # An empty file is an answer: the driver has read no EDID behind this connector.
        edid = attributes.files.read_bytes(f"{attributes.folder}/edid", _EDID_LIMIT_BYTES)
    except OSError as error:
        edid = why_unread(error, "edid")
    by_hand = Attributes(attributes.files, f"{_SETTINGS}/{card.removeprefix('card')}/{name}")
    forced = known(by_hand.text("force")) or _NOT_FORCED
    modes = known(attributes.text("modes")) or ""
    return Output(
        name=name,
        status=attributes.text("status"),
        edid=edid,
        modes=tuple(line.strip() for line in modes.splitlines() if line.strip()),
        enabled=attributes.text("enabled"),
        forced="" if forced == _NOT_FORCED else forced,
        edid_set=known(by_hand.text("edid_override")) is not None,
    )
