"""Checksums and signature: every change is found, and only the shop signs."""

from __future__ import annotations

import base64
import json
import random
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from burnin.core.errors import BadInput
from burnin.record.sums import write_checksums
from burnin.ticket.handover.meanings import SignedNote, SigningReason
from burnin.ticket.handover.signing import CHECKSUMS, SIGNATURE, sign_record, verify
from burnin.ticket.shop.shop_key import PUBLIC_FILE
from tests.refusals import refused
from tests.report import records
from tests.ticket.tickets import sagen, say


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """A signed record with few samples, so that it is read fast."""
    draft = records.failed()
    draft.samples = draft.samples[::40]
    folder = draft.write(tmp_path / "results" / "4711" / "run")
    write_checksums(folder)
    sign_record(folder)
    return folder


def test_a_record_as_it_left_is_good(record: Path) -> None:
    found = verify(record)
    assert found.good
    assert found.told[0].means(SignedNote.BY_THIS_SHOP)
    assert verify(record / "run.json").good


def test_each_of_200_changed_bytes_is_found(record: Path) -> None:
    chance = random.Random(20260302)
    files = sorted(p for p in record.rglob("*") if p.is_file())
    for _ in range(200):
        file = chance.choice(files)
        whole = file.read_bytes()
        place = chance.randrange(len(whole))
        changed = bytearray(whole)
        changed[place] ^= chance.randrange(1, 256)
        file.write_bytes(bytes(changed))
        found = verify(record)
        assert not found.good, (file.name, place)
        if file.name not in (CHECKSUMS, SIGNATURE):
            assert SigningReason.FILE_CHANGED(file=file.name) in found.faults
        file.write_bytes(whole)
    assert verify(record).good


def test_what_a_cut_left_of_a_signature_does_not_keep_the_record_from_being_signed(
    record: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def cut(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr("os.replace", cut)
        patched.setattr(Path, "replace", cut)
        with pytest.raises(KeyboardInterrupt):
            sign_record(record)
    assert len([path for path in record.iterdir() if SIGNATURE in path.name]) > 1
    write_checksums(record, keep_data=True)
    sign_record(record)
    assert verify(record).good


def test_files_that_came_or_went_are_named(record: Path) -> None:
    (record / "more.txt").write_text("x")
    (record / "samples.csv").unlink()
    faults = verify(record).faults
    assert {say(fault) for fault in faults} == {"samples.csv: is missing", "more.txt: was added"}
    assert {sagen(fault) for fault in faults} == {"samples.csv: fehlt", "more.txt: kam hinzu"}


def test_a_list_that_was_made_anew_is_not_signed(record: Path) -> None:
    (record / "readings.csv").write_text("stage\n")
    write_checksums(record)
    assert verify(record).faults == (SigningReason.LIST_CHANGED(file=CHECKSUMS),)


def test_another_shops_signature_is_told_apart(record: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    sign_record(record, other)
    assert verify(record).faults[0].means(SigningReason.OTHER_KEY)
    assert verify(record, public_key=other / PUBLIC_FILE).good
    nobody = verify(record, tmp_path / "empty")
    assert nobody.faults[0].means(SigningReason.KEY_NOT_KNOWN)


def test_a_record_without_signature_or_checksums_is_not_good(record: Path) -> None:
    (record / SIGNATURE).unlink()
    assert verify(record).faults == (SigningReason.NO_SIGNATURE(file=SIGNATURE),)
    (record / CHECKSUMS).unlink()
    with refused(BadInput, match="nobody can say"):
        verify(record)
    with refused(BadInput, match="is not there"):
        verify(record / "none")


def test_a_list_that_names_files_outside_is_refused(record: Path) -> None:
    with (record / CHECKSUMS).open("a") as out:
        out.write(f"{'0' * 64}  ../../secret\n")
    sign_record(record)
    assert any(fault.means(SigningReason.LINE_CHANGED) for fault in verify(record).faults)


def test_openssl_verifies_the_same_signature(
    record: Path, shop: Path, tmp_path: Path, require_tool: Callable[[str], str]
) -> None:
    # RFC 8032, PureEdDSA; OpenSSL is the outside check.
    openssl = require_tool("openssl")
    content = json.loads((record / SIGNATURE).read_text())
    raw = tmp_path / "signature"
    raw.write_bytes(base64.b64decode(content["signature"]))
    command: list[str | Path] = [openssl, "pkeyutl", "-verify", "-rawin", "-sigfile", raw]
    command += ["-pubin", "-inkey", shop / PUBLIC_FILE, "-in"]
    assert subprocess.run([*command, record / CHECKSUMS], capture_output=True).returncode == 0
    assert subprocess.run([*command, record / "run.json"], capture_output=True).returncode != 0


def test_a_signature_changes_nothing_of_the_list_that_it_signs(record: Path) -> None:
    before = (record / CHECKSUMS).read_bytes()
    (record / SIGNATURE).unlink()
    write_checksums(record)
    assert (record / CHECKSUMS).read_bytes() == before


def test_a_signature_or_list_that_is_far_too_long_is_told(record: Path) -> None:
    whole = (record / SIGNATURE).read_bytes()
    (record / SIGNATURE).write_bytes(whole + b" " * 70_000)
    assert [fault.code for fault in verify(record).faults] == [
        SigningReason.SIGNATURE_NOT_READ.value
    ]
    (record / SIGNATURE).write_bytes(whole)
    (record / CHECKSUMS).write_bytes(b"x" * 20_000_000)
    with refused(BadInput, match=CHECKSUMS):
        verify(record)
