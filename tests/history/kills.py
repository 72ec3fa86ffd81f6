"""Kills a sync again and again, two benches at once, and counts what came of it.

``python -m tests.history.kills server 100`` does so with a PostgreSQL of its own, ``folder 100``
with the embedded store, of which two processes want the same. Each process is killed (SIGKILL) at a
call drawn by chance: before or after it reads a place, writes samples, asks or fills the database,
commits. Once all is taken in, the store is compared row by row with one that nobody killed, and the
next begins. Prints kills and what was compared; ends in an error where a row is lost or twice.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import psycopg

from burnin.core.errors import BadInput
from burnin.core.meaning import Meaning
from burnin.history import looked_at, sample_files
from burnin.history import sync as syncing
from burnin.history.meanings import HistoryReason
from burnin.history.server.address import address_of
from burnin.history.server.keeper import ServerKeeper, Shelf, origin_of, server_keeper
from burnin.history.server.laying_out import lay_out
from burnin.history.server.layout import SCHEMA
from burnin.history.server.seal import SealKey
from burnin.history.store import Store
from burnin.history.sync import Wanted, sync, sync_into
from tests.history.conftest import named
from tests.history.contents import Content, content_of_folder, content_of_server
from tests.history.postgres import Server, server
from tests.history.shop import make_shop
from tests.history.shop_files import write_shop

KEY = SealKey.of(b"a key of these tests")
CALLS = (
    (looked_at, "_look_at"), (sample_files, "write_samples"), (syncing, "put_in_place"),
    (Store, "add"), (Store, "ask"), (Store, "remove"), (ServerKeeper, "_copy"),
    (ServerKeeper, "keep"), (psycopg.Connection, "execute"), (psycopg.Copy, "write_row"),
)  # fmt: skip
MOST_CALLS = 400
HELD = (HistoryReason.STORE_HELD, HistoryReason.SERVER_HELD)


def killed_at(count: int) -> None:
    """This process kills itself at its so-many-th call; odd ones once the call has returned."""
    left = count

    def counted(real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **named: Any) -> Any:
            nonlocal left
            left -= 1
            if left == 0 and count % 2 == 0:
                os.kill(os.getpid(), signal.SIGKILL)
            made = real(*given, **named)
            if left <= 0 and count % 2:
                os.kill(os.getpid(), signal.SIGKILL)
            return made

        return call

    for owner, name in CALLS:
        setattr(owner, name, counted(getattr(owner, name)))


def in_a_process(work: Callable[[], object], calls: int) -> int:
    """Begin work that will be killed; the process."""
    child = os.fork()
    if child:
        return child
    try:
        syncing.AT_ONCE = 3
        killed_at(calls)
        work()
    except BaseException as error:
        told = error.told if isinstance(error, BadInput) else ""
        if isinstance(told, Meaning) and told.means(*HELD):
            os._exit(0)
        sys.stderr.write(f"{error!r}\n")
        os._exit(1)
    os._exit(0)


def kill_both(works: list[Callable[[], object]], chance: random.Random) -> int:
    """Carry both out at once, each to be killed; how many were."""
    # As many near the beginning, where little is there yet, as far on.
    drawn = [int(MOST_CALLS ** chance.random()) for _ in works]
    children = [in_a_process(work, calls) for work, calls in zip(works, drawn, strict=True)]
    kills = 0
    for child in children:
        status = os.waitpid(child, 0)[1]
        if os.WIFSIGNALED(status):
            assert os.WTERMSIG(status) == signal.SIGKILL
            kills += 1
        else:
            assert os.waitstatus_to_exitcode(status) == 0
    return kills


def two_benches(folder: Path) -> list[Path]:
    """Two folders of results; one record lies in both."""
    both = []
    for number, prefix in enumerate("RQ"):
        shop = make_shop(5, 3 + number)
        for visit in shop.visits:
            visit.number = visit.number.replace("R", prefix)
        both.append(folder / f"bench{number + 1}")
        write_shop(both[-1], shop, torn=1, edited=1, unclosed=1, old=1)
    shutil.copytree(next(both[0].glob("*/run-1")), both[1] / "2022-12-24" / "copy")
    return both


def bring(to: Server, results: Path) -> None:
    """As the bench that the folder is named after."""
    shelf = Shelf(origin_of(results), KEY)
    with server_keeper(address_of(to.url(results.name)), shelf) as keeper:
        sync_into(keeper, results, Wanted(named, jobs=1))


def of_server(folder: Path, wanted: int, seed: int) -> tuple[int, int]:
    """Kills into a server, and how often all was compared."""
    both, chance, kills, compared = two_benches(folder), random.Random(seed), 0, 0
    with server() as postgres:
        postgres.ask("CREATE ROLE burnin_bench", "CREATE ROLE burnin_office")
        postgres.ask("CREATE ROLE office LOGIN IN ROLE burnin_office")
        for results in both:
            postgres.ask(f"CREATE ROLE {results.name} LOGIN IN ROLE burnin_bench")
        works: list[Callable[[], object]] = [partial(bring, postgres, one) for one in both]
        lay_out(address_of(postgres.url()))
        for results in both:
            bring(postgres, results)
        # Of a record that both hold, the file of whoever came first is named.
        whole, sums = content_of_server(postgres, ("file",)), _sums(postgres)
        while kills < wanted:
            postgres.ask(f"DROP SCHEMA {SCHEMA} CASCADE")
            lay_out(address_of(postgres.url()))
            while kills < wanted and (more := kill_both(works, chance)):
                kills += more
            for results in both:
                bring(postgres, results)
            _compare(content_of_server(postgres, ("file",)), whole)
            assert _sums(postgres) == sums
            compared += 1
    return kills, compared


def _sums(postgres: Server) -> list[tuple[object, ...]]:
    asked = f"SELECT count(*), count(DISTINCT run_key), sum(value_number) FROM {SCHEMA}.readings"
    return postgres.rows(asked)


def of_folder(folder: Path, wanted: int, seed: int) -> tuple[int, int]:
    """Kills into one embedded store by two processes, and how often all was compared."""
    results, chance, kills, compared = two_benches(folder)[1], random.Random(seed), 0, 0
    whole, store = folder / "whole", folder / "killed"
    sync(results, whole, named)
    content = content_of_folder(whole)
    works: list[Callable[[], object]] = [lambda: sync(results, store, named, jobs=1)] * 2
    while kills < wanted:
        shutil.rmtree(store, ignore_errors=True)
        while kills < wanted and (more := kill_both(works, chance)):
            kills += more
        sync(results, store, named)
        _compare(content_of_folder(store), content)
        kept, made = (sorted(p.name for p in one.rglob("*.parquet*")) for one in (store, whole))
        assert kept == made, "samples"
        compared += 1
    return kills, compared


def _compare(found: Content, whole: Content) -> None:
    for name, rows in whole.items():
        lost, twice = rows - found[name], Counter(found[name]) - rows
        assert not lost, f"{name}: lost {list(lost)[:2]}"
        assert not twice, f"{name}: twice or foreign {list(twice)[:2]}"


def main() -> None:
    """Print kills and comparisons."""
    engine, wanted = sys.argv[1], int(sys.argv[2])
    seed = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    folder = Path(tempfile.mkdtemp(prefix="kills-"))
    try:
        made = of_server if engine == "server" else of_folder
        kills, compared = made(folder, wanted, seed)
        sys.stdout.write(f"{engine}: {kills} kills, {compared} stores compared, all rows once\n")
    finally:
        shutil.rmtree(folder)


if __name__ == "__main__":
    main()
