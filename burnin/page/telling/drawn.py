"""How a verdict is drawn on a page, by the shape that stands for it on a sheet."""

from __future__ import annotations

KINDS = {"outline": "pass", "filled": "fail", "dashed": "open", "dotted": "open"}
