"""How fast records are taken in, and each question is answered.

``python -m tests.history.scale 2000`` makes about so many runs of a made-up shop as files, in the
folder of the system's temporary files, with torn, edited and old records among them, takes them in
and asks every question once.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from pathlib import Path

from burnin.history.answer import Asked
from burnin.history.opened import open_history
from burnin.history.questions.registry import QUESTIONS, ask
from burnin.history.sync import sync
from tests.history.conftest import named
from tests.history.shop import Planted, make_shop
from tests.history.shop_files import write_shop

RUNS_A_CARD = 1.42
PLANTED = Planted("joint reflowed", "be4c0003", 0.5, 0.4, "display")


def main() -> None:
    """Print the times."""
    runs = int(sys.argv[1])
    shop = make_shop(int(runs / RUNS_A_CARD), 1, PLANTED)
    results = Path(tempfile.mkdtemp(prefix="history-"))
    few = max(1, runs // 100)
    try:
        begin = time.perf_counter()
        kept = write_shop(results, shop, torn=few, edited=few, unclosed=few, old=few)
        _tell("written", begin, f"{kept}")
        store = results / ".history"
        begin = time.perf_counter()
        found = sync(results, store, named)
        took_s = time.perf_counter() - begin
        records = kept.whole + kept.torn + kept.edited + kept.unclosed + kept.old
        _tell("taken in", begin, f"{records / took_s:.0f} records a second, with their tickets")
        begin = time.perf_counter()
        again = sync(results, store, named)
        _tell("nothing new", begin, f"{again.unchanged} unchanged, {len(found.apart)} apart")
        held = sum(path.stat().st_size for path in store.rglob("*") if path.is_file())
        sys.stdout.write(f"{'store':<22} {held / 2**20:8.1f} MiB\n")
        with open_history(store) as history:
            for name, question in QUESTIONS.items():
                for by in question.ways or ("",):
                    begin = time.perf_counter()
                    answer = ask(history, question, Asked(by=by, card=shop.visits[0].serial))
                    _tell(f"{name} {by}", begin, f"{len(answer.rows)} rows")
    finally:
        shutil.rmtree(results)


def _tell(what: str, begin: float, more: str) -> None:
    sys.stdout.write(f"{what:<22} {time.perf_counter() - begin:8.2f} s    {more}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
