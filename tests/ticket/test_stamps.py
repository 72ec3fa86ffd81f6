"""Time stamps beside a sheet (RFC 3161), made by OpenSSL with an authority of our own."""

from __future__ import annotations

import random
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.ticket.handover.checking import check
from burnin.ticket.handover.handover import hand_over
from burnin.ticket.handover.meanings import SigningReason
from burnin.ticket.handover.stamps_beside import stamps_in
from burnin.ticket.intake.taking_in import give_up
from burnin.ticket.log.days_and_spans import moment_of, utc_now
from burnin.ticket.stamp.der import NotDer
from burnin.ticket.stamp.meanings import StampNote, StampReason
from burnin.ticket.stamp.token import read_stamp
from tests.ticket.tickets import at, sagen, say, ticket

CONFIG = """
[req]
distinguished_name = name
prompt = no
[name]
CN = Halden Time Service
[ca]
basicConstraints = critical, CA:TRUE
[tsa]
basicConstraints = critical, CA:FALSE
extendedKeyUsage = critical, timeStamping
[plain]
basicConstraints = critical, CA:FALSE
extendedKeyUsage = serverAuth
[ts]
default_tsa = service
[service]
serial = {base}/serial
default_policy = 1.2.3.4.1
digests = sha256, sha384, sha512, sha1
signer_digest = sha256
accuracy = secs:1
ordering = yes
ess_cert_id_chain = no
ess_cert_id_alg = {ess}
"""


class Service:
    """A time stamp service with an authority above it, made by OpenSSL."""

    def __init__(self, base: Path, openssl: str, key: str, ess: str = "sha256") -> None:
        base.mkdir()
        self.base, self._openssl = base, openssl
        (base / "config").write_text(CONFIG.format(base=base, ess=ess))
        (base / "serial").write_text("01\n")
        self.authority = self._certified("ca", "ca", key)
        self.certificate = self._certified("tsa", "tsa", key)

    def _run(self, *words: str | Path) -> None:
        subprocess.run([self._openssl, *words], check=True, capture_output=True, cwd=self.base)

    def _certified(self, name: str, extensions: str, key: str) -> Path:
        kind = ("-algorithm", "RSA", "-pkeyopt", "rsa_keygen_bits:2048")
        if key == "EC":
            kind = ("-algorithm", "EC", "-pkeyopt", "ec_paramgen_curve:P-256")
        self._run("genpkey", *kind, "-out", f"{name}.key")
        common = ("-config", "config", "-days", "30", "-set_serial", f"{len(name) + 7}")
        own = ("req", "-x509", "-new", "-key", f"{name}.key", "-extensions", extensions)
        above = () if name == "ca" else ("-CA", "ca.pem", "-CAkey", "ca.key")
        self._run(*own, *common, *above, "-subj", f"/CN=Halden {name}", "-out", f"{name}.pem")
        return self.base / f"{name}.pem"

    def stamp(
        self,
        file: Path,
        *,
        digest: str = "sha256",
        with_certificate: bool = True,
        token: bool = False,
    ) -> Path:
        """Put a stamp beside a file."""
        asks = ("-cert",) if with_certificate else ()
        self._run("ts", "-query", "-data", file, f"-{digest}", *asks, "-out", "query")
        target = file.with_name(f"{file.name}.tsr")
        self._run(
            *("ts", "-reply", "-config", "config", "-section", "service", "-queryfile", "query"),
            *("-signer", "tsa.pem", "-inkey", "tsa.key", "-out", target),
            *(("-token_out",) if token else ()),
        )
        return target

    def accepts(self, file: Path) -> bool:
        """Whether OpenSSL itself takes the stamp."""
        stamp = file.with_name(f"{file.name}.tsr")
        words = ("ts", "-verify", "-data", file, "-in", stamp, "-CAfile", self.authority)
        command: list[str | Path] = [self._openssl, *words, "-untrusted", self.certificate]
        return subprocess.run(command, check=False, capture_output=True).returncode == 0


@pytest.fixture(scope="module")
def services(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Service]:
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("openssl is not on this machine")
    base = tmp_path_factory.mktemp("services")
    return {
        "rsa": Service(base / "rsa", openssl, "RSA"),
        "ec": Service(base / "ec", openssl, "EC"),
        "older": Service(base / "older", openssl, "RSA", "sha1"),
    }


@pytest.fixture(autouse=True)
def need_openssl(require_tool: Callable[[str], str]) -> None:
    require_tool("openssl")


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A customer's sheet of a ticket that was given up, which needs no run."""
    made = hand_over(give_up(ticket(tmp_path / "results"), "cracked", now=at(1)), now=at(2))
    return made.folder / "customer.pdf"


@pytest.mark.parametrize("name", ["rsa", "ec", "older"])
def test_a_good_stamp_is_kept_and_checked(
    name: str, sheet: Path, services: dict[str, Service]
) -> None:
    service = services[name]
    service.stamp(sheet)
    assert service.accepts(sheet)
    for path in (sheet, sheet.parent, sheet.parents[1]):
        assert check(path).good, [say(f) for f in check(path).faults]
    for trusted in (service.authority, service.certificate):
        found = check(sheet, stamper=trusted)
        assert found.good, [say(f) for f in found.faults]
        (note,) = (n for n in found.told if n.means(StampNote.CHECKED))
        assert abs((moment_of(str(note["time_utc"])) - utc_now()).total_seconds()) < 3600
        assert say(note)
        assert sagen(note)
    assert any(n.means(StampNote.NOT_CHECKED) for n in check(sheet).told)


@pytest.mark.parametrize("digest", ["sha256", "sha384", "sha512"])
def test_every_hash_that_counts_and_the_bare_token(
    digest: str, sheet: Path, services: dict[str, Service]
) -> None:
    service = services["rsa"]
    for token in (False, True):
        service.stamp(sheet, digest=digest, token=token)
        assert check(sheet, stamper=service.authority).good


def test_a_stamp_without_its_certificate_is_checked_with_the_given_one(
    sheet: Path, services: dict[str, Service]
) -> None:
    service = services["ec"]
    service.stamp(sheet, with_certificate=False)
    assert check(sheet, stamper=service.certificate).good
    assert StampReason.OTHER_SERVICE(file=sheet.name) in check(
        sheet, stamper=service.authority
    ).faults


def test_a_stamp_of_another_service_or_of_other_bytes_is_told(
    sheet: Path, services: dict[str, Service]
) -> None:
    services["rsa"].stamp(sheet)
    other = check(sheet, stamper=services["ec"].authority)
    assert other.faults == (StampReason.OTHER_SERVICE(file=sheet.name),)
    page = sheet.with_name("customer.html")
    shutil.move(sheet.with_name("customer.pdf.tsr"), page.with_name("customer.html.tsr"))
    assert check(sheet).good
    assert check(page).faults == (StampReason.OTHER_BYTES(file=page.name),)
    assert not check(sheet.parent).good


def test_a_hash_that_somebody_can_forge_is_not_taken(
    sheet: Path, services: dict[str, Service]
) -> None:
    services["rsa"].stamp(sheet, digest="sha1")
    (fault,) = check(sheet).faults
    assert fault.means(StampReason.NOT_READ)


def test_a_file_that_only_looks_like_a_stamp_is_told(sheet: Path) -> None:
    beside = sheet.with_name("customer.pdf.tsr")
    short = (b"", b"\x30", b"\x30\x82", b"\x30\x03\x02\x01\x02")
    for content in (*short, b"\x30\x80" * 5000, b"x" * (2 << 20)):
        beside.write_bytes(content)
        (fault,) = check(sheet).faults
        assert fault.means(StampReason.NOT_READ, StampReason.NOT_GRANTED)
    beside.unlink()
    (sheet.parent / "nothing.tsr").write_bytes(b"x")
    assert check(sheet.parent).faults == (SigningReason.FILE_ADDED(file="nothing.tsr"),)


def test_a_file_without_a_certificate_is_said(sheet: Path, services: dict[str, Service]) -> None:
    services["rsa"].stamp(sheet)
    with pytest.raises(BadInput) as caught:
        check(sheet, stamper=sheet)
    assert isinstance(caught.value.told, Reason)
    assert say(caught.value.told)


def test_each_of_300_changed_bytes_is_told_or_changes_nothing(
    sheet: Path, services: dict[str, Service]
) -> None:
    # Some bytes of the answer are covered by no signature (the list of hashes, unused attributes):
    # whoever changes those changes neither what was stamped nor when.
    service = services["ec"]
    beside = service.stamp(sheet)
    whole = beside.read_bytes()
    told, chance = read_stamp(whole).info, random.Random(20260302)
    for _ in range(300):
        place = chance.randrange(len(whole))
        changed = bytearray(whole)
        changed[place] ^= chance.randrange(1, 256)
        beside.write_bytes(bytes(changed))
        faults, _ = stamps_in(sheet.parent, service.authority)
        assert faults or read_stamp(bytes(changed)).info == told, place
    for length in range(0, len(whole), 7):
        with pytest.raises(NotDer):
            read_stamp(whole[:length])
