"""The honest story: a shop, two tickets, failed and passed runs, a repair, photos, two handovers.

`Told.copy` gives a case its own copy of all of it, whose places are named in `names`.
"""

import os
import re
import shutil
import signal
import struct
import subprocess
import zlib
from dataclasses import dataclass, replace
from pathlib import Path

HERE = Path(__file__).parent
STEP_WITHIN_S = 60.0
ACCOUNTS = ("home", "forger", "other_bench", "rival")

OPEN = ("{burnin} ticket open --simulated -p {here}/profiles/repair.toml --results {results} "
        "--card 'Corvane Strata 9' ")
RUN = "{burnin} run --unattended --results {results} --simulated {here}/scenarios/"
# Each step with the exit code that the story wants of it.
STEPS: tuple[tuple[int, str], ...] = (
    (0, "{burnin} shop --init && {forger} shop --init && {rival} shop --init"),
    (0, OPEN + "5101 --customer 'Ottilie Maro' --serial 48b02d0000000511 --photo edge.png "
        "--fault 'no image after a fall' --seen 'B54 missing'"),
    (0, OPEN + "5102 --customer 'Ivo Brandt' --serial 48b02d0000000522 --photo back.png "
        "--fault 'slow since a flood' --seen 'bracket bent'"),
    (0, "cp -a results kept/intake"),
    (1, RUN + "ottilie_broken.toml --ticket 5101"),
    (1, RUN + "ivo_broken.toml --ticket 5102"),
    (0, "cp -a results kept/failed"),
    (0, "{burnin} ticket repair 5101 'donor pad on B54' --contacts B54 --results {results}"),
    (0, "{burnin} ticket photo 5101 after.png --for-customer --results {results}"),
    (4, RUN + "ottilie_mended.toml --ticket 5101 --without thermal_ramp"),
    (0, "{burnin} ticket repair 5102 'edge cleaned' --results {results}"),
    (0, RUN + "ivo_mended.toml --ticket 5102"),
    (0, "{burnin} handover 5101 --language en --results {results} > paper1"),
    (0, "cp -a results kept/first"),
    (0, RUN + "ottilie_mended.toml --ticket 5101"),
    (0, RUN + "ivo_mended.toml --ticket 5102 -p {here}/profiles/repair.toml --seed 2"),
    (0, "{burnin} handover 5101 --language en --language de --results {results} > paper2"),
)


@dataclass(frozen=True)
class Told:
    """A folder in which the story was told, and what was printed on the papers handed out."""

    work: Path
    burnin: str

    @property
    def results(self) -> Path:
        """Where tickets and records lie."""
        return self.work / "results"

    def copy(self, work: Path) -> "Told":
        """All of it once more, elsewhere."""
        shutil.copytree(self.work, work, symlinks=True, dirs_exist_ok=True)
        return replace(self, work=work)

    def names(self) -> dict[str, str]:
        """What the placeholders of a case stand for."""
        given = {"burnin": self.burnin, "here": str(HERE), "work": str(self.work),
                 "results": str(self.results), "kept": str(self.work / "kept"),
                 "public": str(self.work / "home/config/burnin/shop-public.pem")}
        for account in ACCOUNTS[1:]:
            told = " ".join(f"{key}={value}" for key, value in self._account(account).items())
            given[account] = f"env {told} {self.burnin}"
        return given

    def places(self) -> dict[str, str]:
        """What the story left: folders, their names, pictures, fingerprints."""
        t1, t2 = self.results / "5101", self.results / "5102"
        found = dict(zip(("failed", "sofar", "passed"), sorted(t1.glob("20*")), strict=True))
        found |= dict(zip(("ivo_failed", "ivo_passed", "ivo_again"), sorted(t2.glob("20*")),
                          strict=True))
        found |= dict(zip(("h1", "h2"), sorted(t1.glob("handover-*")), strict=True))
        named = {key: path.name for key, path in found.items()}
        shown = {key: str(path) for key, path in found.items()} | {"t1": str(t1), "t2": str(t2)}
        shown |= {f"{key}_id": name for key, name in named.items()}
        shown |= {f"fp{n}": self._fingerprint(n) for n in (1, 2)}
        edge, after = self._pictures(t1)
        return shown | {"edge": edge, "after": after, "back": self._pictures(t2)[0]}

    def shell(self, command: str) -> tuple[int, str]:
        """Carry out a command in the shop's account; its exit code, -1 where it never ends."""
        kept = {key: value for key, value in os.environ.items()
                if not key.startswith(("XDG_", "BURNIN_"))}
        env = kept | self._account("home") | {"BURNIN_TECHNICIAN": "Ilse Tarn"}
        with subprocess.Popen(["bash", "-c", command], cwd=self.work, env=env, text=True,
                              stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, errors="replace",
                              stderr=subprocess.STDOUT, start_new_session=True) as begun:
            try:
                said, _ = begun.communicate(timeout=STEP_WITHIN_S)
            except subprocess.TimeoutExpired:
                os.killpg(begun.pid, signal.SIGKILL)
                return -1, f"no end within {STEP_WITHIN_S} s"
        return begun.returncode, said

    def _account(self, name: str) -> dict[str, str]:
        home = self.work / name
        return {"HOME": str(home), "XDG_CONFIG_HOME": str(home / "config"),
                "XDG_STATE_HOME": str(home / "state"), "XDG_DATA_HOME": str(home / "data"),
                "XDG_CACHE_HOME": str(home / "cache")}

    def _fingerprint(self, paper: int) -> str:
        text = (self.work / f"paper{paper}").read_text("utf-8")
        found = re.search(r"fingerprint ([0-9a-f]{16})", text)
        if found is None:
            raise RuntimeError(f"no fingerprint on paper {paper}: {text}")
        return found.group(1)

    def _pictures(self, ticket: Path) -> list[str]:
        log = (ticket / "ticket/events.jsonl").read_text("utf-8")
        return re.findall(r'"kind": "photo".*?"file": "([^"]+)"', log)


def tell(work: Path, burnin: str) -> Told:
    """Tell the story in an empty folder."""
    told = Told(work, burnin)
    for folder in (*ACCOUNTS, "kept"):
        (work / folder).mkdir(parents=True)
    for name, colour in (("edge", (200, 30, 30)), ("after", (30, 200, 30)),
                         ("back", (30, 30, 200)), ("more", (90, 90, 30))):
        (work / f"{name}.png").write_bytes(_picture(colour))
    for wanted, step in STEPS:
        code, said = told.shell(filled(step, told.names()))
        if code != wanted:
            raise RuntimeError(f"the story itself went wrong: {step}: exit {code}\n{said}")
    return told


def filled(step: str, names: dict[str, str]) -> str:
    """A command with its placeholders filled in."""
    for name, value in names.items():
        step = step.replace("{" + name + "}", value)
    return step


def _picture(colour: tuple[int, int, int]) -> bytes:
    """A small PNG of one colour."""
    side = 16
    rows = b"".join(b"\0" + bytes(colour) * side for _ in range(side))
    parts = ((b"IHDR", struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)),
             (b"IDAT", zlib.compress(rows)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in parts)
