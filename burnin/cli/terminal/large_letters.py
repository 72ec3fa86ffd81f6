"""A word in letters that can be read from across the bench."""

from __future__ import annotations


def large_letters(word: str, width: int) -> list[str]:
    """The word in letters several rows high, or plain where the terminal is too narrow."""
    from pyfiglet import Figlet

    drawn = str(Figlet(font="standard", width=max(width, 20)).renderText(word)).rstrip("\n")
    lines = [line.rstrip() for line in drawn.split("\n") if line.strip()]
    if len(lines) > 7 or any(len(line) > width for line in lines):
        return [word]
    return lines
