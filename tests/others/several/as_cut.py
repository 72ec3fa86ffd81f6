"""Makes a batch's file what a cut leaves: records that came to their end, and a list untold."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

from burnin.record.batches.batch import read_batch, write_batch

file = Path(sys.argv[1])
batch = read_batch(file)
cards = tuple(replace(card, word=None, why=None, ended=False) for card in batch.cards)
write_batch(file.parent.parent, replace(batch, cards=cards, ended_utc=""))
