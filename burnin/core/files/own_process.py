"""What this process is to its system: whose account it runs under, how soon it comes."""

from __future__ import annotations

import getpass
import os
import sys


def gives_way(by: int) -> None:
    """From now on others come first where the processor is short (nice(2))."""
    if sys.platform != "win32":
        os.nice(by)


def own_uid() -> int:
    """Effective number of the account; 0 where the system tells files' owners otherwise.

    Python's stat gives 0 for the owner of every file on Windows, so that both compare alike.
    """
    if sys.platform == "win32":
        return 0
    else:  # each branch is another system's
        return os.geteuid()


def name_of(uid: int) -> str:
    """Name of an account; its number where nobody knows a name."""
    if sys.platform == "win32":
        return _own_name() or str(uid)
    else:
        import pwd

        try:
            return pwd.getpwuid(uid).pw_name
        except KeyError:
            return str(uid)


def group_name_of(gid: int) -> str:
    """Name of a group; its number where nobody knows a name."""
    if sys.platform == "win32":
        return str(gid)
    else:
        import grp

        try:
            return grp.getgrgid(gid).gr_name
        except KeyError:
            return str(gid)


def _own_name() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return ""
