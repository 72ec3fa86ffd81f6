"""Changes the fields of one event of a ticket's log and makes its check anew.

`chain_line.py LOG LINE FIELD JSON`: FIELD `.` takes the JSON's keys into the event itself. Only the
check of that line is anew, as by somebody who knows that there are checks: the rest tells it.
"""

import hashlib
import json
import sys
from pathlib import Path


def main() -> None:
    """Change the line."""
    file, number, name, value = sys.argv[1:]
    path = Path(file)
    lines = path.read_text("utf-8").splitlines()
    event = json.loads(lines[int(number)])
    if name == ".":
        event |= json.loads(value)
    else:
        event["fields"][name] = json.loads(value)
    event.pop("check", None)
    text = json.dumps(event, ensure_ascii=False)
    event["check"] = hashlib.sha256(text.encode()).hexdigest()[:16]
    lines[int(number)] = json.dumps(event, ensure_ascii=False)
    path.write_text("\n".join(lines) + "\n", "utf-8")


if __name__ == "__main__":
    main()
