"""A profile whose display stage asks for a screen and not for its picture: one prompt in a run."""

from __future__ import annotations

from pathlib import Path

from burnin.profile.loader import load_profile


def one_prompt(folder: Path) -> str:
    """Path of `short_x8` without questions about pictures."""
    text = load_profile("short_x8").text
    path = folder / "one_prompt.toml"
    folder.mkdir(parents=True, exist_ok=True)
    path.write_text(text.replace('stage = "display"', 'stage = "display"\npicture = "off"'))
    return str(path)
