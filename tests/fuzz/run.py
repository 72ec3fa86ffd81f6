"""``python -m tests.fuzz.run``: the long form, one target or all of them."""

from __future__ import annotations

import argparse
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path

from tests.fuzz.loop import Summary, fuzz
from tests.fuzz.shards import fuzz_in_shards
from tests.fuzz.targets import NAMES, target


def main() -> int:
    """Print a line a target, and every uncaught input; exit code 1 where there was one."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--target", action="append", choices=NAMES, default=[])
    asked.add_argument("--all", action="store_true", help="every target")
    asked.add_argument("--inputs", type=int, default=0, help="0: as many as the target asks for")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--most-s", type=float, default=float("inf"), help="a target's processor s")
    asked.add_argument("--processes", type=int, default=1)
    asked.add_argument("--shards", type=int, default=1, help="processes for each target")
    asked.add_argument("--keep", type=Path, default=None, help="folder for uncaught inputs")
    asked.add_argument("--corpus", type=Path, default=None, help="folder of what runs found")
    given = asked.parse_args()
    names = list(NAMES) if given.all else given.target
    if not names:
        asked.error("name a --target, or --all")
    done: list[Summary] = []
    if given.shards > 1 or given.corpus is not None:
        how = {
            "inputs": given.inputs, "seed": given.seed, "most_s": given.most_s,
            "corpus": given.corpus, "keep": given.keep,
        }  # fmt: skip
        with ThreadPoolExecutor(given.processes) as side:
            ways = [side.submit(fuzz_in_shards, n, shards=given.shards, **how) for n in names]
            for way in ways:
                done.append(way.result())
                _tell(done[-1])
        return _end(done)
    with ProcessPoolExecutor(given.processes) as pool:
        how_each = (given.inputs, given.seed, given.most_s, given.keep)
        jobs = [pool.submit(_one, name, *how_each) for name in names]
        for job in jobs:
            found = job.result()
            done.append(found)
            _tell(found)
    return _end(done)


def _end(done: list[Summary]) -> int:
    inputs, hours = sum(s.inputs for s in done), sum(s.processor_s for s in done) / 3600.0
    bad = sum(len(s.uncaught) for s in done)
    print(f"{len(done)} targets, {inputs:,} inputs, {bad} uncaught, {hours:.2f} processor hours")
    return 1 if bad else 0


def _one(name: str, inputs: int, seed: int, most_s: float, keep: Path | None) -> Summary:
    chosen = target(name)
    with tempfile.TemporaryDirectory(prefix="burnin-fuzz-") as room:
        return fuzz(
            chosen,
            Path(room),
            inputs=inputs or chosen.inputs,
            seed=seed,
            until_flat=True,
            most_s=most_s,
            keep=None if keep is None else keep / name,
            told=lambda found: print(f"so far {found.line()}", file=sys.stderr, flush=True),
        )


def _tell(found: Summary) -> None:
    print(found.line(), flush=True)
    for one in found.uncaught.values():
        print(f"    {one.where}: {one.what}", flush=True)


if __name__ == "__main__":
    sys.exit(main())
