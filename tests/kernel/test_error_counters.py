"""Each error injected into a real kernel's error reporting: counted once, at its end, named."""

from __future__ import annotations

from collections.abc import Iterator

from tests.kernel.one_boot import Said, Told

BITS = {
    # PCI Express Base 5.0, 7.8.4.2 and 7.8.4.5; names as in Linux include/uapi/linux/pci_regs.h
    ("correctable", 0x1): ("receiver error (correctable)", "receiver"),
    ("correctable", 0x40): ("bad TLP (correctable)", "receiver"),
    ("correctable", 0x80): ("bad DLLP (correctable)", "receiver"),
    ("correctable", 0x100): ("replay number rollover (correctable)", "sender"),
    ("correctable", 0x1000): ("replay timer timeout (correctable)", "sender"),
    ("correctable", 0x2000): ("advisory non-fatal (correctable)", ""),
    ("correctable", 0x4000): ("corrected internal (correctable)", ""),
    ("correctable", 0x8000): ("header log overflow (correctable)", ""),
    ("uncorrectable", 1 << 12): ("poisoned TLP (non-fatal)", ""),
    ("uncorrectable", 1 << 14): ("completion timeout (non-fatal)", ""),
    ("uncorrectable", 1 << 15): ("completer abort (non-fatal)", ""),
    ("uncorrectable", 1 << 16): ("unexpected completion (non-fatal)", ""),
    ("uncorrectable", 1 << 20): ("unsupported request (non-fatal)", ""),
    ("uncorrectable", 1 << 21): ("access control violation (non-fatal)", ""),
}
"""What each bit means, and whether the end that sees it was to receive or had sent the packet."""
BOTH_ENDS = 2


def _injected(said: Said, severity: str) -> Iterator[tuple[Told, str, str]]:
    for told in said.all("injected"):
        if told[severity]:
            yield told, *BITS[severity, told[severity]]


def _kernel_events(told: Told, end: str) -> int:
    """How many error messages the kernel itself counted at an end (``TOTAL_ERR_…``)."""
    return sum(n for name, n in told["kernel"][end].items() if "TOTAL" in name)


def test_every_kind_was_injected_at_both_ends(said: Said) -> None:
    assert len(said.all("injected")) == BOTH_ENDS * len(BITS)


def test_a_corrected_error_is_counted_once_at_the_end_that_saw_it(said: Said) -> None:
    for told, name, _ in _injected(said, "correctable"):
        end, other = told["end"], "port" if told["end"] == "card" else "card"
        assert _kernel_events(told, end) == 1
        assert not told["kernel"][other]
        assert told["tool"] == {f"{end} {name}": 1}
        assert not told["unusable"]


def test_its_direction_follows_from_who_saw_it(said: Said) -> None:
    for told, _, side in _injected(said, "correctable"):
        towards = {"card": "to_card", "port": "to_host"}[told["end"]]
        away = {"card": "to_host", "port": "to_card"}[told["end"]]
        way = {"receiver": towards, "sender": away, "": None}[side]
        assert told["ways"] == {
            name: [1, 1] if name == way else [0, 0] for name in ("to_card", "to_host")
        }


def test_an_error_that_nobody_mends_is_one_however_many_bits_still_stand(said: Said) -> None:
    for told, name, _ in _injected(said, "uncorrectable"):
        end = told["end"]
        assert told["tool"][f"{end} {name}"] == 1
        assert told["unmended"] == _kernel_events(told, end) == 1
        assert told["ways"] == {"to_card": [0, 0], "to_host": [0, 0]}


def test_all_unmended_errors_of_an_end_are_as_many_as_the_kernel_was_told_of(said: Said) -> None:
    for told in said.all("injected_in_all"):
        assert told["unmended"] == told["kernel_messages"] > 1
        assert told["summed"] > told["unmended"], "no bit stood: nothing is shown here"


def test_the_kernels_log_names_the_end_and_counts_what_nobody_mended(said: Said) -> None:
    for told in said.all("injected"):
        assert told["log"], told
        assert {line["whose"] for line in told["log"]} == {told["end"]}
        mended = bool(told["correctable"])
        code = "kernel_bus_error_corrected" if mended else "kernel_bus_error"
        assert {line["code"] for line in told["log"]} == {code}
        assert {line["counts"] for line in told["log"]} == {not mended}
