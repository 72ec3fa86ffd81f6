"""What of a bench hides something from a run, found in trees of files that say so."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.card.files import HostFiles
from burnin.card.merge import open_bench
from burnin.card.sources.pci_devices import DEVICES
from burnin.core.meaning import Meaning
from burnin.report.languages.catalogue import catalogue
from burnin.run.hindrances.meanings import Costs, Hides, Mend
from burnin.run.hindrances.of_bench import SECURE_BOOT, hindrances_of_bench
from burnin.run.hindrances.of_card import hindrances_of_card
from burnin.run.rights.settings import ASPM_POLICY, COMMAND_LINE, LOCKDOWN
from burnin.sim.bench import simulated_bench


def _put(root: Path, path: str, text: str | bytes) -> None:
    file = root / path.lstrip("/")
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(text.encode() if isinstance(text, str) else text)


@pytest.mark.parametrize(
    ("option", "costs"),
    [
        ("pci=noaer", Costs.ERRORS),
        ("pci=assign-busses,noaer", None),
        ("pcie_ports=compat", Costs.ERRORS),
        ("pci=nommconf", Costs.EXTENDED_SPACE),
        ("nomodeset", Costs.DRIVER),
        ("modprobe.blacklist=nouveau,floppy", Costs.DRIVER),
        ("modprobe.blacklist=floppy", None),
        ("video=DP-1:e", Costs.OUTPUTS),
        ("video=DP-1:1920x1080@60", None),
        ("drm.edid_firmware=DP-1:edid/own.bin", Costs.OUTPUTS),
        ("quiet", None),
        ("pcie_aspm=force", None),
    ],
)
def test_an_option_is_named_with_its_cost(
    tmp_path: Path, option: str, costs: Costs | None
) -> None:
    _put(tmp_path, COMMAND_LINE, f"root=/dev/sda1 {option} ro\n")
    found = list(hindrances_of_bench(HostFiles(tmp_path)))
    assert [one.costs.code for one in found] == ([] if costs is None else [costs.value])
    assert all(one.what == Hides.OPTION(option=option) for one in found)


def test_lockdown_secure_boot_policy_and_build_are_seen(tmp_path: Path) -> None:
    _put(tmp_path, LOCKDOWN, "none integrity [confidentiality]")
    _put(tmp_path, SECURE_BOOT, b"\6\0\0\0\1")
    _put(tmp_path, ASPM_POLICY, "default performance [powersave] powersupersave")
    _put(tmp_path, "/proc/sys/kernel/osrelease", "6.1.0-made-up")
    built = ("# CONFIG_PCIEAER is unset", "CONFIG_HWMON=m", "CONFIG_DEBUG_FS=y", "CONFIG_PRINTK=y")
    _put(tmp_path, "/boot/config-6.1.0-made-up", "\n".join(built))
    whats = [one.what for one in hindrances_of_bench(HostFiles(tmp_path))]
    assert whats == [
        Hides.KERNEL_WITHOUT(option="CONFIG_PCIEAER"),
        Hides.LOCKED_DOWN(mode="confidentiality"),
        Hides.SECURE_BOOT(),
        Hides.ASPM_POLICY(policy="powersave"),
    ]


def test_an_empty_machine_hides_nothing(tmp_path: Path) -> None:
    assert not list(hindrances_of_bench(HostFiles(tmp_path)))


class _Changed:
    """The simulated machine's files, one of them other than it is."""

    def __init__(self, path: str, text: str) -> None:
        self._files = simulated_bench("healthy").files
        self._path, self._text = path, text

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        return self._text.encode() if path == self._path else self._files.read_bytes(path, limit)

    def list_folder(self, path: str) -> list[str]:
        return self._files.list_folder(path)

    def resolve(self, path: str) -> str:
        return self._files.resolve(path)


CARD = "0000:01:00.0"


def _of_card(files: _Changed) -> list[Meaning]:
    (card,) = open_bench(files, this_machine=False, simulated=True).cards()
    return [one.what for one in hindrances_of_card(files, card)]


_LOW, _PART = "0x00000000c0000000 0x00000000cfffffff", "0x0000000000000000 0x000000000fffffff"
_WIDE, _SMALL = "0x0000004000000000 0x000000400fffffff", "0x00000000f0000000 0x00000000f0ffffff"


@pytest.mark.parametrize(
    ("line", "what"),
    [
        (f"{_LOW} 0x000000000014220c", Hides.WINDOWS_LOW(window_mib=256.0)),
        (f"{_WIDE} 0x000000000014220c", None),
        (f"{_PART} 0x000000002014220c", Hides.WINDOW_UNPLACED(window_number=0)),
        (f"{_SMALL} 0x0000000000040200", None),
    ],
)
def test_windows_are_where_the_firmware_put_them(line: str, what: Meaning | None) -> None:
    path = f"{DEVICES}/{CARD}/resource"
    found = _of_card(_Changed(path, line + "\n"))
    assert found == ([] if what is None else [what])


def test_a_card_that_sleeps_is_named() -> None:
    path = f"{DEVICES}/{CARD}/power/runtime_status"
    assert _of_card(_Changed(path, "suspended\n")) == [Hides.ASLEEP()]
    assert _of_card(_Changed(path, "active\n")) == []


@pytest.mark.parametrize("language", ["en", "de"])
def test_each_has_its_words(language: str) -> None:
    words = catalogue(language)
    for code in (*Hides, *Costs, *Mend):
        given = {name: 1 if name.endswith(("_mib", "_number")) else "DP-1" for name in code.fields}
        assert words.say(code(**given))
