"""The page before requests that nobody means well with, one by one and many at a time."""

from __future__ import annotations

import json
import re
import time
import tomllib
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import psutil
import pytest

from burnin.page.serving.checks import HEADERS, MOST_BODY_BYTES
from burnin.page.serving.streams import MOST_STREAMS
from tests.others.page.served import Page, received, served, status_of
from tests.report import records

CASES = tomllib.loads(Path(__file__).with_name("requests.toml").read_text("utf-8"))["case"]
TELLS = b"Ottilie"
MARK = "XLABELX"
MARKUP = f'{MARK}<script>document.title="taken"</script><img src=x onerror=alert(1)>{{{{ 7*7 }}}}'


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One record, of a ticket whose every field is markup."""
    folder = tmp_path_factory.mktemp("results")
    draft = records.conditional()
    draft.facts["ticket"].update(
        number=MARKUP, customer=f"Ottilie {MARKUP}", card_label=MARKUP, technician=MARKUP,
        shop=MARKUP,
    )  # fmt: skip
    draft.write(folder / "2026-03-02" / "20260302T091500Z-1a2b")
    return folder


@pytest.fixture(scope="module")
def page(results: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    with served(results, tmp_path_factory.mktemp("home")) as found:
        yield found


@pytest.fixture(scope="module")
def run_id(page: Page) -> str:
    told = re.search(rb'"run":"([^"]+)"', stream_begin(page))
    assert told is not None, stream_begin(page)[-3000:]
    return told[1].decode()


def stream_begin(page: Page, *headers: str) -> bytes:
    """What an open stream tells first, to the end of its first state; or the refusal."""
    with page.connect() as connection:
        connection.sendall(stream_request(page, *headers))
        found = received(connection, 1 << 20, until=b"event: state\n")
        while b"event: state\n" in found and b"\n\n" not in found.partition(b"event: state\n")[2]:
            found += connection.recv(1 << 14)
        return found


def stream_request(page: Page, *headers: str) -> bytes:
    lines = [f"GET /events?key={page.key} HTTP/1.1", f"Host: {page.host}", *headers, "", ""]
    return "\r\n".join(lines).encode()


def raw_of(case: dict[str, Any], page: Page, run_id: str) -> bytes:
    """The bytes of a case."""
    many = case.get("body_of", case.get("path_of", case.get("header_of", "")))
    many = many.replace("<1024>", "x" * 1024)
    places = {
        "{host}": page.host, "{port}": str(page.port), "{origin}": f"http://{page.host}",
        "{key}": page.key, "{key_begin}": page.key[:-1], "{run}": run_id,
        "{many}": many * case.get("times", 1),
    }  # fmt: skip

    def filled(text: str) -> str:
        for place, value in places.items():
            text = text.replace(place, value)
        return text

    if "raw" in case:
        return filled(case["raw"]).encode("latin-1")
    path = "/" + many * case["times"] if "path_of" in case else filled(case["path"])
    body = filled(case["body"]) if "body" in case else ""
    if "body_of" in case and "body" not in case:
        body = many * case["times"]
    headers = {"Host": page.host, **{n: filled(v) for n, v in case.get("headers", {}).items()}}
    if body and not {"Content-Length", "Transfer-Encoding"} & headers.keys():
        headers["Content-Length"] = str(len(body.encode()))
    lines = [f"{case.get('method', 'GET')} {path} HTTP/1.1"]
    lines += [f"{name}: {value}" for name, value in headers.items() if value]
    if "header_of" in case:
        lines += [many] * case["times"]
    return ("\r\n".join(lines) + "\r\n\r\n" + body).encode()


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_a_hostile_request_gets_what_the_standard_says_and_no_value_of_the_run(
    case: dict[str, Any], page: Page, run_id: str
) -> None:
    reply = page.ask(raw_of(case, page, run_id))
    assert status_of(reply) in case["expect"], reply[:300]
    assert TELLS not in reply
    assert MARK.encode() not in reply
    assert b"gpu_temp" not in reply
    if "lacks" in case:
        assert case["lacks"].encode() not in reply
    assert b"Traceback" not in reply
    assert page.process.poll() is None
    if status_of(reply) in (401, 405):
        needed = b"www-authenticate: bearer" if status_of(reply) == 401 else b"allow: "
        assert needed in reply.lower()


def test_every_reply_of_the_page_has_its_policy(page: Page) -> None:
    for path in ("/", "/assets/page.js", "/events", "/nothing"):
        head = page.ask(f"GET {path} HTTP/1.1\r\nHost: {page.host}\r\n\r\n".encode())
        told = head.partition(b"\r\n\r\n")[0].decode().lower()
        for name, value in HEADERS.items():
            assert f"{name}: {value}".lower() in told
    assert "unsafe" not in HEADERS["content-security-policy"]


def test_markup_is_data_in_json_and_never_in_the_page(page: Page) -> None:
    html = page.ask(f"GET / HTTP/1.1\r\nHost: {page.host}\r\n\r\n".encode())
    assert MARK.encode() not in html
    told = stream_begin(page)
    assert b"Ottilie" not in told  # a customer is nobody's who passes by
    state = re.search(rb"event: state\nid: \S+\ndata: (.+)\n", told)
    assert state is not None
    assert json.loads(state[1])["head"][0].startswith(MARK)


@pytest.mark.parametrize(
    "last",
    [
        "", "0", "-", "deadbeef-0-0", "deadbeef-999999999-999999999999", "x" * 3000,
        "deadbeef--1-5", "../../run.json", "1e9-1-1", "ffffffff-1-1; drop", "ＦＦ-１-１",
        "deadbeef-00000000000000000000000000001-1",
    ],
)  # fmt: skip
def test_an_id_that_is_none_of_ours_counts_as_none(page: Page, last: str) -> None:
    told = stream_begin(page, f"Last-Event-ID: {last}".encode().decode("latin-1"))
    assert status_of(told) == 200
    assert b'"whole":true' in told


def test_more_streams_than_there_may_be_are_refused_and_closed_ones_make_room(page: Page) -> None:
    with ExitStack() as held:
        for _ in range(MOST_STREAMS):
            connection = held.enter_context(page.connect())
            connection.sendall(stream_request(page))
            assert status_of(received(connection, 100, until=b"retry")) == 200
        refused = page.ask(stream_request(page))
        assert status_of(refused) == 503
        assert b"retry-after: " in refused.lower()
    deadline_s = time.monotonic() + 60.0
    while status_of(stream_begin(page)) != 200:
        assert time.monotonic() < deadline_s


def test_a_thousand_requests_on_one_connection_are_answered_one_by_one(page: Page) -> None:
    one = f"GET /nothing HTTP/1.1\r\nHost: {page.host}\r\n\r\n".encode()
    reply = page.ask(one * 1000)
    assert status_of(reply) == 404
    assert page.process.poll() is None


@pytest.mark.long
def test_whoever_is_slow_is_left_and_the_page_serves_others_meanwhile(page: Page) -> None:
    """A head that never ends, a body that never ends, a reader who does not read."""
    begin = f"POST /answer HTTP/1.1\r\nHost: {page.host}\r\nOrigin: http://{page.host}\r\n"
    whole = (
        f"{begin}Authorization: Bearer {page.key}\r\nContent-Type: application/json\r\n"
        f"Content-Length: {MOST_BODY_BYTES}\r\n\r\n{{"
    )
    with page.connect() as head, page.connect() as body, page.connect() as silent:
        head.sendall(begin.encode())
        body.sendall(whole.encode())
        for connection in (head, body, silent):
            connection.settimeout(40.0)
        assert status_of(stream_begin(page)) == 200
        assert status_of(received(body, 4096)) == 408
        assert received(head, 4096) == b""
        assert received(silent, 4096) == b""


def test_what_is_open_and_kept_does_not_grow_with_requests(page: Page) -> None:
    process = psutil.Process(page.process.pid)
    page.ask(stream_request(page), most=100)
    before = process.num_fds()
    for _ in range(100):
        page.ask(f"GET /nothing HTTP/1.1\r\nHost: {page.host}\r\n\r\n".encode())
    deadline_s = time.monotonic() + 60.0
    while process.num_fds() > before + 8:
        assert time.monotonic() < deadline_s
        time.sleep(0.05)
