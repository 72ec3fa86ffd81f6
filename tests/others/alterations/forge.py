"""What a forger does by hand, one verb a call: `python forge.py VERB ARGUMENTS`.

All that it knows stands in results/README.md: how checks, sums and signatures are made. It has a
key of its own, never the shop's.
"""

import base64
import csv
import hashlib
import io
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

TABLES = ("readings.csv", "samples.csv", "not_read.csv")
LATER = ("stages", "verdict", "reason", "ended", "owed", "ended_utc")


def edit_log(log: str, code: str) -> None:
    """Carry out CODE on `events`, the lines of a ticket's log, and reckon all checks anew."""
    file = Path(log)
    events: list[dict[str, Any]] = [json.loads(line) for line in file.read_text().splitlines()]
    named = {"events": events}
    exec(code, named)
    before = ""
    lines: list[str] = []
    for event in named["events"]:
        body = {key: value for key, value in event.items() if key not in ("before", "check")}
        shown = json.dumps(body | {"before": before}, ensure_ascii=False)
        before = _digest(shown)
        lines.append(f'{shown[:-1]}, "check": "{before}"}}\n')
    file.write_text("".join(lines))


def edit_json(name: str, code: str) -> None:
    """Carry out CODE on `it`, the contents of a JSON file."""
    file = Path(name)
    it = json.loads(file.read_text())
    exec(code, {"it": it})
    file.write_text(json.dumps(it, indent=1, ensure_ascii=False) + "\n")


def edit_rows(name: str, code: str) -> None:
    """Carry out CODE on `rows`, the rows of a CSV file by column."""
    file = Path(name)
    text = file.read_text()
    named: dict[str, Any] = {"rows": list(csv.DictReader(io.StringIO(text))), "json": json}
    exec(code, named)
    _write_rows(file, named["rows"])


def replace(name: str, old: str, new: str) -> None:
    """Put NEW for OLD in a text file; OLD must occur."""
    file = Path(name)
    text = file.read_text()
    if old not in text:
        raise SystemExit(f"{name}: does not hold {old}")
    file.write_text(text.replace(old, new))


def cut(name: str, length: str) -> None:
    """Take LENGTH bytes off the end of a file."""
    file = Path(name)
    file.write_bytes(file.read_bytes()[: -int(length)])


def drop_lines(name: str, first: str, last: str) -> None:
    """Leave out the lines FIRST to LAST, counted as Python slices do."""
    file = Path(name)
    lines = file.read_text().splitlines(keepends=True)
    del lines[int(first) : int(last) if last else None]
    file.write_text("".join(lines))


def swap(one: str, other: str) -> None:
    """Exchange two files or folders."""
    aside = Path(one).with_name(Path(one).name + ".aside")
    Path(one).rename(aside)
    Path(other).rename(one)
    aside.rename(other)


def chain(record: str) -> None:
    """Reckon the checks of a record's tables, what the journal says of them, and its own anew."""
    folder = Path(record)
    shown = {name: _chained(folder / name) for name in TABLES}
    run = json.loads((folder / "run.json").read_text())
    opening = {key: value for key, value in run.items() if key not in LATER}
    text = json.dumps(opening, sort_keys=True, ensure_ascii=False)
    opened = hashlib.sha256(text.encode()).hexdigest()
    journal = folder / "journal.csv"
    rows = list(csv.DictReader(io.StringIO(journal.read_text())))
    told = [json.loads(row["detail"]) for row in rows]
    last = [detail for detail in told if "heads" in detail][-1]["heads"]
    totals = {name: last[name]["rows"] for name in TABLES}
    for row, detail in zip(rows, told, strict=True):
        for name, checks in shown.items():
            if "heads" in detail:
                count = _count(detail["heads"][name]["rows"], totals[name], len(checks) - 1)
                detail["heads"][name] = {"rows": count, "chain": checks[count]}
        if "opening_sha256" in detail:
            detail["opening_sha256"] = opened
        row["detail"] = json.dumps(detail, ensure_ascii=False)
    _write_rows(journal, rows)
    _chained(journal)


def sums(where: str) -> None:
    """Reckon the listed SHA-256 of a folder anew; a listed file that is gone leaves the list."""
    folder = Path(where)
    listed = folder / "checksums.sha256"
    names = [line.split("  ", 1)[1] for line in listed.read_text().splitlines()]
    listed.write_text("".join(
        f"{hashlib.sha256((folder / name).read_bytes()).hexdigest()}  {name}\n"
        for name in names if (folder / name).is_file()))


def list_too(where: str, name: str) -> None:
    """Add a file to the list of sums, in its place by name."""
    listed = Path(where) / "checksums.sha256"
    lines = [*listed.read_text().splitlines(), f"{'0' * 64}  {name}"]
    listed.write_text("".join(f"{line}\n" for line in sorted(lines, key=lambda line: line[66:])))
    sums(where)


def sign(where: str, public: str) -> None:
    """Sign the list of sums with the forger's key; PUBLIC says whose public key is told."""
    folder = Path(where)
    key = _own_key()
    file = folder / "signature.json"
    told = json.loads(file.read_text())
    signature = key.sign((folder / "checksums.sha256").read_bytes())
    told["signature"] = base64.b64encode(signature).decode()
    if public == "own":
        raw = key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)
        told["public_key"] = base64.b64encode(raw).decode()
    file.write_text(json.dumps(told, indent=1) + "\n")


def plant_key(name: str) -> None:
    """Write the forger's public key as the shop's is handed out."""
    pem = _own_key().public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    Path(name).write_bytes(pem)


def fingerprint_anew(handover: str) -> None:
    """Put the fingerprint of a handover's data as it is now on its pages in place of the old."""
    folder = Path(handover)
    listed = (folder / "checksums.sha256").read_text().splitlines()
    old = next(line[:16] for line in listed if line.endswith("  handover.json"))
    new = hashlib.sha256((folder / "handover.json").read_bytes()).hexdigest()[:16]
    for page in folder.glob("*.html"):
        page.write_text(page.read_text().replace(old, new))


def _count(told: int, total: int, now: int) -> int:
    return now if told >= total or told > now else told


def _write_rows(file: Path, rows: list[dict[str, str]]) -> None:
    out = io.StringIO()
    columns = file.read_text().splitlines()[0].split(",")
    writer = csv.DictWriter(out, columns, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    file.write_text(out.getvalue())


def _chained(file: Path) -> list[str]:
    """Reckon the checks of a table's rows anew; gives them all, that of its heading first."""
    heading, *lines = file.read_text().splitlines()
    checks = [_digest(f"{file.name}\n{heading}")]
    anew = [heading]
    for line in lines:
        body = line.rsplit(",", 1)[0]
        checks.append(_digest(f"{checks[-1]}\n{body}"))
        anew.append(f"{body},{checks[-1]}")
    file.write_text("".join(f"{line}\n" for line in anew))
    return checks


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _own_key() -> Ed25519PrivateKey:
    return Ed25519PrivateKey.from_private_bytes(hashlib.sha256(b"the forger's own").digest())


VERBS: dict[str, Callable[..., None]] = {
    verb.__name__.replace("_", "-"): verb
    for verb in (edit_log, edit_json, edit_rows, replace, cut, drop_lines, swap, chain, sums,
                 list_too, sign, plant_key, fingerprint_anew)}


if __name__ == "__main__":
    VERBS[sys.argv[1]](*sys.argv[2:])
