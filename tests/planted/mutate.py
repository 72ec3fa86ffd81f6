"""Draw small changes by chance and carry each out against the tests that call it.

``python -m tests.planted.mutate [--module FILE] [--sample 40] [--seed 1]``: every module of
`groups.toml`, or those named. What was found is kept and taken over while modules and tests are the
same, so that a long run goes on where it was stopped. Printed at the end: killed, of how many, by
module, with the lower 95 % bound (Clopper-Pearson, one-sided); then every survivor with its change,
and why it may live where `survivors.toml` says so.
"""

from __future__ import annotations

import argparse
import json
import sys
import tomllib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from scipy.stats import beta

from tests.planted.mutants import Group, Mutant, State, carried_out, groups
from tests.planted.tree import KEPT

RESULTS = KEPT / "mutants.json"
REASONS = Path(__file__).parent / "survivors.toml"


def main(words: list[str]) -> int:
    """Carry out what is not known yet, group by group, and print all of it."""
    parser = argparse.ArgumentParser(prog="python -m tests.planted.mutate")
    parser.add_argument("--module", action="append", default=[], metavar="FILE")
    parser.add_argument("--sample", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--results", type=Path, default=RESULTS)
    parser.add_argument("--told", action="store_true", help="print what is known, try nothing")
    asked = parser.parse_args(words)
    wanted = asked.module or [module for group in groups() for module in group.modules]
    found: list[Mutant] = []
    untried = False
    for group in groups():
        modules = [module for module in group.modules if module in wanted]
        try:
            found += _of_group(group, modules, asked)
        except RuntimeError as error:
            untried = True
            print(error, file=sys.stderr, flush=True)
    print(told(found))
    return 1 if untried else 0


def _of_group(group: Group, modules: list[str], asked: argparse.Namespace) -> list[Mutant]:
    """What became of a group's sample: as it is kept, the rest carried out and kept."""
    kept = _kept(asked.results)
    keys: dict[str, dict[str, object]] = {
        m: {"digest": group.digest_of(m), "sample": asked.sample, "seed": asked.seed}
        for m in modules
    }
    known = {m: kept[m]["mutants"] for m in modules if m in kept and kept[m]["key"] == keys[m]}
    missing = [module for module in modules if module not in known]
    if missing and not asked.told:
        print(f"{group.name}: {', '.join(missing)}", file=sys.stderr, flush=True)
        tried = carried_out(group, missing, asked.sample, asked.seed, asked.processes)
        kept = _kept(asked.results)  # another process may have tried other modules meanwhile
        for module in missing:
            rows = [vars(mutant) for mutant in tried if mutant.module == module]
            known[module] = rows
            kept[module] = {"key": keys[module], "mutants": rows}
        asked.results.parent.mkdir(parents=True, exist_ok=True)
        asked.results.write_text(json.dumps(kept, indent=1), encoding="utf-8")
    return [
        Mutant(**{**row, "state": State(row["state"])}) for rows in known.values() for row in rows
    ]


def _kept(results: Path) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if results.exists():
        found = json.loads(results.read_text(encoding="utf-8"))
    return found


def lower_bound(killed: int, tried: int, confidence: float = 0.95) -> float:
    """The share that is killed at least, one-sided (Clopper-Pearson); 0 of none."""
    if killed == 0:
        return 0.0
    return float(beta.ppf(1.0 - confidence, killed, tried - killed + 1))


def told(found: Sequence[Mutant]) -> str:
    """Figures by module, the sum, and every survivor."""
    lines = [f"{'killed':>7} {'of':>5}  {'at least':>8}  module"]
    for module in dict.fromkeys(mutant.module for mutant in found):
        lines.append(_line(module, [m for m in found if m.module == module]))
    lines.append(_line("all", found))
    reasons = may_live()
    for mutant in found:
        if mutant.state is not State.KILLED:
            why = reasons.get(mutant.change, "")
            lines += ["", f"{mutant.state}: {mutant.name}" + (f" ({why})" if why else "")]
            lines += [f"    {line}" for line in mutant.change.splitlines()]
    return "\n".join(lines)


def _line(name: str, found: Iterable[Mutant]) -> str:
    rows = list(found)
    killed = sum(mutant.state is State.KILLED for mutant in rows)
    return f"{killed:7} {len(rows):5}  {lower_bound(killed, len(rows)):8.3f}  {name}"


def may_live() -> dict[str, str]:
    """Changes that change nothing that anybody could see, each with the reason."""
    rows = tomllib.loads(REASONS.read_text(encoding="utf-8")).get("survivors", [])
    return {str(row["change"]).strip("\n"): str(row["reason"]) for row in rows}


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
