"""A photo from a phone goes onto the ticket as `burnin ticket photo` puts it; nothing else does."""

from __future__ import annotations

import io
import json
import stat
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pytest
from PIL import Image

from burnin.page.tickets.watch import TicketsWatch
from burnin.ticket.intake.photos import FOLDER, MOST_BYTES, is_whole
from burnin.ticket.log.store import add, read_ticket
from tests.others.page.served import Page, received, served, status_of
from tests.ticket import tickets

MARKUP = '../../<img src=x onerror=alert(1)>.jpg'


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("bench") / "results"


@pytest.fixture(scope="module")
def page(results: Path) -> Iterator[Page]:
    """The page, with somebody who looks at the board: tickets are known while somebody looks."""
    home = results.with_name("shop")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BURNIN_SHOP", str(home))
        patch.setenv("BURNIN_TECHNICIAN", "J. Wren")
        folder = tickets.ticket(results, "4711").folder
        tickets.run_of(read_ticket(results, "4711"), 1.0)
        next(folder.glob("*/run.json")).with_name("sheet.pdf").write_bytes(b"%PDF-1.7 sheet")
        add(tickets.ticket(results, "4700"), "closed", {})
        with served(results, home) as found, looking(found, "/board/events?"):
            yield found


class looking:  # noqa: N801 - used as a context, as `served` is
    """An open stream of events; `events` is what came so far."""

    def __init__(self, page: Page, address: str) -> None:
        self._connection = page.connect()
        request = f"GET {address}&key={page.key} HTTP/1.1\r\nHost: {page.host}\r\n\r\n"
        self._connection.sendall(request.encode())
        self.raw = received(self._connection, 1 << 20, until=b"data: ")
        self._connection.settimeout(60.0)
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        while part := self._part():
            self.raw += part

    def _part(self) -> bytes:
        try:
            return self._connection.recv(1 << 16)
        except OSError:
            return b""

    def until(self, what: bytes, seconds: float = 60.0) -> float:
        """Seconds until `what` was told."""
        began_s = time.monotonic()
        while what not in self.raw:
            assert time.monotonic() - began_s < seconds, self.raw[-2000:]
            time.sleep(0.01)
        return time.monotonic() - began_s

    def __enter__(self) -> looking:
        return self

    def __exit__(self, *_: object) -> None:
        self._connection.close()


def picture(shade: int, kind: str = "JPEG") -> bytes:
    out, image = io.BytesIO(), Image.new("RGB", (900, 600), (shade, 90, 60))
    image.save(out, kind, **({"exif": _exif()} if kind == "JPEG" else {}))
    return out.getvalue()


def _exif() -> Image.Exif:
    exif = Image.Exif()
    exif[0x010F] = "maker of the phone"
    return exif


def sent(page: Page, body: bytes, ticket: str = "4711", **headers: str) -> tuple[int, str]:
    """The reply to a picture that is sent: its status, and what it tells."""
    given = {
        "Host": page.host, "Origin": f"http://{page.host}", "Authorization": f"Bearer {page.key}",
        "Content-Type": "image/jpeg", "Content-Length": str(len(body)),
        **{name.replace("_", "-"): value for name, value in headers.items()},
    }  # fmt: skip
    lines = [f"POST /photo?ticket={quote(ticket, safe='')} HTTP/1.1"]
    lines += [f"{name}: {value}" for name, value in given.items() if value]
    reply = page.ask("\r\n".join([*lines, "", ""]).encode() + body)
    head, _, told = reply.partition(b"\r\n\r\n")
    return status_of(head), json.loads(told)["told"] if told else ""


def got(page: Page, address: str, *, key: bool = True) -> bytes:
    told = f"Authorization: Bearer {page.key}\r\n" if key else ""
    return page.ask(f"GET {address} HTTP/1.1\r\nHost: {page.host}\r\n{told}\r\n".encode())


def test_a_photo_goes_onto_the_ticket_and_two_who_look_see_it_within_a_second(
    page: Page, results: Path
) -> None:
    content = picture(10)
    name, note = quote(MARKUP, safe=""), quote("pads “B14”\n<b>gone</b>", safe="")
    with (
        looking(page, "/ticket/events?ticket=4711") as one,
        looking(page, "/ticket/events?language=de&ticket=4711") as other,
    ):
        status, told = sent(page, content, Burnin_Photo_Name=name, Burnin_Photo_Note=note)
        assert (status, told) == (200, "The photo is on the ticket.")
        assert one.until(b"onerror") < 60.0
        assert other.until(b"onerror") < 60.0
    ticket = read_ticket(results, "4711")
    photo = ticket.photos[-1]
    assert photo.original == "<img src=x onerror=alert(1)>.jpg"
    assert photo.note == "pads “B14” <b>gone</b>"
    assert is_whole(ticket, photo)
    assert (ticket.folder / FOLDER / photo.file).read_bytes() == content
    assert stat.S_IMODE((ticket.folder / FOLDER).stat().st_mode) == 0o700
    assert not stat.S_IMODE((ticket.folder / FOLDER / photo.file).stat().st_mode) & 0o077
    assert sent(page, content)[0] == 409  # it is there already
    assert len(read_ticket(results, "4711").photos) == len(ticket.photos)


def test_a_photo_is_given_small_and_without_what_the_camera_wrote(
    page: Page, results: Path
) -> None:
    sent(page, picture(20))
    file = read_ticket(results, "4711").photos[-1].file
    with looking(page, "/ticket/events?ticket=4711") as stream:
        stream.until(f'"file":"{file}"'.encode())
    reply = got(page, f"/photo?ticket=4711&photo={file}")
    head, _, small = reply.partition(b"\r\n\r\n")
    assert status_of(head) == 200
    assert b"content-type: image/jpeg" in head.lower()
    assert b"maker of the phone" not in small
    with Image.open(io.BytesIO(small)) as image:
        assert max(image.size) == 560
    assert status_of(got(page, f"/photo?ticket=4711&photo={file}", key=False)) == 401


@pytest.mark.parametrize(
    ("body", "headers", "status"),
    [
        (b"<html>", {}, 409),
        (picture(30)[:-400], {}, 409),
        (b"", {}, 409),
        (picture(31), {"Content_Type": "text/html"}, 415),
        (picture(31), {"Content_Type": ""}, 415),
        (picture(31), {"Authorization": ""}, 401),
        (picture(31), {"Authorization": "Bearer guessed"}, 401),
        (picture(31), {"Origin": ""}, 403),
        (picture(31), {"Origin": "http://attacker.example"}, 403),
        (picture(31), {"Sec_Fetch_Site": "cross-site"}, 403),
        (picture(31), {"Host": "attacker.example"}, 421),
        (b"", {"Content_Length": str(MOST_BYTES + 1)}, 413),
        (b"", {"Content_Length": "", "Transfer_Encoding": "chunked"}, 411),
    ],
    ids=[
        "no picture", "a part of one", "nothing", "another type", "no type", "no key", "wrong key",
        "no origin", "another site", "by fetch", "another host", "too large", "no size",
    ],
)  # fmt: skip
def test_what_is_no_picture_of_the_page_s_own_is_refused_and_nothing_is_kept(
    page: Page, results: Path, body: bytes, headers: dict[str, str], status: int
) -> None:
    before = read_ticket(results, "4711").photos
    assert sent(page, body, **headers)[0] == status
    assert read_ticket(results, "4711").photos == before
    kept = {path.name for path in (results / "4711" / FOLDER).glob("*")}
    assert kept == {photo.file for photo in before}


@pytest.mark.parametrize(
    ("ticket", "status"),
    [
        ("4700", 409), ("4712", 404), ("", 404), ("..", 404), ("../results/4711", 404),
        ("4711/", 404), ("4711\0", 404), ("2026-03-02", 404),
    ],
)  # fmt: skip
def test_a_photo_goes_onto_an_open_ticket_only(
    page: Page, results: Path, ticket: str, status: int
) -> None:
    assert sent(page, picture(40), ticket)[0] == status
    assert not (results / "4700" / FOLDER).exists()


def test_only_the_sheets_of_a_ticket_are_given_and_never_shown_here(
    page: Page, results: Path
) -> None:
    run = next((results / "4711").glob("*/run.json")).parent.name
    reply = got(page, f"/file?ticket=4711&of=4711/{run}&file=sheet.pdf")
    head = reply.partition(b"\r\n\r\n")[0].lower()
    assert status_of(reply) == 200
    assert b"content-disposition: attachment" in head
    assert b"content-type: application/octet-stream" in head
    for of, file in (
        (f"4711/{run}", "run.json"), (f"4711/{run}", "../../../shop/key.pem"), ("4711", "events"),
        (f"4711/{run}", "%2e%2e/ticket/events.jsonl"), ("4700", "sheet.pdf"), ("..", "sheet.pdf"),
        (f"4711/{run}", "/etc/passwd"), ("", ""),
    ):  # fmt: skip
        assert status_of(got(page, f"/file?ticket=4711&of={of}&file={file}")) == 404
    for photo in ("", "..", "../events.jsonl", "..%2f..%2fticket%2fevents.jsonl", "x.jpg"):
        assert status_of(got(page, f"/photo?ticket=4711&photo={photo}")) == 404
    address = f"/file?ticket=4711&of=4711/{run}&file=sheet.pdf"
    assert status_of(got(page, address, key=False)) == 401
    assert status_of(got(page, f"{address}&key={page.key}", key=False)) == 401


def test_ten_who_send_at_once_lose_no_photo(results: Path, page: Page) -> None:
    before = len(read_ticket(results, "4711").photos)
    replies: list[tuple[int, str]] = []

    def send(shade: int) -> None:
        while (reply := sent(page, picture(shade, "PNG"), Content_Type="image/png"))[0] == 503:
            time.sleep(0.05)
        replies.append(reply)

    threads = [threading.Thread(target=send, args=(100 + n,)) for n in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [status for status, _ in replies] == [200] * 10, replies
    photos = read_ticket(results, "4711").photos
    assert len(photos) == before + 10
    assert len({photo.sha256 for photo in photos}) == len(photos)


def test_nothing_is_looked_at_while_nobody_looks(results: Path) -> None:
    watch = TicketsWatch(results)
    watch.begin()
    assert watch.tickets() == []
    with watch.shown():
        while not watch.looked:
            time.sleep(0.01)
        assert [seen.name for seen in watch.tickets()] == ["4711", "4700"]
    watch.end()


@pytest.mark.parametrize(
    "address",
    [
        "/board/events", "/ticket/events?ticket=4711", "/round/events", "/events?record=4711/x",
        "/photo?ticket=4711&photo=x.jpg", "/file?ticket=4711&of=4711&file=x", "/board/events?key=x",
    ],
)  # fmt: skip
def test_nothing_is_told_without_the_key(page: Page, address: str) -> None:
    reply = got(page, address, key=False)
    assert status_of(reply) == 401
    assert b"Ottilie" not in reply
    assert b"4711" not in reply
