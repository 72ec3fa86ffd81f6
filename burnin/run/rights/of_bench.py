"""What is read and done on the bench itself: its log, its facts, its lock, its folders."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator, Sequence
from pathlib import Path

from burnin.card.capabilities import Bench
from burnin.card.file_errors import why_unread
from burnin.card.files import BenchFiles
from burnin.card.kernel_log.log import open_kernel_log
from burnin.card.sources.linux_bench import bench_identity, describe
from burnin.card.sources.pci_devices import DEVICES
from burnin.core.reading import NotMeasured
from burnin.run.card_lock import FOLDERS
from burnin.run.rights import things
from burnin.run.rights.meanings import RightSeen
from burnin.run.rights.settings import settings_of
from burnin.run.rights.things import Thing
from burnin.run.rights.trial import State, Trial, of_answers
from burnin.stages.boot import read_boot


def trials_of_bench(
    files: BenchFiles, bench: Bench, *, this_machine: bool, places: Sequence[Thing] = ()
) -> Iterator[Trial]:
    """Each thing of the bench; `places` are folders that the tool writes into."""
    yield _bus(files, bench)
    yield _kernel_log(files, this_machine=this_machine)
    facts = describe(files)
    facts.pop("bench_identity", None)
    yield of_answers(things.BENCH_FACTS, facts.values())
    yield of_answers(things.BENCH_IDENTITY, [bench_identity(files)])
    yield of_answers(things.BENCH_SETTINGS, settings_of(files).values())
    yield of_answers(things.BOOT, [read_boot(files)])
    yield lock_trial(FOLDERS) if this_machine else _simulated(things.LOCK)
    for place in places:
        yield folder_trial(place, Path(place.places[0]))


def _bus(files: BenchFiles, bench: Bench) -> Trial:
    try:
        files.list_folder(DEVICES)
    except OSError as error:
        return of_answers(things.BUS, [why_unread(error, DEVICES)])
    return Trial(things.BUS, State.YES, RightSeen.CARDS(cards_count=len(bench.cards())))


def _kernel_log(files: BenchFiles, *, this_machine: bool) -> Trial:
    log = open_kernel_log(files, this_machine=this_machine)
    if isinstance(log, NotMeasured):
        return of_answers(things.KERNEL_LOG, [log])
    try:
        return Trial(things.KERNEL_LOG, State.YES, RightSeen.THROUGH(how=log.source()))
    finally:
        log.close()


def lock_trial(folders: Sequence[Path]) -> Trial:
    """Whether a card could be locked: looked at, for taking the lock would leave a file."""
    for folder in folders:
        if _may_write(folder if _there(folder) else folder.parent):
            return Trial(things.LOCK, State.YES, RightSeen.FOLDER_OPEN(folder=str(folder)))
    shut = RightSeen.FOLDER_SHUT(folder=", ".join(map(str, folders)))
    return Trial(things.LOCK, State.NO, shut)


def folder_trial(thing: Thing, folder: Path) -> Trial:
    """Whether this account may write into a folder, or make it; and who else may look in."""
    there = folder
    while _there(there) is False and there != there.parent:
        there = there.parent
    if not _may_write(there):
        return Trial(thing, State.NO, RightSeen.FOLDER_SHUT(folder=str(there)))
    mode = stat.S_IMODE(there.stat().st_mode)
    if there == folder and mode & 0o007:
        seen = RightSeen.FOLDER_SEEN_BY_OTHERS(folder=str(folder), mode=f"{mode:04o}")
        return Trial(thing, State.YES, seen)
    return Trial(thing, State.YES, RightSeen.FOLDER_OPEN(folder=str(folder)))


def _there(folder: Path) -> bool | None:
    """Whether it is there; None where a folder above it lets nobody look."""
    try:
        return folder.exists()
    except PermissionError:
        return None


def _may_write(folder: Path) -> bool:
    return os.access(folder, os.W_OK | os.X_OK, effective_ids=True) and folder.is_dir()


def _simulated(thing: Thing) -> Trial:
    return Trial(thing, State.NOT_TRIED, RightSeen.SIMULATED())
