"""Engines are opened and closed without work; what keeps one shut is told apart."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import cast

import pytest

from burnin.card.files import HostFiles
from burnin.card.merge import open_bench
from burnin.core.errors import EngineUnavailable
from burnin.core.identity import Identity
from burnin.core.meaning import Note, Reason
from burnin.core.opening import EngineDescription
from burnin.engine.engine import Engine
from burnin.engine.kind import CardWanted, EngineKind
from burnin.engine.meanings import EngineNote
from burnin.engine.vulkan.vulkan_errors import VulkanReason
from burnin.run.card_lock import Holder
from burnin.run.rights.engines import trials_of_engines
from burnin.run.rights.meanings import RightSeen
from burnin.run.rights.trial import State, Trial
from burnin.sim.bench import simulated_bench

NO_ADAPTER = VulkanReason.NO_ADAPTER_AT_ALL(vendor_id=0xF5A7, device_id=9)


@dataclass
class Calls:
    """What was done with an engine, in order; `refuses` is why it does not open."""

    refuses: Reason | None = None
    done: list[str] = field(default_factory=list)

    def open(self, _wanted: CardWanted, _why: Note | None) -> Engine:
        self.done.append("open")
        if self.refuses is not None:
            raise EngineUnavailable(self.refuses)
        return cast(Engine, self)

    def description(self) -> EngineDescription:
        return EngineDescription("made up", "adapter", "driver", EngineNote.ANY_VENDOR())

    def close(self) -> None:
        self.done.append("close")

    def kind(self, vendors: tuple[int, ...] = ()) -> EngineKind:
        return EngineKind(
            name="made_up", title="Made Up", priority=1, why=EngineNote.ANY_VENDOR(),
            probe=lambda _: None, open=self.open, vendors=vendors,
        )  # fmt: skip


@pytest.fixture(scope="module")
def card() -> Identity:
    files = simulated_bench("healthy").files
    [found] = open_bench(files, this_machine=False, simulated=True).cards()
    return found.identity()


def tried(
    card: Identity, calls: Calls, root: Path, *, held: Reason | None = None, may: bool = True,
    vendors: tuple[int, ...] = (),
) -> list[Trial]:  # fmt: skip
    return list(
        trials_of_engines(
            card, HostFiles(root), held=held, kinds=[calls.kind(vendors)],
            allowed=lambda _: may, root=root,
        )
    )


def with_node(root: Path, address: str) -> Path:
    (root / "sys/bus/pci/devices" / address / "drm/renderD128").mkdir(parents=True)
    node = root / "dev/dri/renderD128"
    node.parent.mkdir(parents=True)
    node.write_text("")
    node.chmod(0o660)
    return node


def test_an_engine_is_opened_and_closed_and_given_no_work(card: Identity, tmp_path: Path) -> None:
    calls = Calls()
    [trial] = tried(card, calls, tmp_path)
    assert trial.state is State.YES
    assert calls.done == ["open", "close"]


def test_a_card_that_another_run_works_is_left_alone(card: Identity, tmp_path: Path) -> None:
    calls, held = Calls(), Holder(7, "ilse", "2026-01-01T00:00:00Z").reason(card.address)
    [trial] = tried(card, calls, tmp_path, held=held)
    assert trial.state is State.NOT_TRIED
    assert trial.seen == RightSeen.HELD(why=held)
    assert calls.done == []


def test_a_device_file_kept_from_this_account_is_a_missing_right(
    card: Identity, tmp_path: Path
) -> None:
    node = with_node(tmp_path, card.address)
    [trial] = tried(card, Calls(refuses=NO_ADAPTER), tmp_path, may=False)
    assert trial.state is State.NO
    assert trial.seen.code == RightSeen.NODE_REFUSED.value
    assert (trial.seen["node"], trial.seen["mode"]) == (str(node), "0660")
    assert trial.thing.places == (str(node),)


def test_an_engine_that_finds_no_card_lacks_no_right(card: Identity, tmp_path: Path) -> None:
    with_node(tmp_path, card.address)
    [trial] = tried(card, Calls(refuses=NO_ADAPTER), tmp_path)
    assert trial.state is State.NOT_HERE


def test_an_engine_for_other_vendors_is_not_listed(card: Identity, tmp_path: Path) -> None:
    calls = Calls()
    assert tried(card, calls, tmp_path, vendors=(card.vendor_id + 1,)) == []
    [trial] = tried(replace(card, vendor_id=9), calls, tmp_path, vendors=(9,))
    assert trial.state is State.YES
