"""The internal sheet as HTML and as paper, of as many pages as it takes."""

from __future__ import annotations

import base64
import json
from dataclasses import asdict

from burnin.report.paper.edge_drawing import edge_svg
from burnin.report.paper.qr import code_svg, code_text
from burnin.report.paper.typesetting import as_numbers, breakable, typeset
from burnin.report.ticket.internal import InternalSheet


def internal_page(sheet: InternalSheet, plot_svg: str, verdict: str) -> str:
    """The page's HTML text, which needs no other file; every value is escaped."""
    from markupsafe import Markup

    from burnin.report.templates import environment

    drawing = edge_svg(sheet.marks, 174.0, sheet.drawing_words) if sheet.marks else ""
    plot = plot_svg[plot_svg.index("<svg") :] if plot_svg else ""
    environment_ = environment()
    environment_.filters["jpeg"] = _data_uri
    return environment_.get_template("internal.html.j2").render(
        c=sheet,
        drawing=Markup(drawing),
        plot=Markup(plot),
        code=Markup(code_svg(_code(sheet, verdict))),
    )


def internal_pdf(sheet: InternalSheet, plot_svg: str, verdict: str) -> bytes:
    """The PDF's bytes; raises RecordError if it cannot be set."""
    photos = [
        [as_numbers(photo.jpeg) for photo in section.photos if photo.jpeg]
        for section in sheet.sections
    ]
    fields = asdict(sheet)
    for section in fields["sections"]:
        for photo in section["photos"]:
            photo["jpeg"] = bool(photo["jpeg"])
    fingerprint = fields.pop("fingerprint")
    inputs = {
        "plot": plot_svg,
        "drawing": edge_svg(sheet.marks, 174.0, sheet.drawing_words) if sheet.marks else "",
        "photos": json.dumps(photos),
        "code": code_svg(_code(sheet, verdict)),
    }
    footer = sheet.labels["footer"].format(number=sheet.number)
    content = {**breakable({**fields, "footer": footer}), "fingerprint": fingerprint}
    pdf, _ = typeset("internal.typ", content, inputs, sheet.date_utc)
    return pdf


def _code(sheet: InternalSheet, verdict: str) -> str:
    return code_text(sheet.number, verdict, sheet.date_utc[:10], sheet.fingerprint)


def _data_uri(content: bytes) -> str:
    return f"data:image/jpeg;base64,{base64.b64encode(content).decode()}"
