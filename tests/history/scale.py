"""How fast records are taken in, and each question is answered, in what memory.

``python -m tests.history.scale write 100000 FOLDER`` makes so many runs of a made-up shop as files,
with torn, edited, unclosed and old ones among them (a hundredth of each). The writer is that of
every run; here no row waits for the disk, as nobody draws the plug. It may be stopped and begun
again. ``… take-in FOLDER [JOBS]`` takes them in and looks again; ``… ask STORE`` asks every
question, each in a process of its own, for time and memory of one do not hang on another's;
``… rows 1000000 STORE`` makes a store of so many runs straight as rows.
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from burnin.history.answer import Asked
from burnin.history.opened import open_history
from burnin.history.questions.registry import QUESTIONS, ask
from burnin.history.rows import arrow
from burnin.history.store import open_to_write, store_folder
from burnin.history.sync import sync
from burnin.history.tables import IN_DATABASE
from tests.history.conftest import named
from tests.history.shop import Planted, Shop, make_shop
from tests.history.shop_files import write_others, write_visit
from tests.history.shop_rows import rows_of_shop

RUNS_A_CARD = 1.42
PLANTED = Planted("joint reflowed", "be4c0003", 0.5, 0.4, "display")
_AT_ONCE = 200
_CARDS_AT_ONCE = 20_000


def write(runs: int, results: Path) -> None:
    """Each part in memory first: files that take another's place are slow on a disk."""
    os.fsync = lambda _: None  # type: ignore[assignment]
    begin = time.perf_counter()
    shop = make_shop(int(runs / RUNS_A_CARD), 1, PLANTED)
    memory = Path("/dev/shm") if os.access("/dev/shm", os.W_OK) else None
    for at in range(0, len(shop.visits), _AT_ONCE):
        part = [v for v in shop.visits[at : at + _AT_ONCE] if not (results / v.number).exists()]
        passing = Path(tempfile.mkdtemp(prefix="shop-", dir=memory))
        try:
            for visit in part:
                write_visit(passing, visit)
            shutil.copytree(passing, results, dirs_exist_ok=True)
        finally:
            shutil.rmtree(passing)
    few = runs // 100
    kept = write_others(results, shop, torn=few, edited=few, unclosed=few, old=few)
    _tell("written", begin, f"{kept}")


def take_in(results: Path, jobs: int) -> None:
    """Into a store of its own, made anew."""
    store = store_folder(results)
    shutil.rmtree(store, ignore_errors=True)
    begin = time.perf_counter()
    found = sync(results, store, named, jobs=jobs)
    took_s = time.perf_counter() - begin
    records = len([*results.glob("*/*/run.json")])
    work_s = sum(
        one.ru_utime + one.ru_stime
        for one in map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    )
    _tell(
        "taken in", begin,
        f"{records} records, {records / took_s:.0f} a second, {records / work_s:.0f} a second of"
        f" a core's work, with their tickets; {len(found.apart)} apart; {_peak()}",
    )  # fmt: skip
    begin = time.perf_counter()
    again = sync(results, store, named)
    _tell("nothing new", begin, f"{again.unchanged} unchanged, {len(again.apart)} apart")
    _tell_bytes(store)


def ask_all(store: Path) -> None:
    """Every question, parted in every way."""
    for name, question in QUESTIONS.items():
        for by in question.ways or ("",):
            command = [sys.executable, "-m", "tests.history.scale", "one", str(store), name, by]
            subprocess.run(command, check=True)


def ask_one(store: Path, name: str, by: str) -> None:
    """One question, with what this process needed for it."""
    with open_history(store) as history:
        # What is loaded at the first question is no part of any.
        history.rows(history.table("runs").select("card_key").limit(1))
        begin, work_s = time.perf_counter(), time.process_time()
        card = history.rows(history.table("tickets").select("card_key").limit(1))[0]["card_key"]
        answer = ask(history, QUESTIONS[name], Asked(by=by, card=card))
        work_s = time.process_time() - work_s
        _tell(f"{name} {by}", begin, f"{work_s:6.2f} s work  {_peak()}  {len(answer.rows)} rows")


def rows(runs: int, store: Path) -> None:
    """Shop after shop into one store, so that memory holds one at a time."""
    begin, made, seed = time.perf_counter(), 0, 0
    while made < runs:
        seed += 1
        shop = make_shop(min(_CARDS_AT_ONCE, int((runs - made) / RUNS_A_CARD) + 1), seed, PLANTED)
        made += _add(store, shop, seed)
    _tell("rows", begin, f"{made} runs; {_peak()}")
    _tell_bytes(store)


def _add(store: Path, shop: Shop, seed: int) -> int:
    for visit in shop.visits:
        visit.number = f"{visit.number}-{seed}"
    rows = rows_of_shop(shop)
    with open_to_write(store) as opened, opened.whole():
        for table in IN_DATABASE:
            opened.add(table, arrow(table, rows[table.name]))
        opened.ask("UPDATE store SET synced_utc = ?", (shop.until,))
    return shop.runs_count


def _peak() -> str:
    kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return f"{kib / 2**10:.0f} MiB at most"


def _tell_bytes(store: Path) -> None:
    files = [path for path in store.rglob("*") if path.is_file()]
    held = sum(path.stat().st_size for path in files)
    base = sum(path.stat().st_size for path in files if path.suffix != ".parquet")
    sys.stdout.write(f"{'store':<22} {held / 2**20:8.1f} MiB, database {base / 2**20:.1f} MiB\n")


def _tell(what: str, begin: float, more: str) -> None:
    sys.stdout.write(f"{what:<22} {time.perf_counter() - begin:8.2f} s    {more}\n")
    sys.stdout.flush()


def main() -> None:
    """Do what is asked."""
    what, *given = sys.argv[1:]
    if what == "write":
        write(int(given[0]), Path(given[1]))
    elif what == "take-in":
        take_in(Path(given[0]), int(given[1]) if len(given) > 1 else 0)
    elif what == "ask":
        ask_all(Path(given[0]))
    elif what == "one":
        ask_one(Path(given[0]), *given[1:])
    elif what == "rows":
        rows(int(given[0]), Path(given[1]))


if __name__ == "__main__":
    main()
