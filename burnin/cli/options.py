"""Options that several commands have."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Json = Annotated[bool, typer.Option("--json", help="print JSON, for a machine to read")]
Results = Annotated[Path, typer.Option("--results", help="where records are kept")]
Language = Annotated[
    str, typer.Option("--language", help="of what is shown, and of the sheet: en, de")
]


def known_profiles() -> tuple[str, ...]:
    """For the shell: names that may stand behind ``--profile``."""
    from burnin.profile.loader import profile_names

    return profile_names()


def known_scenarios() -> tuple[str, ...]:
    """For the shell: names that may stand behind ``--simulated``."""
    from burnin.sim.scenario.model import cause_scenario_names, scenario_names
    from burnin.sim.scenario.several import bench_names

    return (*scenario_names(), *cause_scenario_names(), *bench_names())
