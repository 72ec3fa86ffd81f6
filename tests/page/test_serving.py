"""Who gets in: key, certificate and address; ids that bring a page up to date; what is refused."""

from __future__ import annotations

import json
import re
import ssl
import stat
from ipaddress import ip_address
from pathlib import Path

import pytest
from starlette.datastructures import Headers
from starlette.requests import Request
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.core.errors import BadInput
from burnin.page.assets import ASSETS, PAGES, page_html
from burnin.page.serving.app import Page
from burnin.page.serving.certificate import certificate_file, fingerprint
from burnin.page.serving.checks import Door
from burnin.page.serving.key_file import page_key
from burnin.page.serving.streams import Position, news, position_of
from burnin.page.watching import Watching
from burnin.report.languages.catalogue import catalogue, language_names
from tests.others.page.served import served, status_of
from tests.report import records

DOOR = Door(frozenset({"127.0.0.1:8765", "localhost:8765"}), "http", "k" * 32)


def test_the_key_is_its_owners_alone_kept_and_renewed_on_wish(tmp_path: Path) -> None:
    key = page_key(tmp_path / "page")
    file = tmp_path / "page" / "key"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert page_key(tmp_path / "page") == key
    assert page_key(tmp_path / "page", new=True) != key
    file.chmod(0o640)
    with pytest.raises(BadInput):
        page_key(tmp_path / "page")


def test_a_certificate_is_for_its_address_and_made_anew_where_it_is_none(tmp_path: Path) -> None:
    address = ip_address("192.0.2.7")
    path = certificate_file(tmp_path, address)
    told = fingerprint(path)
    assert re.fullmatch(r"([0-9A-F]{2}:){31}[0-9A-F]{2}", told)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert fingerprint(certificate_file(tmp_path, address)) == told
    path.write_bytes(b"torn")
    assert fingerprint(certificate_file(tmp_path, address)) != told
    ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(path, path)


@pytest.mark.parametrize("address", ["0.0.0.0", "::", "bench", "224.0.0.1", "1.2.3", ""])
def test_an_address_that_is_none_or_all_is_refused(address: str) -> None:
    result = CliRunner().invoke(app, ["page", "--address", address])
    assert result.exit_code == 2
    assert "Traceback" not in result.output


def test_a_record_that_is_none_is_refused(tmp_path: Path) -> None:
    result = CliRunner().invoke(app, ["page", str(tmp_path)])
    assert (result.exit_code, "run.json" in result.output) == (2, True)


def test_a_port_that_is_taken_is_named(tmp_path: Path) -> None:
    with served(tmp_path, tmp_path / "shop") as first:
        words = ["page", "--port", str(first.port), "--results", str(tmp_path)]
        result = CliRunner().invoke(app, words, env={"BURNIN_SHOP": str(tmp_path / "shop")})
    assert result.exit_code == 2
    assert str(first.port) in result.output


@pytest.mark.parametrize(
    ("host", "fits"),
    [
        ("127.0.0.1:8765", True), ("LOCALHOST:8765", True), ("127.0.0.1", False),
        ("localhost:8765.attacker.example", False), ("attacker.example", False), ("", False),
    ],
)  # fmt: skip
def test_only_the_page_s_own_names_are_taken(host: str, fits: bool) -> None:
    assert DOOR.host_fits(Headers({"host": host})) is fits


@pytest.mark.parametrize(
    ("headers", "other"),
    [
        ({}, True),
        ({"origin": "http://127.0.0.1:8765"}, False),
        ({"origin": "http://127.0.0.1:8765", "sec-fetch-site": "same-origin"}, False),
        ({"origin": "http://127.0.0.1:8765", "sec-fetch-site": "same-site"}, True),
        ({"origin": "http://127.0.0.1:9999"}, True),
        ({"origin": "null"}, True),
        ({"sec-fetch-site": "cross-site"}, True),
    ],
)
def test_what_acts_must_come_from_the_page_itself(headers: dict[str, str], other: bool) -> None:
    assert DOOR.is_other_site(Headers(headers), acts=True) is other


def request(query: str = "", **headers: str) -> Request:
    raw = [(name.encode(), value.encode("latin-1")) for name, value in headers.items()]
    return Request({"type": "http", "query_string": query.encode(), "headers": raw})


def test_the_key_is_compared_as_a_whole() -> None:
    key = DOOR.key
    assert DOOR.has_key(request(authorization=f"Bearer {key}"), in_address=False)
    assert DOOR.has_key(request(f"key={key}"), in_address=True)
    assert not DOOR.has_key(request(f"key={key}"), in_address=False)
    assert not DOOR.has_key(request(f"key={key}&key={key}"), in_address=True)
    assert not DOOR.has_key(request(authorization=f"Basic {key}"), in_address=True)
    assert not DOOR.has_key(request(authorization="Bearer ÿ"), in_address=False)


def test_a_page_that_comes_back_gets_what_it_lacks_and_no_more(tmp_path: Path) -> None:
    records.passed().write(tmp_path / "2026-03-02" / "a")
    watching = Watching(tmp_path)
    while watching.look():
        pass
    first, position = news(watching, catalogue(), Position())
    assert [part.split(b"\n")[0] for part in first] == [b"event: course", b"event: state"]
    again, _ = news(watching, catalogue(), position_of(str(position)))
    assert [part.split(b"\n")[0] for part in again] == [b"event: state"]
    behind = Position(position.epoch, position.generation, position.revision - 1)
    lacks = json.loads(news(watching, catalogue(), behind)[0][0].split(b"data: ")[1])
    assert (lacks["whole"], len(lacks["at"])) == (False, 1)
    for other in (Position("00000000", 0, 5), Position(position.epoch, 0, 10**11)):
        whole = json.loads(news(watching, catalogue(), other)[0][0].split(b"data: ")[1])
        assert whole["whole"] is True


def test_every_stream_of_news_is_plain_ascii_lines(tmp_path: Path) -> None:
    draft = records.passed()
    draft.facts["ticket"]["number"] = "47\n\n11\r\ndata: {}\u2028event: stop"
    draft.write(tmp_path / "2026-03-02" / "a")
    watching = Watching(tmp_path)
    while watching.look():
        pass
    for part in news(watching, catalogue(), Position())[0]:
        assert part.isascii()
        assert part.count(b"\n") == 4


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("language", language_names())
def test_a_page_has_no_script_or_style_of_its_own_and_asks_nobody_else(
    language: str, name: str
) -> None:
    html = page_html(name, catalogue(language), "xx")
    assert re.findall(r"<script(?![^>]*\ssrc=)", html) == []
    assert re.findall(r"<style|\sstyle=|\son\w+=|javascript:|https?://", html) == []
    named = set(re.findall(r'(?:src|href)="/assets/([^"]+)"', html))
    assert named <= set(ASSETS)


def test_over_tls_the_fingerprint_is_that_of_what_is_served(tmp_path: Path) -> None:
    """Any other address than loopback is served so; this computer's own is the one at hand."""
    import hashlib
    import socket

    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            pytest.skip("this computer has no address but loopback")
        address = probe.getsockname()[0]
    with served(tmp_path, tmp_path / "shop", "--address", address) as page:
        certificate = ssl.get_server_certificate((address, page.port))
        digest = hashlib.sha256(ssl.PEM_cert_to_DER_cert(certificate)).hexdigest().upper()
        pem = next((tmp_path / "shop" / "page").glob("certificate-*.pem"))
        assert fingerprint(pem).replace(":", "") == digest
        context = ssl.create_default_context(cadata=certificate)
        with (
            socket.create_connection((address, page.port)) as plain,
            context.wrap_socket(plain, server_hostname=address) as connection,
        ):
            connection.sendall(f"GET / HTTP/1.1\r\nHost: {page.host}\r\n\r\n".encode())
            assert status_of(connection.recv(4096)) == 200


def test_nothing_that_is_served_can_start_a_load() -> None:
    page = Page(Watching(Path("none")), DOOR, "en", lambda: True)
    inner = page.app()._app  # type: ignore[attr-defined]
    acts = [route.path for route in inner.routes if "POST" in route.methods]
    assert acts == ["/answer", "/stop", "/photo"]
