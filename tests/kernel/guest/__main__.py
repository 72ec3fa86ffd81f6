"""Carries out the steps that are named, in their order, in one process.

A step that raises is written down and costs the others nothing.
"""

from __future__ import annotations

import contextlib
import importlib
import sys
import time
import traceback

from tests.kernel.guest.saying import say

_LARGE = ("wgpu", "burnin.engine.vulkan.kind", "burnin.engine.choose", "burnin.run.session")


def main(names: list[str]) -> None:
    for name in _LARGE:  # once, before processes are forked that all want it
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    for name in names:
        began = time.monotonic()
        try:
            importlib.import_module(f"tests.kernel.guest.{name}").carry_out()
        except BaseException:
            say("raised", step=name, traceback=traceback.format_exc())
        say("step", name=name, took_s=round(time.monotonic() - began, 1))


main(sys.argv[1:])
