"""The kernel's log read and taken apart, and whose line means what; lines as kernels wrote them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.card.files import HostFiles
from burnin.card.kernel_log.journal import Journal, open_journal, record_from
from burnin.card.kernel_log.kmsg import PATH, Kmsg
from burnin.card.kernel_log.log import open_kernel_log
from burnin.card.kernel_log.meanings import KernelReason, KernelSource
from burnin.card.kernel_log.patterns import DETAILS, meant
from burnin.card.kernel_log.records import MOST_CHARACTERS, KernelRecord, parse_record
from burnin.card.kernel_log.whose import Place, Whose, about, addresses
from burnin.core.reading import NotMeasured

HERE = Place("0000:01:00.0", "0000:00:01.1", "amdgpu", only_of_driver=True)


def place(card: str, port: str = "", driver: str = "") -> Place:
    return Place(card, port, driver, only_of_driver=True)


# Each as it stands in reports to the kernel's mailing lists and in bug reports, by kernels 4.x to
# 6.x; the card or port of the report is the one under test.
LINES = [
    ("pcieport 0000:00:1c.5: AER: Corrected error received: 0000:00:1c.5",
     place("0000:05:00.0", "0000:00:1c.5"), KernelReason.BUS_ERROR_CORRECTED, False),
    ("pcieport 0000:00:1c.5: AER: Correctable error message received from 0000:00:1c.5",
     place("0000:05:00.0", "0000:00:1c.5"), KernelReason.BUS_ERROR_CORRECTED, False),
    ("pcieport 0000:00:01.4: PCIe Bus Error: severity=Uncorrected (Fatal), type=Transaction Layer,"
     " (Receiver ID)", place("0000:02:00.0", "0000:00:01.4"), KernelReason.BUS_ERROR, True),
    ("pcieport 0000:00:1b.0: PCIe Bus Error: severity=Uncorrected (Non-Fatal), type=Transaction"
     " Layer, (Receiver ID)", place("0000:02:00.0", "0000:00:1b.0"), KernelReason.BUS_ERROR, True),
    ("pcieport 0000:00:01.0: AER: Multiple Uncorrectable (Fatal) error message received from"
     " 0000:01:00.0", place("0000:01:00.0"), KernelReason.BUS_ERROR, True),
    ("pcieport 0000:00:1c.0: DPC: containment event, status:0x1f05 source:0x0200",
     place("0000:02:00.0", "0000:00:1c.0"), KernelReason.PORT_CONTAINED, True),
    ("pcieport 0015:00:00.0: pciehp: Slot(21): Link Down/Up ignored",
     place("0015:01:00.0", "0015:00:00.0"), KernelReason.LINK_DOWN, True),
    ("pcieport 0000:00:03.1: pciehp: Slot(0): Link Down",
     place("0000:0a:00.0", "0000:00:03.1"), KernelReason.LINK_DOWN, True),
    ("pcieport 0000:00:01.4: DPC: Data Link Layer Link Active not set in 1000 msec",
     place("0000:02:00.0", "0000:00:01.4"), KernelReason.LINK_DOWN, True),
    ("pcieport 0000:00:03.1: pciehp: Slot(0): Card not present",
     place("0000:0a:00.0", "0000:00:03.1"), KernelReason.CARD_NOT_PRESENT, True),
    ("pci 0000:01:00.0: [1af4:1050] type 00 class 0x038000 PCIe Endpoint",
     place("0000:01:00.0"), KernelReason.FOUND_ANEW, True),
    ("pci 0000:02:00.0: can't change power state from D3cold to D0 (config space inaccessible)",
     place("0000:02:00.0"), KernelReason.DEVICE_LOST, True),
    ("nvidia 0000:01:00.0: Unable to change power state from D3cold to D0, device inaccessible",
     place("0000:01:00.0"), KernelReason.DEVICE_LOST, True),
    ("NVRM: GPU at PCI:0000:18:00.0 has fallen off the bus.",
     place("0000:18:00.0", driver="nvidia"), KernelReason.DEVICE_LOST, True),
    ("NVRM: Xid (PCI:0000:18:00): 79, pid=1234, GPU has fallen off the bus.",
     place("0000:18:00.0"), KernelReason.DRIVER_FAULT_NUMBER, True),
    ("NVRM: Xid (PCI:0000:01:00): 45, pid=4711, name=python3, Ch 00000008",
     place("0000:01:00.0"), KernelReason.DRIVER_FAULT_NUMBER, False),
    ("amdgpu 0000:03:00.0: amdgpu: ring gfx_0.0.0 timeout, signaled seq=7073226, emitted"
     " seq=7073228", place("0000:03:00.0"), KernelReason.WORK_TIMED_OUT, True),
    ("[drm:amdgpu_job_timedout [amdgpu]] *ERROR* ring gfx timeout, signaled seq=73, emitted seq=75",
     place("0000:03:00.0", driver="amdgpu"), KernelReason.WORK_TIMED_OUT, True),
    ("amdgpu 0000:03:00.0: amdgpu: [gfxhub] page fault (src_id:0 ring:158 vmid:0 pasid:0, for"
     " process  pid 0 thread  pid 0)", place("0000:03:00.0"), KernelReason.GPU_FAULT, True),
    ("amdgpu 0000:21:00.0: GPU reset begin!", place("0000:21:00.0"),
     KernelReason.DRIVER_RESET, True),
    ("amdgpu 0000:21:00.0: GPU BACO reset", place("0000:21:00.0"), KernelReason.DRIVER_RESET, True),
    ("amdgpu 0000:03:00.0: amdgpu: GPU reset(1) succeeded!", place("0000:03:00.0"),
     KernelReason.DRIVER_RESET, True),
    ("amdgpu 0000:03:00.0: [drm] device wedged, but recovered through reset",
     place("0000:03:00.0"), KernelReason.DRIVER_RESET, True),
    ("i915 0000:00:02.0: [drm] GPU HANG: ecode 12:1:84dffffb, in foo [1234]",
     place("0000:00:02.0"), KernelReason.WORK_TIMED_OUT, True),
    ("i915 0000:00:02.0: [drm] Resetting rcs0 for stopped heartbeat on rcs0",
     place("0000:00:02.0"), KernelReason.DRIVER_RESET, True),
    ("amdgpu 0000:03:00.0: AMD-Vi: Event logged [IO_PAGE_FAULT domain=0x0010 address=0x64a7f000"
     " flags=0x0000]", place("0000:03:00.0"), KernelReason.IOMMU_FAULT, True),
    ("AMD-Vi: Event logged [IO_PAGE_FAULT device=0a:00.0 domain=0x001d address=0x000000000637c000"
     " flags=0x0000]", place("0000:0a:00.0"), KernelReason.IOMMU_FAULT, True),
    ("DMAR: [DMA Read NO_PASID] Request device [01:00.0] fault addr 0xd3000000 [fault reason 0x06]"
     " PTE Read access is not set", place("0000:01:00.0"), KernelReason.IOMMU_FAULT, True),
]  # fmt: skip


@pytest.mark.parametrize(("line", "here", "code", "counts"), LINES)
def test_a_line_as_a_kernel_wrote_it_is_understood(
    line: str, here: Place, code: KernelReason, counts: bool
) -> None:
    record = KernelRecord(line, 3)
    said_of = about(record, here)
    assert said_of.whose in (Whose.CARD, Whose.PORT, Whose.DRIVER)
    found = meant(line, said_of.address)
    assert found is not None
    assert found.what.means(code)
    assert found.counts is counts
    assert found.what["line"] == line


@pytest.mark.parametrize(("line", "here", "code", "counts"), LINES)
def test_the_same_line_of_another_device_is_another_s(
    line: str, here: Place, code: KernelReason, counts: bool
) -> None:
    elsewhere = Place("0000:7f:00.0", "0000:7e:00.0", "corvane", only_of_driver=True)
    assert about(KernelRecord(line, 3), elsewhere).whose in (Whose.OTHER, Whose.NOBODY)


@pytest.mark.parametrize(
    "line",
    [
        "usb 1-4: reset high-speed USB device number 3 using xhci_hcd",
        "e1000e 0000:00:1f.6 eno1: NIC Link is Down",
        "nvme nvme0: Shutdown timeout set to 10 seconds",
        "audit: type=1400 apparmor=\"ALLOWED\"",
        "IPv6: ADDRCONF(NETDEV_CHANGE): eno1: link becomes ready",
        "amdgpu 0000:03:00.0: vgaarb: deactivate vga console",
        "pci 0000:01:00.0: 63.008 Gb/s available PCIe bandwidth, limited by 8.0 GT/s PCIe x8 link",
        "nvidia 0000:01:00.0: enabling device (0000 -> 0003)",
        "pcieport 0000:00:01.1: pciehp: Slot(1): Link Up",
        "",
    ],
)
def test_a_line_of_daily_life_means_nothing(line: str) -> None:
    assert meant(line, "") is None


@pytest.mark.parametrize(
    "line",
    [
        "pcieport 0000:00:01.4:   device [1022:14ab] error status/mask=00000020/04004000",
        "pcieport 0000:00:01.4:    [ 5] SDES (First)",
        "pcieport 0004:00:00.0: AER: TLP Header: 60008010 010000ff 00001000 9c4c0000",
        "pcieport 0000:00:1c.0: DPC: ERR_FATAL detected",
        "amdgpu 0000:03:00.0: amdgpu:   in page starting at address 0x0 from client 10",
    ],
)
def test_a_line_that_goes_on_with_a_report_is_no_report_of_its_own(line: str) -> None:
    assert meant(line, "") is None
    assert DETAILS.search(line)


def test_who_is_meant() -> None:
    def whose(text: str, device: str = "", here: Place = HERE) -> str:
        return about(KernelRecord(text, 3, 1, device), here).whose

    assert whose("snd_hda_intel 0000:01:00.1: CORB reset timeout#2") == Whose.CARD
    assert whose("pcieport 0000:00:01.1: AER: … from 0000:01:00.0") == Whose.CARD
    assert whose("pcieport 0000:00:01.1: AER: … from 0000:00:01.1") == Whose.PORT
    assert whose("pcieport 0000:00:01.2: AER: … from 0000:02:00.0") == Whose.OTHER
    assert whose("DPC: containment event", "pci:0000:00:01.1") == Whose.PORT
    assert whose("something", "pci:0000:01:00.0") == Whose.CARD
    assert whose("something", "usb:1-4") == Whose.NOBODY
    assert whose("amdgpu: something") == Whose.DRIVER
    assert whose("NVRM: something", here=place("0000:01:00.0", driver="nvidia")) == Whose.DRIVER
    assert whose("amdgpu: something", here=Place("0000:01:00.0", "", "amdgpu")) == Whose.OTHER
    assert whose("PCI:00000000:01:00 wide domain") == Whose.CARD
    assert whose("link/ether 0000:01:00:11:22:33") == Whose.NOBODY
    assert whose("amdgpu: …", here=Place("")) == Whose.NOBODY


HEX = "0123456789abcdef"


@given(
    domain=st.text(HEX, min_size=4, max_size=4),
    bus=st.text(HEX, min_size=2, max_size=2),
    device=st.text(HEX, min_size=2, max_size=2),
    function=st.sampled_from("01234567"),
    before=st.sampled_from(["pci ", "PCI:", "[", "from ", "(", ""]),
    after=st.sampled_from([":", "]", " ", "", ": [drm]", ")"]),
)
def test_every_address_is_found_as_it_is_written(
    domain: str, bus: str, device: str, function: str, before: str, after: str
) -> None:
    address = f"{domain}:{bus}:{device}.{function}"
    record = KernelRecord(f"{before}{address}{after}", 6)
    assert list(addresses(record)) == [address]
    assert about(record, Place(address)).whose is Whose.CARD


@given(st.binary(max_size=300))
def test_whatever_bytes_come_are_a_record_or_none(data: bytes) -> None:
    record = parse_record(data)
    assert record is None or (0 <= record.level < 8 and len(record.text) <= MOST_CHARACTERS)
    record_from(data)


@given(
    level=st.integers(0, 191),
    number=st.integers(0, 2**63),
    text=st.text(st.characters(blacklist_categories=("C", "Z")), max_size=50),
    device=st.sampled_from(["", "pci:0000:01:00.0", "usb:1-4"]),
)
def test_a_record_comes_back_as_it_was_written(
    level: int, number: int, text: str, device: str
) -> None:
    tag = f" SUBSYSTEM=pci\n DEVICE=+{device}\n" if device else ""
    record = parse_record(f"{level},{number},77,-,caller=T1;{text}\n{tag}".encode())
    assert record == KernelRecord(text[:MOST_CHARACTERS], level % 8, number, device)


@given(text=st.text(max_size=80), level=st.integers(0, 7))
def test_an_entry_of_the_journal_is_read_alike(text: str, level: int) -> None:
    entry = {"MESSAGE": text, "PRIORITY": str(level), "_KERNEL_DEVICE": "+pci:0000:01:00.0"}
    record = record_from(json.dumps(entry).encode())
    assert record is not None
    assert (record.level, record.sequence, record.device) == (level, None, "pci:0000:01:00.0")
    raw = list(text.encode("utf-8", "replace"))
    as_bytes = record_from(json.dumps({"MESSAGE": raw}).encode())
    assert as_bytes is not None


class Stream:
    """Gives what it was handed; an error among it is raised."""

    def __init__(self, *given: bytes | OSError) -> None:
        self.given, self.closed = list(given), False

    def next(self) -> bytes | None:
        if not self.given:
            return None
        found = self.given.pop(0)
        if isinstance(found, OSError):
            raise found
        return found

    def close(self) -> None:
        self.closed = True


def test_lines_that_were_overwritten_are_counted() -> None:
    log = Kmsg(Stream(b"6,10,1,-;a", b"6,11,2,-;b", BrokenPipeError(), b"6,15,9,-;c", b"torn"))
    assert [record.text for record in log.read()] == ["a", "b", "c"]
    assert log.lost == 3
    assert log.read() == ()
    assert log.source() == KernelSource.LOG_FILE()


def test_a_file_that_fails_is_an_error_of_the_system() -> None:
    log = Kmsg(Stream(OSError(5, "io")))
    with pytest.raises(OSError, match="io"):
        log.read()


def test_a_bench_without_the_file_or_without_records_says_so(tmp_path: Path) -> None:
    missing = open_kernel_log(HostFiles(tmp_path), this_machine=False)
    assert isinstance(missing, NotMeasured)
    recorded = open_kernel_log(object(), this_machine=False)  # type: ignore[arg-type]
    assert isinstance(recorded, NotMeasured)
    assert recorded.reason == KernelReason.NOT_THIS_MACHINE()


@pytest.mark.skipif(not os.access(PATH, os.R_OK | os.W_OK), reason="the kernel's log is not ours")
def test_the_log_of_this_machine_tells_what_comes_after_it_was_opened() -> None:
    log = open_kernel_log(HostFiles(), this_machine=True)
    assert not isinstance(log, NotMeasured)
    try:
        said = f"a line of a test, process {os.getpid()}"
        Path(PATH).write_text(f"{said}\n")
        assert said in [record.text for record in log.read()]
        assert log.read() == ()
    finally:
        log.close()


def program(folder: Path, text: str) -> None:
    file = folder / "journalctl"
    file.write_text(f"#!{sys.executable}\nimport sys, time\n{text}")
    file.chmod(0o755)


def test_the_journal_is_followed_where_it_shows_the_kernel_s_part(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    answer = open_journal()
    assert isinstance(answer, NotMeasured)
    assert answer.reason == KernelReason.NO_JOURNAL()
    program(tmp_path, "")
    answer = open_journal()
    assert isinstance(answer, NotMeasured)
    assert answer.reason == KernelReason.JOURNAL_SILENT()
    entry = json.dumps({"MESSAGE": "amdgpu 0000:01:00.0: GPU reset begin!", "PRIORITY": "6"})
    program(tmp_path, f"print({entry!r}, flush=True)\n'--follow' in sys.argv and sys.stdin.read()")
    journal = open_journal()
    assert isinstance(journal, Journal)
    found: tuple[KernelRecord, ...] = ()
    ended = False
    while not found and not ended:
        try:
            found = journal.read()
        except BrokenPipeError:
            ended = True  # the program stands in for one that ends by itself
    journal.close()
    assert ended or [record.text for record in found] == ["amdgpu 0000:01:00.0: GPU reset begin!"]


def test_a_journal_that_ends_is_an_error_of_the_system() -> None:
    process = subprocess.Popen(["true"], stdout=subprocess.PIPE)
    process.wait()
    journal = Journal(process)
    with pytest.raises(BrokenPipeError):
        journal.read()
    journal.close()
