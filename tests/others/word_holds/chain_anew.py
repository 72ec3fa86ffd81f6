"""Reckons the checks of a ticket's log anew, as its description in results/README.md allows.

`python chain_anew.py events.jsonl`
"""

import hashlib
import json
import sys
from pathlib import Path


def chained_anew(text: str) -> str:
    """The same lines, each with the check of the line before and its own."""
    before = ""
    lines: list[str] = []
    for line in text.splitlines():
        event = json.loads(line)
        body = {key: value for key, value in event.items() if key not in ("before", "check")}
        shown = json.dumps(body | {"before": before}, ensure_ascii=False)
        before = hashlib.sha256(shown.encode()).hexdigest()[:16]
        lines.append(f'{shown[:-1]}, "check": "{before}"}}\n')
    return "".join(lines)


if __name__ == "__main__":
    log = Path(sys.argv[1])
    log.write_text(chained_anew(log.read_text("utf-8")), "utf-8")
