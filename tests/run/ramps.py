"""Scenarios and profiles for ramps: one stage, and cards with causes of their own."""

from __future__ import annotations

import tomllib
from pathlib import Path

from burnin.core.events import Event, LoadPlanned, Noted
from burnin.core.reading import Reading
from burnin.profile.loader import LoadedProfile, parse_profile
from tests.run.driving import Ran, said

DRY = '[[causes]]\nkind = "coolant"\nstate = "absent"\n'
LIMIT_C = {"water": 75.0, "fans": 90.0}


def loose(factor: float) -> str:
    """A cause: the cooler sits badly."""
    return f'[[causes]]\nkind = "mount"\nresistance_factor = {factor}\n'


def scenario(folder: Path, cooling: str, causes: str = "", card: str = "") -> str:
    """A scenario file; its path."""
    path = folder / "card.toml"
    path.write_text(
        f'name = "card"\ntitle = "A card"\n[card]\ncooling = "{cooling}"\n{card}\n'
        f'[[card.outputs]]\nname = "DP-1"\n{causes}'
    )
    return str(path)


def ramp_profile(
    cooling: str, ramp: str, plan: str = "", *, forecast: bool = True, limit_c: float | None = None
) -> LoadedProfile:
    """A profile of one thermal ramp: its settings, and its own plan where there is one."""
    hot_c = LIMIT_C[cooling] if limit_c is None else limit_c
    text = f"""format = 1
title = "One ramp"
[guards]
gpu_temp_limit_c = {hot_c}
hotspot_temp_limit_c = {hot_c + 20.0}
cooling = "{cooling}"
forecast = {"true" if forecast else "false"}
[[stages]]
stage = "thermal_ramp"
{ramp}
"""
    if plan:
        text += f"[stages.own_plan]\n{plan}\n"
    return parse_profile("ramp", "ramp.toml", text, tomllib.loads(text))


def readings(ran: Ran) -> dict[str, Reading]:
    """The record's readings by name, the last of each."""
    return {r.name: r for r in ran.record.all_readings}


def figure(reading: Reading) -> float:
    """The value of a reading that must be a number."""
    assert isinstance(reading.value, float)
    return reading.value


def planned_w(events: list[Event]) -> list[float]:
    """Powers of the steps as they were planned; rests left out."""
    found = [e.steps[-1][1] for e in events if isinstance(e, LoadPlanned) and e.steps]
    return [w for w in found if w > 60.0]


def notes(events: list[Event]) -> str:
    """All notes of a run, in English."""
    return "\n".join(said(e.note) for e in events if isinstance(e, Noted))
