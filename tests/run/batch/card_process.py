"""The process of one card of a batch as the command has it, but that it makes no sheet.

It leaves in a file, row by row, when each sample was taken by the wall's clock, and what the card
drew: a simulated machine's own clock is never late.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

from burnin.cli.batch.card_run import run_card_of_batch
from burnin.cli.request import Wish
from burnin.core.reading import known
from burnin.core.sample import Sample
from burnin.core.ticket_header import Ticket
from burnin.run.bench import Options
from burnin.run.leave.of_batch import OfBatch

SAMPLED = "sampled.txt"


class Stamped(OfBatch):
    """Hears of each sample at once, as who shares out the power does."""

    def see(self, sample: Sample) -> None:
        power_w = known(sample.telemetry.power_w)
        STAMPS.write(f"{time.monotonic()} {power_w} {sample.elapsed_s} {sample.stage}\n")
        super().see(sample)


def sampled_file(results: Path, address: str) -> Path:
    return results / f"{address}.{SAMPLED}"


def wish_of(address: str, bench: str, profile: str, results: str, pace: str, socket: str) -> Wish:
    return Wish(
        profile=profile,
        options=Options(
            simulated=bench, pace=float(pace), address=address, software_vulkan=not bench
        ),
        ticket=Ticket(),
        left_out=frozenset(),
        monitors="",
        unattended=False,
        resume=None,
        results=Path(results),
        show_all=False,
        as_json=False,
        batch_socket=int(socket),
    )


if __name__ == "__main__":
    STAMPS = sampled_file(Path(sys.argv[4]), sys.argv[1]).open("w", buffering=1)
    sys.exit(run_card_of_batch(wish_of(*sys.argv[1:]), Stamped, lambda *_: None))
