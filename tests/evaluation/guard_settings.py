"""The settings that every evaluation hands to the guard factory."""

from __future__ import annotations

from burnin.profile.guards import Guards
from burnin.profile.loader import load_profile
from burnin.replay.default_settings import RECORDING_DEFAULTS


def settings_of(profile: str | None) -> Guards:
    """A profile's guards, or what a recording is judged by where nobody names a profile."""
    return RECORDING_DEFAULTS if profile is None else load_profile(profile).profile.guards
