"""A folder whose files nobody ever answers for: who opens one waits inside the kernel.

It is a file system of user space (linux/fuse.h) that answers for its root and for nothing else. Who
asks for a file, and is sent SIGKILL while the question lies with us, cannot die before it is
answered: just so does a process hang in a driver that does not answer.
"""

from __future__ import annotations

import ctypes
import errno
import os
import struct
import threading
from pathlib import Path

_FORGET, _GETATTR, _INIT, _LOOKUP = 2, 3, 26, 1
_MS_NOSUID_NODEV = 2 | 4
_MNT_FORCE, _MNT_DETACH = 1, 2
_HEADER = struct.Struct("<IIQQIIII")
_ATTR = struct.Struct("<6Q10I")
_FOLDER = 0o040755


class UnansweredFiles:
    """The folder, mounted while inside; raises OSError where this account may not."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.asked = threading.Event()
        """Set once somebody waits for a file."""

    def __enter__(self) -> UnansweredFiles:
        self._device = os.open("/dev/fuse", os.O_RDWR | os.O_CLOEXEC)
        options = f"fd={self._device},rootmode=40000,user_id=0,group_id=0".encode()
        self._system = ctypes.CDLL(None, use_errno=True)
        if self._system.mount(
            b"unanswered", bytes(self.folder), b"fuse", _MS_NOSUID_NODEV, options
        ):
            number = ctypes.get_errno()
            os.close(self._device)
            raise OSError(number, os.strerror(number))
        self._thread = threading.Thread(target=self._answer, daemon=True)
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Nobody need wait any longer."""
        for how in (_MNT_FORCE, _MNT_DETACH):  # the first lets all questions fail
            self._system.umount2(bytes(self.folder), how)
        self._thread.join(10.0)
        os.close(self._device)

    def _answer(self) -> None:
        while True:
            try:
                asked = os.read(self._device, 1 << 17)
            except OSError:
                return
            _, kind, number, node, *_ = _HEADER.unpack_from(asked)
            if kind == _INIT:
                self._reply(number, struct.pack("<IIII", 7, 31, 0, 0) + bytes(48))
            elif kind == _GETATTR and node == 1:
                attributes = _ATTR.pack(1, 0, 0, 0, 0, 0, 0, 0, 0, _FOLDER, 2, 0, 0, 0, 4096, 0)
                self._reply(number, struct.pack("<QII", 3600, 0, 0) + attributes)
            elif kind == _LOOKUP:
                self.asked.set()
            elif kind != _FORGET:
                self._reply(number, b"", -errno.ENOSYS)

    def _reply(self, number: int, content: bytes, error: int = 0) -> None:
        os.write(self._device, struct.pack("<IiQ", 16 + len(content), error, number) + content)
