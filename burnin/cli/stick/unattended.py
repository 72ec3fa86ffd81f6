"""What a file on the records partition asks to be done without a hand: runs, then power off.

Nothing but a check of the stick itself puts such a file there. What came of it is told on the
serial port and kept on the records partition.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from dataclasses import asdict

from burnin.cli.stick.child_run import all_mib, carried_out, free_mib, now_in, since_start_s
from burnin.cli.stick.desk import copied
from burnin.core.errors import BadInput
from burnin.core.files.bounded import TEXT_BYTES, read_at_most
from burnin.core.files.disk import replace_whole
from burnin.report.languages.catalogue import catalogue
from burnin.stick.places import Places
from burnin.stick.refusals import StickRefusal
from burnin.stick.tools import carry_out

FILE, TOLD = "unattended.toml", "unattended.json"


def unattended(of: Places, echo: Callable[[str], None]) -> None:
    """Each list of words is given to `burnin run`; raises BadInput for a file that has none."""
    began_s, began_mib = since_start_s(), free_mib()
    runs, language, off = _wanted(of)
    now_in(language, "UTC", of.shop)
    of.shop.mkdir(parents=True, exist_ok=True)
    words = catalogue(language)
    ended = []
    for one in runs:
        echo(f"== burnin run {' '.join(one)}")
        end = carried_out(["run", *one, "--results", str(of.results), "--unattended"])
        ended.append({"words": one, **asdict(end)})
        echo(f"== {json.dumps(ended[-1])}")
    report = {
        "begun_s_after_kernel": began_s,
        "free_mib_at_begin": began_mib,
        "memory_mib": all_mib(),
        "runs": ended,
    }
    replace_whole(of.results / TOLD, json.dumps(report, indent=1).encode())
    copied(of, words, echo)
    echo(f"== {json.dumps(report)}")
    echo("== over")
    if off:
        carry_out(["systemctl", "poweroff"])


def _wanted(of: Places) -> tuple[list[list[str]], str, bool]:
    try:
        content = tomllib.loads(read_at_most(of.now / FILE, TEXT_BYTES).decode("utf-8-sig"))
        runs = [[str(word) for word in one] for one in content["runs"]]
    except (ValueError, KeyError, TypeError):
        raise BadInput(StickRefusal.UNATTENDED_WRONG(file=FILE)) from None
    return runs, str(content.get("language", "en")), bool(content.get("power_off", True))
