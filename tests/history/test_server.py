"""The shop's PostgreSQL, started for real: what is brought there, who may what, what is seen."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import psycopg
import pytest

from burnin.core.errors import BadInput
from burnin.history.looked_at import Looking
from burnin.history.server.address import address_of
from burnin.history.server.keeper import SEALED, Shelf, origin_of, server_keeper
from burnin.history.server.laying_out import lay_out
from burnin.history.server.layout import SCHEMA
from burnin.history.server.opened import open_server
from burnin.history.server.seal import SealKey
from burnin.history.server.verify import Verified, verify
from burnin.history.sync import Synced, Wanted, sync, sync_into
from tests.history.conftest import OnDisk, named
from tests.history.contents import content_of_folder, content_of_server
from tests.history.postgres import TOOL, Server, server
from tests.history.shop import make_shop
from tests.history.shop_files import write_run, write_shop

KEY = SealKey.of(b"a key of these tests")


@pytest.fixture(scope="session")
def started(require_tool: Callable[[str], str]) -> Iterator[Server]:
    require_tool(TOOL)
    with server() as found:
        found.ask(
            "CREATE ROLE burnin_bench", "CREATE ROLE burnin_office",
            *(f"CREATE ROLE bench{n} LOGIN IN ROLE burnin_bench" for n in (1, 2)),
            "CREATE ROLE office LOGIN IN ROLE burnin_office",
            "CREATE ROLE stranger LOGIN",
        )  # fmt: skip
        yield found


@pytest.fixture
def laid(started: Server) -> Server:
    """The server, laid out anew."""
    started.ask(f"DROP SCHEMA IF EXISTS {SCHEMA} CASCADE")
    assert lay_out(address_of(started.url()))
    return started


def bring(to: Server, results: Path, account: str = "bench1", key: SealKey = KEY) -> Synced:
    shelf = Shelf(origin_of(results), key)
    with server_keeper(address_of(to.url(account)), shelf) as keeper:
        return sync_into(keeper, results, Wanted(named))


def verified(of: Server, results: Path, key: SealKey = KEY) -> Verified:
    shelf = Shelf(origin_of(results), key)
    return verify(address_of(of.url("office")), shelf, results, Looking(named))


@pytest.fixture(scope="module")
def three_cards(tmp_path_factory: pytest.TempPathFactory) -> Path:
    results = tmp_path_factory.mktemp("three")
    write_shop(results, make_shop(3, 3))
    return results


@pytest.fixture
def small(three_cards: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(three_cards, tmp_path / "results"))


def test_the_server_holds_what_the_folder_does(laid: Server, on_disk: OnDisk) -> None:
    found = bring(laid, on_disk.results)
    assert (found.taken, len(found.apart)) == (on_disk.synced.taken, len(on_disk.synced.apart))
    assert content_of_server(laid) == content_of_folder(on_disk.store)
    again = bring(laid, on_disk.results)
    assert (again.taken, again.apart) == (0, ())
    assert content_of_server(laid) == content_of_folder(on_disk.store)
    told = verified(laid, on_disk.results)
    assert told.faults == ()
    assert (told.lines, told.by_files) == (found.taken + len(found.apart), found.taken)


def test_two_benches_with_one_record_count_it_once(laid: Server, small: Path) -> None:
    other = small.parent / "other"
    shutil.copytree(small, other)
    bring(laid, small)
    bring(laid, other, "bench2")
    runs = len([*small.glob("*/run-*")])
    assert laid.rows(f"SELECT count(*), count(DISTINCT run_key) FROM {SCHEMA}.runs") == [
        (runs, runs)
    ]
    tickets = len([*small.iterdir()])
    assert laid.rows(f"SELECT count(*) FROM {SCHEMA}.tickets") == [(tickets,)]
    # What one bench takes out, the other still has.
    shutil.rmtree(other / ".history", ignore_errors=True)
    path = next(small.glob("*/run-1")) / "readings.csv"
    path.write_bytes(path.read_bytes().replace(b"GB/s", b"GB/h", 1))
    assert len(bring(laid, small).apart) == 1
    assert laid.rows(f"SELECT count(*) FROM {SCHEMA}.runs") == [(runs,)]
    told = verified(laid, small)
    assert told.faults == ()


def test_a_move_and_an_edit_are_followed_as_in_a_folder(laid: Server, small: Path) -> None:
    copy = small / "2022-12-24" / "copy"
    shutil.copytree(next(small.glob("*/run-1")), copy)
    store = small.parent / "store"
    for moved in ("moved", "again"):
        bring(laid, small)
        sync(small, store, named)
        assert content_of_server(laid)["runs"] == content_of_folder(store)["runs"]
        copy = copy.rename(copy.with_name(moved))
    path = copy / "readings.csv"
    path.write_bytes(path.read_bytes().replace(b"GB/s", b"GB/h", 1))
    for _ in range(2):  # of a copy that is there still it hears at its next look
        bring(laid, small)
        sync(small, store, named)
    assert content_of_server(laid)["readings"] == content_of_folder(store)["readings"]
    assert verified(laid, small).faults == ()


def test_a_card_that_told_its_uuid_alone_is_one_there_too(laid: Server, tmp_path: Path) -> None:
    visit = make_shop(1, 2).visits[0]
    told = (("S1", "GPU-1"), (None, "GPU-1"), (None, "GPU-2"))
    for number, (serial, uuid) in enumerate(told):
        folder = tmp_path / "day" / f"run-{number}"
        write_run(folder, visit, visit.runs[0], serial=serial, uuid=uuid)
    bring(laid, tmp_path)
    asked = f"SELECT card_key, runs_count FROM {SCHEMA}.cards ORDER BY card_key"
    assert laid.rows(asked) == [("GPU-2", 1), ("S1", 2)]


FORBIDDEN = (
    "UPDATE {s}.kept_readings SET value = '1'",
    "DELETE FROM {s}.kept_runs",
    "TRUNCATE {s}.kept_runs",
    "UPDATE {s}.kept_sources SET state = 'gone'",
    "INSERT INTO {s}.kept_sources (entry, by_role) VALUES ('x', 'bench2')",
    "INSERT INTO {s}.kept_owed (entry) SELECT coalesce(min(entry), '') FROM {s}.mine",
    "DROP TABLE {s}.kept_runs",
    "CREATE OR REPLACE VIEW {s}.shown AS SELECT 'x'::text AS entry",
)


def test_a_bench_may_add_and_nothing_else(laid: Server, small: Path) -> None:
    bring(laid, small)
    before = content_of_server(laid)
    for account in ("bench1", "bench2", "office"):
        for statement in FORBIDDEN:
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                laid.ask(statement.format(s=SCHEMA), account=account)
    assert content_of_server(laid) == before


def test_a_bench_reads_no_other_and_the_office_adds_nothing(laid: Server, small: Path) -> None:
    bring(laid, small)
    assert laid.rows(f"SELECT count(*) FROM {SCHEMA}.mine", "bench2") == [(0,)]
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        laid.rows(f"SELECT * FROM {SCHEMA}.runs", "bench1")
    for account in ("office", "stranger"):
        with pytest.raises(BadInput, match=r"history_server_(rights|not_laid_out)"):
            bring(laid, small, account)
    with (
        pytest.raises(BadInput, match=r"history_server_(rights|not_laid_out)"),
        open_server(address_of(laid.url("stranger"))),
    ):
        pass


def test_not_even_the_owner_changes_a_row_by_mistake(laid: Server, small: Path) -> None:
    bring(laid, small)
    for statement in ("UPDATE {}.kept_runs SET verdict = 'pass'", "DELETE FROM {}.kept_sources"):
        with pytest.raises(psycopg.errors.InsufficientPrivilege, match="only ever added to"):
            laid.ask(statement.format(SCHEMA))


FORGED = {
    "a value": ("UPDATE {s}.kept_readings SET value = '24.0' WHERE entry = {one}", 1),
    "a row more": (
        "INSERT INTO {s}.kept_stages SELECT * FROM {s}.kept_stages WHERE entry = {one} LIMIT 1", 1,
    ),
    "a row less": ("DELETE FROM {s}.kept_stages WHERE entry = {one} AND row = 0", 1),
    "a verdict of a line": ("UPDATE {s}.kept_sources SET state = 'apart' WHERE entry = {one}", 1),
    "a line": ("DELETE FROM {s}.kept_sources WHERE entry = {one}", 1),
    "a seal": ("UPDATE {s}.kept_sources SET seal = 'x' WHERE entry = {one}", 2),
    "another key's": ("UPDATE {s}.kept_sources SET sealed_by = 'x' WHERE entry = {one}", 0),
}  # fmt: skip


@pytest.mark.parametrize("what", FORGED)
def test_what_the_owner_forges_is_seen(laid: Server, small: Path, what: str) -> None:
    """Triggers keep the owner from mistakes; who switches them off is seen by the seals."""
    bring(laid, small)
    statement, faults = FORGED[what]
    one = laid.rows(
        f"SELECT entry FROM {SCHEMA}.kept_sources WHERE kind = 'record' ORDER BY seq LIMIT 1"
    )[0][0]
    laid.ask(
        "SET session_replication_role = replica; "
        + statement.format(s=SCHEMA, one=f"'{one}'")
    )
    told = verified(laid, small)
    assert len(told.faults) == faults
    assert bool(told.faults) or told.not_verified == 1


def test_who_has_the_key_and_forges_is_seen_by_the_files(laid: Server, small: Path) -> None:
    path = next(small.glob("*/run-1")) / "run.json"
    true = path.read_bytes()
    stamps = path.stat()
    bring(laid, small)
    assert verified(laid, small).faults == ()
    record = path.parent.relative_to(small).as_posix()
    # The seal is right, the rows are not those of the file: as if another file had been brought.
    laid.ask(
        "SET session_replication_role = replica;"
        f" UPDATE {SCHEMA}.kept_runs SET verdict = 'conditional' WHERE file = '{record}/run.json'"
    )
    _seal_anew(laid)
    told = verified(laid, small)
    assert [(one.place, one.reason.code) for one in told.faults] == [
        (record, "history_not_as_files")
    ]
    assert (path.read_bytes(), path.stat().st_mtime_ns) == (true, stamps.st_mtime_ns)


def _seal_anew(laid: Server) -> None:
    """What somebody with the key could do: every line sealed over the rows that are there."""
    from burnin.history.server import verify as verifying

    with psycopg.connect(laid.url(), autocommit=True) as connection:
        connection.execute(f"SET search_path TO {SCHEMA}".encode())
        connection.execute("SET session_replication_role = replica")
        walk = verifying._Verifying(connection, Shelf("", KEY), {}, Looking(named))
        with connection.cursor(row_factory=psycopg.rows.dict_row) as cursor:
            lines = cursor.execute("SELECT * FROM kept_sources ORDER BY origin, seq").fetchall()
        before = ""
        for line in lines:
            rows = walk._rows([line["entry"]])[line["entry"]]
            seal = KEY.seal(before, [line[name] for name in SEALED], rows)
            connection.execute(
                "UPDATE kept_sources SET seal = %s, seal_before = %s WHERE entry = %s",
                (seal, before, line["entry"]),
            )
            before = seal


def test_another_benchs_key_is_not_verified_and_said_so(laid: Server, small: Path) -> None:
    bring(laid, small, key=SealKey.of(b"another"))
    told = verified(laid, small)
    assert (told.lines, told.faults) == (0, ())
    assert told.not_verified == len([*small.glob("*/run-*")]) + len([*small.iterdir()])


def test_a_server_without_tables_says_how_they_are_made(started: Server, small: Path) -> None:
    started.ask(f"DROP SCHEMA IF EXISTS {SCHEMA} CASCADE")
    with pytest.raises(BadInput, match="history_server_not_laid_out"):
        bring(started, small)
    assert lay_out(address_of(started.url()))
    assert not lay_out(address_of(started.url()))
    with pytest.raises(BadInput, match="history_no_store"), open_server(
        address_of(started.url("office"))
    ):
        pass
