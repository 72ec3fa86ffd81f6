"""The board and a ticket's page before folders that are torn, copied, emptied or no ticket's."""

from __future__ import annotations

import io
import json
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from PIL import Image
from typer.testing import CliRunner

from burnin.cli.app import app
from tests.others.page.served import Page, received, served, status_of

LOG = "ticket/events.jsonl"


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("home")


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory, home: Path) -> Path:
    """A ticket, and one of a folder whose number holds markup."""
    folder = tmp_path_factory.mktemp("shop") / "results"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BURNIN_SHOP", str(home))
        said("shop", "--init")
        for number in ("4711", "<b>4712</b>"):
            said(
                "ticket", "open", number, "--simulated", "--customer", "Ottilie Maro",
                "--card", "{{7*7}}", "--fault", "fell", "-p", "short_x8", "--results", str(folder),
            )  # fmt: skip
    return folder


@pytest.fixture(scope="module")
def page(results: Path, home: Path) -> Iterator[Page]:
    with served(results, home) as found:
        yield found


def said(*words: str) -> str:
    told = CliRunner().invoke(app, list(words))
    assert told.exit_code == 0, told.output
    return told.output


def told(page: Page, path: str, event: str, **query: str) -> dict[str, Any]:
    """The first state that a stream tells."""
    asked = urlencode({"key": page.key, "language": "en", **query})
    with page.connect() as connection:
        connection.sendall(f"GET {path}?{asked} HTTP/1.1\r\nHost: {page.host}\r\n\r\n".encode())
        found = received(connection, 1 << 20, until=f"event: {event}\n".encode())
        while b"\n\n" not in found.partition(f"event: {event}\n".encode())[2]:
            found += connection.recv(1 << 14)
    line = found.partition(b"\ndata: ")[2].partition(b"\n")[0]
    state: dict[str, Any] = json.loads(line)
    return state


def photo(page: Page, ticket: str, content: bytes, **headers: str) -> tuple[int, str]:
    """What the page says to a photo."""
    head = {
        "Host": page.host, "Origin": f"http://{page.host}", "Authorization": f"Bearer {page.key}",
        "Content-Type": "image/jpeg", "Content-Length": str(len(content)),
        "burnin-photo-name": "a.jpg", **headers,
    }  # fmt: skip
    lines = "".join(f"{name}: {value}\r\n" for name, value in head.items())
    asked = urlencode({"ticket": ticket, "language": "en"})
    reply = page.ask(f"POST /photo?{asked} HTTP/1.1\r\n{lines}\r\n".encode() + content)
    return status_of(reply), json.loads(reply.partition(b"\r\n\r\n")[2])["told"]


def picture(colour: str) -> bytes:
    kept = io.BytesIO()
    Image.new("RGB", (64, 48), colour).save(kept, "JPEG")
    return kept.getvalue()


def _torn(folder: Path) -> None:
    (folder / LOG).write_bytes((folder / LOG).read_bytes()[:-40])


def _emptied(folder: Path) -> None:
    (folder / LOG).write_bytes(b"")


def _edited(folder: Path) -> None:
    (folder / LOG).write_bytes((folder / LOG).read_bytes().replace(b"7*7", b"8*8"))


def _pipe(folder: Path) -> None:
    (folder / LOG).unlink()
    os.mkfifo(folder / LOG)


def _copied(folder: Path) -> None:
    """Nothing: a copy of a folder is what a file manager leaves."""


@pytest.mark.parametrize(
    ("name", "done"),
    [
        # gave: the first two were on no board and in no fault; a copy was a second open ticket of
        # its number, which took photos; the page of all others said that there was no ticket here
        # any more, and a photo that there was no such ticket
        ("torn", _torn), ("emptied", _emptied), ("edited", _edited), ("pipe", _pipe),
        ("4711 copy", _copied),
    ],
)  # fmt: skip
def test_a_ticket_that_cannot_be_shown_is_named_with_why(
    page: Page, results: Path, name: str, done: Callable[[Path], None]
) -> None:
    folder = results / name
    shutil.copytree(results / "4711", folder)
    done(folder)
    try:
        board = told(page, "/board/events", "board")
        assert [t["name"] for t in board["tickets"]].count(name) == 0
        assert any(name in fault for fault in board["faults"]), board["faults"]
        assert name in told(page, "/ticket/events", "ticket", ticket=name)["gone"]
        assert "here any more" not in told(page, "/ticket/events", "ticket", ticket=name)["gone"]
        status, words = photo(page, name, picture("red"))
        assert status == 409
        assert name in words
        listed = CliRunner().invoke(app, ["tickets", "--results", str(results)])
        assert (listed.exit_code, name in listed.output) == (2, True)
    finally:
        shutil.rmtree(folder)


def test_most_of_a_photo_is_told_as_people_write_it(page: Page) -> None:
    # gave: "a request has at most 6.29146e+07 bytes"
    status, words = photo(page, "4711", b"", **{"Content-Length": str(70 << 20)})
    assert status == 413
    assert "e+" not in words


@pytest.mark.parametrize(
    ("ticket", "content", "headers", "status"),
    [
        ("4711", b"<svg onload='alert(1)'/>", {}, 409),
        ("4711", picture("blue")[:200], {}, 409),
        ("4711", b"", {}, 409),
        ("4711", picture("blue"), {"Content-Type": "text/html"}, 415),
        ("../4711", picture("blue"), {}, 404),
        ("4711/ticket", picture("blue"), {}, 404),
        ("b-4712-b", picture("blue"), {"burnin-photo-name": "..%2F..%2F%3Cimg%3E.sh"}, 200),
        ("b-4712-b", picture("pink"), {"burnin-photo-note": "%3Cscript%3E%0D%0AX: y"}, 200),
    ],
)  # fmt: skip
def test_what_is_no_photo_is_refused_and_a_name_is_never_a_path(
    page: Page, results: Path, ticket: str, content: bytes, headers: dict[str, str], status: int
) -> None:
    found, words = photo(page, ticket, content, **headers)
    assert found == status, words
    kept = [p.name for p in (results / "b-4712-b" / "ticket" / "photos").glob("*")]
    assert all(name.endswith(".jpg") for name in kept)
    assert not list(results.parent.glob("**/*.sh"))
    assert "\n" not in json.dumps(told(page, "/ticket/events", "ticket", ticket=ticket))

