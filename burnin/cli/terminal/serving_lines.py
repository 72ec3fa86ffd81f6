"""What the terminal says while the page is served: address, fingerprint, square code."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

from burnin.page.serving.serve import Served, record_named, serve
from burnin.page.terms import ServingTerm
from burnin.page.watching import Watching
from burnin.report.languages.catalogue import catalogue


def serve_page(
    record: Path | None,
    results: Path,
    address: str,
    port: int,
    new_key: bool,
    language: str,
    as_json: bool,
) -> None:
    """Serve until Ctrl-C; raises BurninError and OSError where the page cannot be begun."""
    words = catalogue(language)
    named = None if record is None else record_named(record)

    def say(served: Served) -> None:
        if as_json:
            sys.stdout.write(json.dumps(vars(served)) + "\n")
            sys.stdout.flush()
            return
        told = [ServingTerm.AT(address=served.address)]
        if served.fingerprint:
            told.append(ServingTerm.FINGERPRINT(fingerprint=served.fingerprint))
        told += [
            ServingTerm.SHOWS(folder=str(record or results)),
            ServingTerm.SECRET(),
            ServingTerm.END(),
        ]
        code = _square_code(served.address) if served.fingerprint else ""
        sys.stdout.write("\n".join([*(words.say(line) for line in told), code]) + "\n")
        sys.stdout.flush()

    serve(
        Watching(results, named), address=address, port=port, language=language,
        new_key=new_key, say=say,
    )  # fmt: skip


def _square_code(text: str) -> str:
    """The address for the camera of a phone (ISO/IEC 18004)."""
    import segno

    out = io.StringIO()
    segno.make(text, error="l", micro=False).terminal(out, compact=True, border=2)
    return out.getvalue()
