"""The square code on a sheet: number, verdict, date, fingerprint (ISO/IEC 18004)."""

from __future__ import annotations

import io

MOST_NUMBER = 40


def code_text(number: str, verdict: str, day: str, fingerprint: str) -> str:
    """What the code carries, one part a line; `day` is ISO-8601."""
    shown = number.replace("\n", " ")[:MOST_NUMBER]
    return f"burnin\n{shown}\n{verdict}\n{day}\n{fingerprint}"


def code_svg(text: str) -> str:
    """The code as an SVG element without a fixed size; error correction M, quiet zone of 4."""
    import segno

    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        out, kind="svg", xmldecl=False, svgns=True, border=4, dark="#000", light="#fff",
        omitsize=True,
    )
    return out.getvalue().decode().strip()
