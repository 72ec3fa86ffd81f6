"""The house keeps its plan: few rooms, none deep or crowded, only the face at the root."""

from __future__ import annotations

from pathlib import Path

import burnin

HOUSE = Path(burnin.__file__).parent
FOLDERS = [
    p for p in HOUSE.rglob("*") if p.is_dir() and not p.name.startswith(("__", "."))
]
READ_ONLY = ("profiles", "guide")
"""No rooms: profiles as an installation has them, and chapters for people."""


def depth(folder: Path) -> int:
    return len(folder.relative_to(HOUSE).parts)


def test_there_are_at_most_nineteen_rooms() -> None:
    """The nineteenth is `stick`: an image of a computer, of which no other room knows anything."""
    rooms = [p for p in FOLDERS if depth(p) == 1 and p.name not in READ_ONLY]
    assert 10 <= len(rooms) <= 19


def test_no_room_is_more_than_two_levels_deep() -> None:
    assert [str(p) for p in FOLDERS if depth(p) > 2] == []


def test_no_folder_is_crowded() -> None:
    crowded = {
        str(p.relative_to(HOUSE)): count
        for p in FOLDERS
        if (count := len([m for m in p.glob("*.py") if m.name != "__init__.py"])) > 25
    }
    assert crowded == {}


def test_at_the_root_is_nothing_but_the_face() -> None:
    assert {p.name for p in HOUSE.glob("*.py")} == {"__init__.py", "__main__.py"}


def test_each_room_says_what_lives_there() -> None:
    for folder in FOLDERS:
        if not any(folder.glob("*.py")):
            continue
        first = (folder / "__init__.py").read_text(encoding="utf-8")
        assert first.startswith('"""'), f"{folder} has no docstring"
        assert len(first) > 60, f"{folder}: {first}"
