"""How often a shop in which nothing is planted is claimed to differ, question by question.

``python -m tests.history.claims 200`` makes so many small shops and prints, for each answer that
makes claims, the share of shops with one; at most `several_tests.SHARE` is stated. With
``--planted`` the same shops with a bad repair and a drifting bench: the share in which each is
found.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from collections import Counter
from pathlib import Path

from burnin.core.exact_intervals import ratio_lower
from burnin.history.answer import Asked
from burnin.history.opened import open_history
from burnin.history.questions.registry import QUESTIONS
from burnin.history.statistics.several_tests import SHARE
from tests.history.shop import Planted, make_shop
from tests.history.shop_rows import store_of_shop

CLAIMING = (
    ("came-back", "repair"), ("came-back", "contact"), ("came-back", "model"),
    ("came-back", "bench"), ("came-back", "technician"), ("yield", "model"), ("yield", "bench"),
    ("contacts", ""), ("drift", ""), ("outliers", ""), ("doubts", ""),
)  # fmt: skip
CARDS = 250
BAD = Planted("joint reflowed", "be4c0003", 0.5, 0.3)


def claimed(seed: int, planted: Planted, folder: Path, cards: int = CARDS) -> dict[str, list[str]]:
    """What each answer claims of one shop: the names of what differs."""
    store_of_shop(folder, make_shop(cards, seed, planted, back_within_90=0.12))
    found = {}
    with open_history(folder) as history:
        for name, by in CLAIMING:
            question, asked = QUESTIONS[name], Asked(by=by)
            answer = question.answer(history.rows(question.rows(history, asked)), asked)
            # The last column says whether a row differs; of outliers every row does.
            rows = [row for row in answer.rows if name == "outliers" or row[-1]]
            of = [f"{row[0]} {row[1]}" if name == "drift" else str(row[0]) for row in rows]
            found[f"{name} {by}".strip()] = of
    return found


def shares(stores: int, planted: Planted, *, first: int = 1, cards: int = CARDS) -> Counter[str]:
    """In how many of so many shops each answer claims anything, or finds what was planted."""
    counted: Counter[str] = Counter({f"{n} {b}".strip(): 0 for n, b in CLAIMING})
    for seed in range(first, first + stores):
        folder = Path(tempfile.mkdtemp(prefix="history-"))
        try:
            for name, claims in claimed(seed, planted, folder, cards).items():
                counted[name] += bool(claims)
                counted[f"{name}: planted"] += any(
                    claim in (planted.bad_repair, f"{planted.drifting_bench} gpu_temp_settled_c")
                    for claim in claims
                )
        finally:
            shutil.rmtree(folder)
    return counted


def main() -> None:
    """Print the shares, ten shops at a time, the last figures for all."""
    stores = int(sys.argv[1])
    planted = BAD if "--planted" in sys.argv else Planted()
    first = next((int(word) for word in sys.argv[2:] if word.isdigit()), 1000)
    counted: Counter[str] = Counter()
    for done in range(0, stores, 10):
        count = min(10, stores - done)
        # update, unlike +, keeps what was never claimed
        counted.update(shares(count, planted, first=first + done))
        _tell(counted, done + count, planted)


def _tell(counted: Counter[str], stores: int, planted: Planted) -> None:
    for name, count in sorted(counted.items()):
        if name.endswith(": planted") and not (planted.bad_repair and count):
            continue
        over = " MORE THAN STATED" if count and ratio_lower(count, stores, 0.975) > SHARE else ""
        told = "" if planted.bad_repair else over
        sys.stdout.write(f"{name:<32} {count:4d} of {stores}{told}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
