from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from burnin.core.errors import EngineError
from burnin.engine.device.device import Device
from burnin.engine.job import LinkTraffic, Started, TrafficResult
from burnin.engine.meanings import EngineReason
from burnin.engine.vulkan.copier import VulkanCopier
from burnin.engine.vulkan.device import VulkanDevice
from burnin.report.languages.catalogue import catalogue
from tests.engine.conftest import RunJob

pytestmark = pytest.mark.software_vulkan


@pytest.mark.parametrize(
    ("direction", "up", "down"),
    [("to_card", True, False), ("to_host", False, True), ("both", True, True)],
)
def test_every_byte_is_counted_in_its_direction_and_arrives(
    run_job: RunJob, direction: str, up: bool, down: bool
) -> None:
    result, events = run_job(LinkTraffic(seconds=0.2, direction=direction))
    assert isinstance(events[0], Started)
    told = catalogue("en").say(events[0].plan)
    way = direction.replace("_", " ")
    assert told == f"link traffic: {way}, blocks of 1 MiB"
    assert isinstance(result, TrafficResult)
    assert result.wrong_words == 0
    assert (result.to_card_bytes > 0, result.to_host_bytes > 0) == (up, down)
    assert (result.to_card_gbs > 0, result.to_host_gbs > 0) == (up, down)


def test_an_unknown_direction_is_refused(run_job: RunJob) -> None:
    with pytest.raises(EngineError) as refused:
        run_job(LinkTraffic(seconds=0.1, direction="sideways"))
    assert refused.value.reason == EngineReason.UNKNOWN_DIRECTION(
        asked="sideways", known=("to_card", "to_host", "both")
    )


@pytest.mark.parametrize("direction", ["to_card", "to_host"])
def test_words_that_arrive_wrong_are_counted(
    device: Device, direction: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is expected is changed in three words: the same as three words changed on the way."""
    assert isinstance(device, VulkanDevice)
    copier = VulkanCopier(device._gpu, direction, 2, seed=4)
    assert copier.copy(2).finish().wrong_words == 0
    contents: list[Any] = []
    for content in copier._content:
        changed = content.copy()
        changed[[5, 70_000, 300_000]] ^= np.uint32(0x40)
        contents.append(changed)
    monkeypatch.setattr(copier, "_content", contents)
    assert copier.copy(2).finish().wrong_words == 3
    copier.release()
