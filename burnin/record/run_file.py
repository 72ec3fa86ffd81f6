"""run.json read back, of this format or an older one."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from burnin.core.errors import RecordError
from burnin.core.files.bounded import read_at_most
from burnin.core.files.disk import PASSING
from burnin.core.system import cannot_read
from burnin.record.migrations import run_in_new_format
from burnin.record.reasons import RecordRefusal
from burnin.record.schema.folders import what_to_name
from burnin.record.schema.run import FORMAT, RunFile
from burnin.record.sums import RUN_FILE

_MOST_NAMED = 3
MOST_BYTES = 8 << 20
"""Most of a run.json that is read; the largest that a run has left is a hundredth of it."""


@dataclass(frozen=True)
class RunRead:
    """run.json; `untyped` names places whose meaning an older format held in words only."""

    run: RunFile
    format_read: int
    untyped: tuple[str, ...]


def read_run_file(folder: Path) -> RunRead:
    """Read run.json; raises RecordError where it is missing, damaged or of another format."""
    path = folder / RUN_FILE
    content = _object(path, _bytes(path))
    found = content.get("format")
    if isinstance(found, bool) or not isinstance(found, int) or not 1 <= found <= FORMAT:
        raise RecordError(
            RecordRefusal.OTHER_FORMAT(file=str(path), found=str(found), newest=FORMAT)
        )
    untyped: list[str] = []
    try:
        content = run_in_new_format(content, found, folder, untyped)
        # By way of JSON, since strict types take lists and words from there only.
        text = json.dumps(content, ensure_ascii=False).encode("utf-8", "replace")
        run = RunFile.model_validate_json(text, strict=True)
    except ValidationError as error:
        raise RecordError(RecordRefusal.WRONG_FIELDS(file=str(path), words=_told(error))) from None
    except (ValueError, TypeError, KeyError, OverflowError, RecursionError) as error:
        raise RecordError(RecordRefusal.WRONG_CONTENT(file=str(path), words=str(error))) from None
    return RunRead(run, found, tuple(untyped))


def read_run(folder: Path) -> RunFile:
    """run.json alone, for lists of many records; raises RecordError as `read_run_file`."""
    return read_run_file(folder).run


def _bytes(path: Path) -> bytes:
    try:
        return read_at_most(path, MOST_BYTES)
    except FileNotFoundError:
        if (path.parent / f"{path.name}{PASSING}").exists():
            raise RecordError(RecordRefusal.CUT_SHORT(folder=str(path.parent))) from None
        raise RecordError(
            RecordRefusal.NO_RUN_FILE(folder=str(path.parent), name=what_to_name(path.parent))
        ) from None
    except OSError as error:
        raise RecordError(cannot_read(path, error)) from None


def _object(path: Path, raw: bytes) -> dict[str, object]:
    try:
        content = json.loads(raw.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        raise RecordError(RecordRefusal.NO_JSON(file=str(path), words=str(error))) from None
    if not isinstance(content, dict):
        raise RecordError(RecordRefusal.NO_OBJECT(file=str(path)))
    return content


def _told(error: ValidationError) -> str:
    """Where and what, of the first few."""
    places: Iterable[str] = dict.fromkeys(
        f"{'.'.join(str(part) for part in one['loc'])}: {one['msg']}" for one in error.errors()
    )
    return "; ".join(list(places)[:_MOST_NAMED])
