"""First content of a long record's page: `python -m tests.benchmarks.page_first_content`.

A record of `--hours` at 20 Hz is made through the real writer (below `--records`, kept there for
the next time), of a run that was cut off and of one that came to its end. For each the page is
served in a process of its own, and one asks for it as a browser does: the page, then its events.
Printed are the seconds from the question for the page to the end of the first state (once while
the record is still being read, and again afterwards), those until all of the curves is told, and
the page's memory. With `--growing` the page follows a record while it is written, as fast as that
goes, with somebody who looks; its memory is printed hour by hour of the run.
"""

from __future__ import annotations

import argparse
import http.client
import json
import multiprocessing
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import psutil

from tests.others.page.served import Page, served
from tests.page.long_records import write_long

DAY, RUN = "2026-03-02", "20260302T091500Z-1a2b"
AGAIN = 5


def events_of(page: Page) -> Iterator[tuple[str, dict[str, object]]]:
    """Every event of a stream, as it comes."""
    connection = http.client.HTTPConnection(page.host, timeout=60.0)
    connection.request("GET", f"/events?language=en&key={page.key}")
    reply = connection.getresponse()
    name = ""
    while line := reply.readline():
        told = line.decode().rstrip("\n")
        if told.startswith("event: "):
            name = told[7:]
        elif told.startswith("data: "):
            yield name, json.loads(told[6:])


def first_state_s(page: Page) -> tuple[float, dict[str, object]]:
    """Seconds from the question for the page to its first state, and that state."""
    began_s = time.perf_counter()
    connection = http.client.HTTPConnection(page.host, timeout=60.0)
    connection.request("GET", "/?language=en")
    connection.getresponse().read()
    for name, told in events_of(page):
        if name == "state":
            return time.perf_counter() - began_s, told
    raise SystemExit("the page ended its events")


def all_told_s(page: Page, began_s: float) -> tuple[float, float]:
    """Seconds until the course reaches the record's end, and the most memory meanwhile, MiB."""
    process, most_mib = psutil.Process(page.process.pid), 0.0
    at_s, reached_s = 0.0, 0.0
    for name, told in events_of(page):
        most_mib = max(most_mib, process.memory_info().rss / 2**20)
        if name == "state":
            at_s = float(str(told["at_s"]))
        elif isinstance(told["at"], list) and told["at"]:
            reached_s = (told["at"][-1] + 1) * float(str(told["width_s"]))
        if at_s and reached_s >= at_s:
            break
    return time.perf_counter() - began_s, most_mib


def growing(hours: float) -> None:
    """Print the page's memory after each hour of a run that it follows."""
    with tempfile.TemporaryDirectory() as home:
        results = Path(home) / "results"
        args = (results / DAY / RUN, hours)
        writer = multiprocessing.Process(target=write_long, args=args, kwargs={"ended": False})
        writer.start()
        with served(results, Path(home) / "shop") as page:
            process = psutil.Process(page.process.pid)
            told: list[str] = []
            for name, state in events_of(page):
                at_s = float(str(state["at_s"])) if name == "state" else 0.0
                if at_s >= 3600.0 * (len(told) + 1) or at_s >= 3600.0 * hours - 1.0:
                    told.append(f"{at_s / 3600.0:.1f} h {process.memory_info().rss / 2**20:.1f}")
                if at_s >= 3600.0 * hours - 1.0:
                    break
        writer.join()
        print(f"followed while it grew, MiB after: {', '.join(told)}")


def main() -> None:
    """Print the figures of both records, or of one that grows."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=8.0)
    parser.add_argument("--records", type=Path, default=Path(tempfile.gettempdir()) / "long")
    parser.add_argument("--growing", action="store_true")
    given = parser.parse_args()
    if given.growing:
        growing(given.hours)
        return
    for kind, ended in (("cut off", False), ("ended", True)):
        results = given.records / f"{kind.replace(' ', '_')}-{given.hours:g}"
        folder = results / DAY / RUN
        if not (folder / "readings.csv").exists():
            began_s = time.perf_counter()
            write_long(folder, given.hours, ended=ended)
            print(f"{kind}: {given.hours:g} h written in {time.perf_counter() - began_s:.1f} s")
        size_mib = sum(path.stat().st_size for path in folder.iterdir()) / 2**20
        with tempfile.TemporaryDirectory() as home:
            began_s = time.perf_counter()
            with served(results, Path(home)) as page:
                up_s = time.perf_counter() - began_s
                first_s, told = first_state_s(page)
                whole_s, most_mib = all_told_s(page, began_s + up_s)
                later = [first_state_s(page)[0] for _ in range(AGAIN)]
                word = told["word"]
                process = psutil.Process(page.process.pid)
                print(
                    f"{kind}, {given.hours:g} h, {size_mib:.0f} MiB: page up after {up_s:.2f} s, "
                    f"first state {1e3 * first_s:.0f} ms after it was asked for"
                    f" (at {told['at_s']} s, {word['text'] if isinstance(word, dict) else word}),"
                    f" later {1e3 * min(later):.0f} to {1e3 * max(later):.0f} ms;"
                    f" all curves after {whole_s:.1f} s; memory at most {most_mib:.0f} MiB,"
                    f" then {process.memory_info().rss / 2**20:.0f} MiB"
                )


if __name__ == "__main__":
    main()
