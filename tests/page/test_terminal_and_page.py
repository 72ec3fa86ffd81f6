"""A prompt in a real terminal is answered at the desk; what was half typed there is dropped."""

from __future__ import annotations

import os
import pty
import select
import subprocess
import sys
import time
from pathlib import Path

from burnin.record.reader import read_record
from burnin.record.schema.folders import newest_record
from burnin.run.desk.calling import call
from burnin.run.desk.letters import Answer
from tests.page.one_prompt import one_prompt

WITHOUT = [w for kind in ("memory", "thermal_ramp", "link", "compute") for w in ("--without", kind)]
PATIENT_S = 60.0


def test_an_answer_at_the_desk_ends_the_prompt_in_the_terminal(tmp_path: Path) -> None:
    ours, theirs = pty.openpty()
    results = tmp_path / "results"
    with subprocess.Popen(
        [sys.executable, "-m", "burnin", "run", "-p", one_prompt(tmp_path),
         "--simulated", "dead_output", "--ask", "--results", str(results), *WITHOUT],
        stdin=theirs, stdout=theirs, stderr=theirs,
        env=os.environ | {"BURNIN_SHOP": str(tmp_path / "shop"), "TERM": "xterm"},
    ) as process:  # fmt: skip
        os.close(theirs)
        try:
            said = _until(ours, b"\a")
            os.write(ours, b"maybe")
            folder = newest_record(results)
            assert folder is not None
            assert call(folder, Answer(1, "no")) is None
            said += _until(ours, b"")
        finally:
            process.kill()
            os.close(ours)
    record = read_record(folder)
    assert [entry.detail["answer"] for entry in record.events("Asked")] == ["no"], said
    assert [entry.detail["by"] for entry in record.events("PromptClosed")] == ["page"]
    assert record.run.ended_utc


def _until(handle: int, what: bytes) -> bytes:
    """What the terminal shows up to `what`; empty: until nobody writes to it any more."""
    said, end_s = b"", time.monotonic() + PATIENT_S
    while time.monotonic() < end_s and not (what and what in said):
        ready, _, _ = select.select([handle], [], [], 0.2)
        if not ready:
            continue
        try:
            part = os.read(handle, 4096)
        except OSError:
            break
        said += part
    return said
