"""What is done at a desk needs no module and no call that only Unix has.

The commands run here with those hidden. What stands for them on another system (`core/files`:
locks, accounts, bytes to the disk) is replaced by its portable half; mypy reads that half for each
system (`mypy --platform win32 burnin`, `mypy --platform darwin burnin`).
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

_HIDDEN = """
import os, select, signal, socket, sys
import burnin.cli.app
from burnin.core.files import disk, own_process, whole_lock
own_process.own_uid = lambda: 0
whole_lock._lock = lambda handle, alone: None
disk._to_disk = os.fsync
disk.sync_folder = lambda folder: None
def read_at(handle, most_bytes, offset):
    os.lseek(handle, offset, os.SEEK_SET)
    return os.read(handle, most_bytes)
disk.read_at = read_at
from burnin.run.desk import listening
def no_socket():
    raise OSError("no local sockets here")
listening.local_socket = no_socket
for name in ("fcntl", "pwd", "grp", "termios", "tty", "pty", "resource"):
    sys.modules[name] = None
for owner, names in (
    (os, "O_NONBLOCK O_CLOEXEC O_DIRECTORY O_NOFOLLOW fdatasync geteuid getuid getgid getegid "
         "fchmod pread pwrite set_blocking sched_getaffinity sysconf major minor mkfifo statvfs"),
    (socket, "AF_UNIX SO_PEERCRED"), (select, "poll POLLIN POLLOUT epoll"),
    (signal, "SIGKILL SIGSTOP SIGUSR1 SIGHUP SIGALRM alarm"),
):
    for name in names.split():
        if hasattr(owner, name):
            delattr(owner, name)
import subprocess  # before: it takes what it needs of these as it is loaded
from burnin.cli.app import app
app(sys.argv[1:], prog_name="burnin")
"""
RECORD = Path(__file__).parents[1] / "data" / "records" / "compute_card_whole"


def hidden(tmp_path: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own, in which Unix's own modules and calls are hidden."""
    program = "import subprocess\n" + _HIDDEN
    return subprocess.run(
        [sys.executable, "-c", program, *arguments],
        cwd=tmp_path, env=_surroundings(tmp_path), capture_output=True, text=True, check=False,
        stdin=subprocess.DEVNULL, timeout=240,
    )  # fmt: skip


def _surroundings(tmp_path: Path) -> dict[str, str]:
    import os

    kept = {name: os.environ[name] for name in ("PATH", "PYTHONPATH") if name in os.environ}
    return kept | {
        "HOME": str(tmp_path), "USERNAME": "wren", "XDG_CONFIG_HOME": str(tmp_path / "settings")
    }


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("contacts", "A11"), "A11"),
        (("explain", str(RECORD)), ""),
        (("ticket", "open", "77", "--customer", "Ottilie Maro", "--card", "Tarn 60"), "77"),
    ],
)
def test_a_command_of_the_desk_works_without_unix(
    tmp_path: Path, arguments: tuple[str, ...], told: str
) -> None:
    ran = hidden(tmp_path, *arguments)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert told in ran.stdout
    assert "Traceback" not in ran.stderr


@pytest.mark.long
def test_a_ticket_from_intake_to_its_sheet_works_without_unix(tmp_path: Path) -> None:
    commands: tuple[tuple[str, ...], ...] = (
        ("ticket", "open", "77", "--customer", "Ottilie Maro", "--card", "Tarn 60"),
        ("measure", "77", "A13-A14", "OL"),
        ("run", "--simulated", "healthy_x8", "--profile", "short_x8", "--ticket", "77",
         "--unattended"),
        ("sheet", "the newest record"),
        ("explain", "77"),
        ("verify", "results/77"),
    )
    for arguments in commands:
        if arguments[0] == "sheet":
            (record,) = (path.parent for path in tmp_path.glob("results/77/*/run.json"))
            arguments = ("sheet", str(record))
        ran = hidden(tmp_path, *arguments)
        assert "Traceback" not in ran.stderr, f"{arguments}: {ran.stderr}"
        assert ran.returncode in (0, 1, 3), f"{arguments}: {ran.stdout}{ran.stderr}"
