"""Options of the kernel, its build, its lockdown, the policy of power saving.

Options: Linux Documentation/admin-guide/kernel-parameters.rst and Documentation/fb/modedb.rst;
lockdown: kernel_lockdown(7); the variable of secure boot: UEFI 2.10, 3.3.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from burnin.card.attributes import Attributes
from burnin.card.files import BenchFiles, read_text
from burnin.core.reading import NotMeasured, known
from burnin.run.hindrances.found import Hindrance
from burnin.run.hindrances.meanings import Costs, Hides, Mend
from burnin.run.rights.settings import ASPM_POLICY, COMMAND_LINE, LOCKDOWN, settings_of

SECURE_BOOT = "/sys/firmware/efi/efivars/SecureBoot-8be4df61-93ca-11d2-aa0d-00e098032b8c"
BUILT_AS = "/boot/config-{release}"

_OPTIONS: tuple[tuple[re.Pattern[str], Costs], ...] = tuple(
    (re.compile(pattern, re.ASCII), costs)
    for pattern, costs in (
        (r"pci=(?:\w+,)*noaer(?:,.*)?", Costs.ERRORS),
        (r"pcie_ports=compat", Costs.ERRORS),
        (r"pcie_aspm=off", Costs.ERRORS),
        (r"pci=(?:\w+,)*nommconf(?:,.*)?", Costs.EXTENDED_SPACE),
        (r"nomodeset", Costs.DRIVER),
        (r"(?:modprobe\.blacklist|module_blacklist)=.*\b(?:amdgpu|radeon|nouveau|nvidia|i915|xe)\b.*",
         Costs.DRIVER),
        (r"video=[^:,]+-\d+:.*[eDd]", Costs.OUTPUTS),
        (r"drm(?:_kms_helper)?\.edid_firmware=.+", Costs.OUTPUTS),
    )
)  # fmt: skip
"""Words of the command line that take something from a run."""
_BUILDS: Mapping[str, Costs] = {
    "CONFIG_PCIEAER": Costs.ERRORS,
    "CONFIG_HWMON": Costs.SENSORS,
    "CONFIG_DEBUG_FS": Costs.DEBUG,
    "CONFIG_PRINTK": Costs.KERNEL_LOG,
}
"""Options of a kernel's build without which something cannot be read."""
_CHOSEN = re.compile(r"\[([\w-]+)\]", re.ASCII)
_SLEEPY = ("powersave", "powersupersave")


def hindrances_of_bench(files: BenchFiles) -> Iterator[Hindrance]:
    """All that the bench itself hides."""
    told = settings_of(files)
    for word in (known(told[COMMAND_LINE]) or "").split():
        costs = next((c for pattern, c in _OPTIONS if pattern.fullmatch(word)), None)
        if costs is not None:
            mend = Mend.TAKE_OPTION_AWAY(option=word)
            yield Hindrance(Hides.OPTION(option=word), costs(), mend)
    yield from _built_without(files)
    mode = _chosen(told[LOCKDOWN])
    if mode not in ("", "none"):
        yield Hindrance(Hides.LOCKED_DOWN(mode=mode), Costs.DEBUG(), Mend.SECURE_BOOT())
    if _secure_boot(files):
        yield Hindrance(Hides.SECURE_BOOT(), Costs.UNSIGNED(), Mend.SECURE_BOOT())
    policy = _chosen(told[ASPM_POLICY])
    if policy in _SLEEPY:
        yield Hindrance(Hides.ASPM_POLICY(policy=policy), Costs.SLEEPING_LINK(), Mend.ASPM())


def _chosen(told: str | NotMeasured) -> str:
    """Of several words the one in brackets."""
    found = _CHOSEN.search(known(told) or "")
    return found.group(1) if found else ""


def _built_without(files: BenchFiles) -> Iterator[Hindrance]:
    release = known(Attributes(files, "/proc/sys/kernel").text("osrelease"))
    if release is None:
        return
    try:
        built = read_text(files, BUILT_AS.format(release=release))
    except OSError:
        return  # not every distribution leaves it there
    lines = frozenset(built.splitlines())
    for option, costs in _BUILDS.items():
        if not lines & {f"{option}=y", f"{option}=m"}:
            mend = Mend.OTHER_KERNEL(option=option)
            yield Hindrance(Hides.KERNEL_WITHOUT(option=option), costs(), mend)


def _secure_boot(files: BenchFiles) -> bool:
    """Four bytes of attributes, then the value."""
    try:
        return files.read_bytes(SECURE_BOOT, 16)[4:5] == b"\1"
    except OSError:
        return False
