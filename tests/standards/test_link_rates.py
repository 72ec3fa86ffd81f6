"""Link rates, line codes and payload ceilings against published figures."""

from __future__ import annotations

import pytest

from burnin.card.rates import (
    FLIT_BYTES,
    FLIT_CODED_BYTES,
    FLIT_TLP_BYTES,
    GENERATIONS,
    generation_of_speed,
    line_rate_gbs,
    payload_limit_gbs,
    payload_share,
)


@pytest.mark.parametrize(
    ("generation", "speed_gts", "mbps"),
    # Linux drivers/pci/pci.h, PCIE_SPEED2MBS_ENC: Mb/s a lane after the line code.
    [
        (1, 2.5, 2500 * 8 // 10),
        (2, 5.0, 5000 * 8 // 10),
        (3, 8.0, 8000 * 128 // 130),
        (4, 16.0, 16000 * 128 // 130),
        (5, 32.0, 32000 * 128 // 130),
    ],
)
def test_rate_of_one_lane_is_the_kernels(generation: int, speed_gts: float, mbps: int) -> None:
    assert GENERATIONS[generation].speed_gts == speed_gts
    assert int(line_rate_gbs(generation, 1) * 8000) == mbps
    assert generation_of_speed(speed_gts) == generation


@pytest.mark.parametrize(
    ("generation", "x16_gbs", "x8_gbs", "digits"),
    # PCI-SIG's published figures per direction, as repeated in the table of Wikipedia's
    # "PCI Express" article; generation 6 is that table's 121 GB/s after CRC and FEC.
    [
        (1, 4.0, 2.0, 2),
        (2, 8.0, 4.0, 2),
        (3, 15.75, 7.88, 2),
        (4, 31.51, 15.75, 2),
        (5, 63.02, 31.51, 2),
        (6, 121.0, 60.5, 0),
    ],
)
def test_rate_of_a_whole_link_is_the_published_one(
    generation: int, x16_gbs: float, x8_gbs: float, digits: int
) -> None:
    assert round(line_rate_gbs(generation, 16), digits) == round(x16_gbs, digits)
    assert line_rate_gbs(generation, 8) == pytest.approx(x8_gbs, abs=0.006)


def test_codes_are_those_of_the_published_table() -> None:
    # PCI-SIG: 8b/10b below 8 GT/s, 128b/130b to 32 GT/s, FLITs of 256 bytes at 64 GT/s.
    assert [GENERATIONS[n].code for n in range(1, 7)] == [
        "8b/10b",
        "8b/10b",
        "128b/130b",
        "128b/130b",
        "128b/130b",
        "1b/1b in FLITs",
    ]
    assert GENERATIONS[1].efficiency == 0.8
    assert GENERATIONS[3].efficiency == pytest.approx(0.9846, abs=5e-5)


def test_flit_is_divided_as_published() -> None:
    # PCI-SIG, "PCIe 6.0 Specification: FEC": 242 bytes + 8 CRC + 6 FEC. 236 + 6: from memory.
    assert FLIT_CODED_BYTES + 8 + 6 == FLIT_BYTES == 256
    assert FLIT_TLP_BYTES + 6 == FLIT_CODED_BYTES


def test_payload_share_is_the_one_that_intel_works_out() -> None:
    # Intel AN 456, "Understanding throughput": 256 bytes with 20 bytes of overhead give 92 %.
    assert int(payload_share(3, 256, header_dwords=3) * 100) == 92


@pytest.mark.parametrize(
    ("payload", "with_20", "with_24", "with_28"),
    # payload / (payload + overhead), Intel AN 456; worked out with a desk calculator.
    [(128, 86.5, 84.2, 82.1), (256, 92.8, 91.4, 90.1), (512, 96.2, 95.5, 94.8)],
)
def test_payload_share_by_overhead(
    payload: int, with_20: float, with_24: float, with_28: float
) -> None:
    assert 100 * payload_share(3, payload, header_dwords=3) == pytest.approx(with_20, abs=0.05)
    assert 100 * payload_share(4, payload) == pytest.approx(with_24, abs=0.05)
    assert 100 * payload_share(5, payload, ecrc=True) == pytest.approx(with_28, abs=0.05)


@pytest.mark.parametrize(("generation", "gbs"), [(3, 14.4), (4, 28.8), (5, 57.6)])
def test_a_recorded_copy_lies_below_the_ceiling(generation: int, gbs: float) -> None:
    # The three figures: line rate × share, worked out by hand for x16, 256 bytes, 24 overhead.
    assert payload_limit_gbs(generation, 16, 256) == pytest.approx(gbs, abs=0.05)
    if generation == 5:
        # One real card copied 55.2 GB/s one way from pinned memory.
        assert 0.9 < 55.2 / payload_limit_gbs(5, 16, 256) < 1.0
