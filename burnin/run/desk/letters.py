"""What goes over the desk's socket: one line of JSON each way, then the connection ends.

``{"answer": "yes", "prompt": 3}`` or ``{"stop": true}`` go in; ``{"done": true}`` or
``{"refused": {"code": …}}`` come out.
"""

from __future__ import annotations

import json
import socket
from collections.abc import Mapping
from dataclasses import dataclass

from burnin.core.meaning import Reason

MOST_BYTES = 4096
MOST_ANSWER = 200
"""Characters of an answer: prompts are short, and so is what is said to them."""
IN_TIME_S = 2.0
"""Longest that either end waits for the other."""


@dataclass(frozen=True)
class Answer:
    """An answer to the prompt of a number."""

    number: int
    text: str


@dataclass(frozen=True)
class Stop:
    """The run is to end, its load first."""


Letter = Answer | Stop


def letter_of(line: bytes) -> Letter | None:
    """What was asked for; None where it is neither of the two things."""
    content = _object(line)
    if content is None:
        return None
    if content.keys() == {"stop"} and content["stop"] is True:
        return Stop()
    number, text = content.get("prompt"), content.get("answer")
    if content.keys() != {"prompt", "answer"} or not isinstance(text, str):
        return None
    if isinstance(number, bool) or not isinstance(number, int):
        return None
    return Answer(number, text)


def as_line(letter: Letter) -> bytes:
    """A letter as it goes over the socket."""
    content: dict[str, object] = {"stop": True}
    if isinstance(letter, Answer):
        content = {"answer": letter.text, "prompt": letter.number}
    return json.dumps(content).encode() + b"\n"


def reply_line(refused: Reason | None) -> bytes:
    """What is said to a letter."""
    content = {"done": True} if refused is None else {"refused": refused.as_plain()}
    return json.dumps(content).encode() + b"\n"


def refusal_of(line: bytes) -> Reason | None:
    """Why the letter was refused, None where it was done; raises ValueError where neither."""
    content = _object(line)
    if content is not None and content.get("done") is True:
        return None
    refused = None if content is None else content.get("refused")
    if not isinstance(refused, Mapping):
        raise ValueError("no reply")
    return Reason.from_plain(refused)


def line_from(connection: socket.socket) -> bytes:
    """One line, without its end; raises OSError, and ValueError where it is too long."""
    found = b""
    while b"\n" not in found:
        part = connection.recv(MOST_BYTES + 1 - len(found))
        found += part
        if len(found) > MOST_BYTES:
            raise ValueError("too long")
        if not part:
            break
    return found.partition(b"\n")[0]


def _object(line: bytes) -> dict[str, object] | None:
    try:
        content = json.loads(line)
    except (ValueError, RecursionError):
        return None
    return content if isinstance(content, dict) else None
