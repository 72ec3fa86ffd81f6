"""Curves in fewer points, with no peak hidden."""

from __future__ import annotations

from dataclasses import replace

from burnin.report.plots.plot_data import Line


def thinned(line: Line, most: int) -> Line:
    """The same curve in about `most` points at most: lowest and highest of every bucket stay."""
    count = len(line.x_s)
    if count <= most:
        return line
    buckets = max(1, most // 2)
    kept: set[int] = {0, count - 1}
    for bucket in range(buckets):
        indices = range(bucket * count // buckets, (bucket + 1) * count // buckets)
        measured = [i for i in indices if line.y[i] is not None]
        if not measured:
            kept.add(indices[0])
            continue
        kept.add(min(measured, key=lambda i: line.y[i] or 0.0))
        kept.add(max(measured, key=lambda i: line.y[i] or 0.0))
    order = sorted(kept)
    return replace(line, x_s=tuple(line.x_s[i] for i in order), y=tuple(line.y[i] for i in order))
