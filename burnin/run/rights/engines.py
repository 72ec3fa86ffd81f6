"""Whether the card can be worked: each engine opened as a run opens it, given no work, and closed.

A card that another run works is left alone. Where an engine says only that it found no card, the
device files through which it would have reached it tell whether they are kept from this account.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Callable, Collection, Iterator
from pathlib import Path

from burnin.card.files import BenchFiles
from burnin.card.sources.pci_devices import DEVICES
from burnin.core.errors import EngineUnavailable
from burnin.core.files.own_process import group_name_of
from burnin.core.identity import Identity
from burnin.core.meaning import Reason, Term
from burnin.core.reading import NotMeasured
from burnin.engine.choose import engine_kinds
from burnin.engine.kind import CardWanted, EngineKind
from burnin.run.rights import things
from burnin.run.rights.meanings import RightNeeded, RightSeen
from burnin.run.rights.things import Thing
from burnin.run.rights.trial import State, Trial, of_answers, refused

VENDOR_FILES = ("/dev/nvidiactl", "/dev/nvidia-uvm", "/dev/nvidia[0-9]*")
DRM_FILES = "/dev/dri"
Opens = Callable[[Path], bool]


def may_use(node: Path) -> bool:
    """Whether this account may read and write a device file."""
    return os.access(node, os.R_OK | os.W_OK, effective_ids=True)


def trials_of_engines(
    identity: Identity,
    files: BenchFiles,
    *,
    held: Reason | None = None,
    among_alike: int = 0,
    kinds: Collection[EngineKind] | None = None,
    allowed: Opens = may_use,
    root: Path = Path("/"),
) -> Iterator[Trial]:
    """Each engine that is registered; `held`: who works the card now. `root` stands for ``/``."""
    wanted = CardWanted(
        identity.address, identity.vendor_id, identity.device_id, among_alike
    )
    for kind in engine_kinds().values() if kinds is None else kinds:
        nodes = _nodes(kind, files, identity.address, root)
        thing = _thing(kind, nodes)
        if held is not None:
            seen = RightSeen.HELD(why=held)
            yield Trial(thing, State.NOT_TRIED, seen, identity.address)
        elif not kind.vendors or identity.vendor_id in kind.vendors:
            yield _trial(kind, wanted, thing, [n for n in nodes if not allowed(n)])


def simulated_engine(title: str, address: str) -> Trial:
    """The simulated machine's own engine, which needs nothing."""
    thing = things.engine(title, RightNeeded.NOTHING(), ())
    return Trial(thing, State.YES, RightSeen.SIMULATED(), address)


def _trial(kind: EngineKind, wanted: CardWanted, thing: Thing, shut: list[Path]) -> Trial:
    lacking = kind.probe(wanted)
    if lacking is not None:
        return of_answers(thing, [NotMeasured(lacking)], wanted.address)
    try:
        engine = kind.open(wanted, None)
    except EngineUnavailable as error:
        if shut and not refused(error.reason):
            return Trial(thing, State.NO, _refused_at(shut[0]), wanted.address)
        return of_answers(thing, [NotMeasured(error.reason)], wanted.address)
    try:
        how = engine.description().why
    finally:
        engine.close()
    return Trial(thing, State.YES, RightSeen.OPENED(how=how), wanted.address)


def _thing(kind: EngineKind, nodes: list[Path]) -> Thing:
    """By its device files where there are any, else by those that it would work through."""
    needs = RightNeeded.VENDOR_FILES() if kind.vendors else RightNeeded.DRM_FILES()
    usual = VENDOR_FILES if kind.vendors else (DRM_FILES,)
    return things.engine(kind.title, needs, tuple(map(str, nodes)) or usual)


def _nodes(kind: EngineKind, files: BenchFiles, address: str, root: Path) -> list[Path]:
    """Device files of the card that the kernel has made; a vendor's own where it has them."""
    try:
        names = files.list_folder(f"{DEVICES}/{address}/drm")
    except OSError:
        names = []
    of_vendor = sorted(
        path
        for pattern in VENDOR_FILES
        for path in root.glob(pattern.lstrip("/"))
    )
    drawn = [root / "dev/dri" / name for name in names if name.startswith("renderD")]
    there = [path for path in drawn if path.exists()]
    return of_vendor if kind.vendors else [*there, *of_vendor]


def _refused_at(node: Path) -> Term:
    there = node.stat()
    group = group_name_of(there.st_gid)
    mode = f"{stat.S_IMODE(there.st_mode):04o}"
    return RightSeen.NODE_REFUSED(node=str(node), group=group, mode=mode)
