"""Plant every bug of the list in turn: ``python -m tests.planted.run [--only ID] [--anew]``.

What was found is kept and taken over while bug, file and tests are the same. Exit code 1 where a
bug lives.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

from tests.planted.bugs import Bug, State, bugs, planted
from tests.planted.tree import KEPT, carried_out, copied_tree

RESULTS = KEPT / "bugs.json"
Kept = dict[str, dict[str, object]]


def main(words: list[str]) -> int:
    """Carry out what is not known yet, print all, say how many were killed."""
    parser = argparse.ArgumentParser(prog="python -m tests.planted.run")
    parser.add_argument("--only", action="append", default=[], metavar="ID")
    parser.add_argument("--anew", action="store_true", help="take nothing over")
    parser.add_argument("--sound", action="store_true", help="their tests on the tree as it is")
    parser.add_argument("--results", type=Path, default=RESULTS)
    asked = parser.parse_args(words)
    chosen = [bug for bug in bugs() if not asked.only or bug.id in asked.only]
    if not chosen:
        parser.error(f"no such bug; there are {', '.join(bug.id for bug in bugs())}")
    if asked.sound:
        return _sound(chosen)
    kept: Kept = {}
    if asked.results.exists():
        kept = json.loads(asked.results.read_text(encoding="utf-8"))
    counts = dict.fromkeys(State, 0)
    for bug in chosen:
        known = kept.get(bug.id, {})
        if asked.anew or known.get("digest") != bug.digest:
            began_s = time.monotonic()
            fate = planted(bug)
            known = {
                "digest": bug.digest, "state": fate.state.value, "missed": list(fate.missed),
                "said": fate.said, "seconds": round(time.monotonic() - began_s, 1),
            }  # fmt: skip
            kept[bug.id] = known
            asked.results.parent.mkdir(parents=True, exist_ok=True)
            asked.results.write_text(json.dumps(kept, indent=1), encoding="utf-8")
        state = State(str(known["state"]))
        counts[state] += 1
        print(f"{state:15} {bug.id}: {bug.says}", flush=True)
        for name in ("missed", "said"):
            if known[name] and state is not State.KILLED:
                print(f"    {name}: {known[name]}", flush=True)
    told = ", ".join(f"{count} {state}" for state, count in counts.items() if count)
    print(f"{len(chosen)} planted: {told}")
    return 1 if counts[State.ALIVE] or counts[State.BROKEN] else 0


def _sound(chosen: list[Bug]) -> int:
    """The named tests pass where nothing is planted."""
    tests = list(dict.fromkeys(test for bug in chosen for test in bug.tests))
    with copied_tree() as tree:
        found = carried_out(tree, tests)
    print(f"{len(found.passed)} passed, {len(found.skipped)} skipped, {len(found.failed)} failed")
    for failed in found.failed:
        print(f"    {failed}")
    print(found.broken, end="")
    return 0 if found.passed and not (found.failed or found.hung or found.broken) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
