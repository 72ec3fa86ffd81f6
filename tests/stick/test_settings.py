from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path

import pytest

from burnin.cli.stick.first_start import asked
from burnin.core.errors import BadInput
from burnin.stick.added import FOLDER, add_package
from burnin.stick.bill import bill, debian_versions, locked, other_than_locked
from burnin.stick.copies import copy_new
from burnin.stick.layout import own_id
from burnin.stick.settings import FILE, Settings, read_settings, write_settings
from burnin.stick.starts import menu
from burnin.stick.wish import data, packages

WHOLE = Settings("de", "de", "Europe/Berlin", 'Werkstatt "Lindgren" & Söhne')


def test_settings_are_read_back_as_they_were_written(tmp_path: Path) -> None:
    write_settings(tmp_path / FILE, WHOLE)
    assert read_settings(tmp_path / FILE) == WHOLE


def test_the_example_on_the_stick_may_be_used_as_it_stands(tmp_path: Path) -> None:
    (tmp_path / FILE).write_bytes(data("bench.toml").read_bytes())
    assert read_settings(tmp_path / FILE).complete


@pytest.mark.parametrize(
    "line", ['keyboard = "../x"', 'language = "fr"', 'time_zone = "Mars"', "shop = 3", 'name = "x"']
)
def test_what_is_no_setting_is_refused(tmp_path: Path, line: str) -> None:
    (tmp_path / FILE).write_text(line, encoding="utf-8")
    with pytest.raises(BadInput):
        read_settings(tmp_path / FILE)


def answered(*lines: str) -> tuple[Settings, list[str], list[str]]:
    left, shown, layouts = list(lines), list[str](), list[str]()
    given = asked(Settings(), lambda _: left.pop(0), shown.append, layouts.append)
    assert not left
    return given, shown, layouts


def test_the_first_start_asks_four_things_and_the_keyboard_is_set_at_once() -> None:
    given, shown, layouts = answered("3", "2", "Asia/Tokyo", "Werkstatt Lindgren")
    assert given == Settings("de", "de", "Asia/Tokyo", "Werkstatt Lindgren")
    assert layouts == ["de"]
    assert any("Keyboard / Tastatur" in line for line in shown)
    assert any("Zeitzone" in line for line in shown)


def test_enter_takes_the_first_and_what_is_not_there_is_asked_again() -> None:
    given, _, _ = answered("xx", "", "7", "", "", "")
    assert given == Settings("us", "en", "Europe/Berlin", "")
    assert given.complete


def test_what_is_set_is_not_asked() -> None:
    assert asked(WHOLE, lambda _: pytest.fail("asked"), print, lambda _: None) == WHOLE


def test_copies_are_made_once_and_made_good_after_a_cut(tmp_path: Path) -> None:
    source, target = tmp_path / "journal", tmp_path / "records"
    (source / "run").mkdir(parents=True)
    (source / "run" / "samples.csv").write_bytes(b"a,b\r\n1,2\r\n")
    (source / "run" / "run.json").write_bytes(b"{}")
    assert copy_new(source, target) == 2
    assert copy_new(source, target) == 0
    (target / "run" / "samples.csv").write_bytes(b"a,b\r\n1,")
    (target / "run" / "run.json.burnin-part").write_bytes(b"{")
    (source / "run" / "run.json").write_bytes(b'{"a": 1}')
    assert copy_new(source, target) == 2
    assert (target / "run" / "samples.csv").read_bytes() == b"a,b\r\n1,2\r\n"
    assert copy_new(target, tmp_path / "back") == 2


def test_an_added_package_lies_there_with_its_sum(tmp_path: Path) -> None:
    package = tmp_path / "firmware.deb"
    package.write_bytes(b"!<arch>\ndebian-binary   and more")
    add_package(package, tmp_path)
    told = subprocess.run(
        ["sha256sum", "--status", "-c", "firmware.deb.sha256"], cwd=tmp_path / FOLDER, check=False
    )
    assert told.returncode == 0


def test_the_menu_gives_the_kernel_the_roots_hash_and_where_its_tree_begins() -> None:
    told = menu("ab" * 32, 4096 * 77)
    assert f"burnin.hash={'ab' * 32} burnin.offset={4096 * 77} " in told
    assert not re.search(r"\$(?!\{words\})", told)


def test_the_menu_is_read_by_every_console() -> None:
    assert menu("ab" * 32, 4096).isascii()


def test_no_package_is_named_twice_and_no_network_is_brought_along() -> None:
    assert len(packages()) == len(set(packages()))
    assert not {"network-manager", "openssh-server", "isc-dhcp-client"} & set(packages())


def test_the_bill_names_every_installed_package_and_no_other() -> None:
    status = (
        "Package: libc6\nStatus: install ok installed\nArchitecture: amd64\n"
        "Version: 2.36-9+deb12u10\n"
        "\nPackage: gone\nStatus: deinstall ok config-files\nArchitecture: all\nVersion: 1\n\n"
    )
    found = debian_versions(status)
    assert found == {"libc6": ("2.36-9+deb12u10", "amd64")}
    told = json.loads(bill(found, {"numpy": "2.4.6"}, "a.img", "00" * 32, own_id("bill", "x")))
    assert [part["purl"] for part in told["components"]] == [
        "pkg:deb/debian/libc6@2.36-9%2Bdeb12u10?arch=amd64&distro=bookworm",
        "pkg:pypi/numpy@2.4.6",
    ]
    assert "libc6 2.36-9+deb12u10" in other_than_locked({**found, "libc6": ("2.36-9+deb12u10", "")})


def test_every_package_that_is_named_is_locked() -> None:
    assert set(packages()) <= set(locked())
