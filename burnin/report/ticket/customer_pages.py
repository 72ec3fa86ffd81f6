"""The customer's sheet as one page of HTML and as one page of paper."""

from __future__ import annotations

import base64
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from burnin.report.paper.edge_drawing import edge_svg
from burnin.report.paper.qr import code_svg, code_text
from burnin.report.paper.typesetting import as_numbers, breakable, shortened, typeset
from burnin.report.ticket.customer import CustomerSheet
from burnin.report.ticket.ticket_facts import PhotoFact, ShopFacts

_DRAWING_MM = 174.0


@dataclass(frozen=True)
class _Density:
    """`scale` of the type (1: 10 pt), width of the drawing as a share, longest text, most lines."""

    scale: float
    drawing_share: float
    most_text: int
    most_lines: int


# Readable first; each next one is tried only if the sheet needs more than one page.
_DENSITIES = (
    _Density(1.0, 1.0, 300, 14),
    _Density(0.94, 0.94, 300, 14),
    _Density(0.88, 0.88, 220, 12),
    _Density(0.82, 0.8, 160, 10),
    _Density(0.76, 0.74, 120, 8),
    _Density(0.7, 0.7, 90, 6),
    _Density(0.62, 0.6, 70, 5),
)


def customer_page(sheet: CustomerSheet, shop: ShopFacts, photos: Sequence[PhotoFact] = ()) -> str:
    """The page's HTML text, which needs no other file; every value is escaped."""
    from markupsafe import Markup

    from burnin.report.templates import environment

    logo = ""
    if shop.logo:
        kind = "svg+xml" if shop.logo_kind == "svg" else "png"
        logo = _data_uri(f"image/{kind}", shop.logo)
    shown = [
        {"data": _data_uri("image/jpeg", p.jpeg), "note": p.note}
        for p in photos
        if p.for_customer and p.jpeg
    ]
    return environment().get_template("customer.html.j2").render(
        c=sheet,
        logo=logo,
        photos=shown,
        # Both drawings are our own SVG.
        drawing=Markup(_drawing(sheet)),
        code=Markup(code_svg(_code(sheet))),
    )


def customer_pdf(sheet: CustomerSheet, shop: ShopFacts, photos: Sequence[PhotoFact] = ()) -> bytes:
    """The PDF's bytes: one page, in smaller type where there is much to say.

    What is not tested is never left out. Raises RecordError if it cannot be set.
    """
    pdf = b""
    pictures = [as_numbers(p.jpeg) for p in photos if p.for_customer and p.jpeg][:3]
    for density in _DENSITIES:
        inputs = {
            "scale": str(density.scale),
            "drawing": _drawing(sheet),
            "drawing_share": str(density.drawing_share),
            "logo": json.dumps(as_numbers(shop.logo)),
            "logo_kind": shop.logo_kind if shop.logo else "",
            "photos": json.dumps(pictures),
            "code": code_svg(_code(sheet)),
        }
        pdf, pages = typeset("customer.typ", _fitted(sheet, density), inputs, sheet.date_utc)
        if pages == 1:
            break
    return pdf


def _code(sheet: CustomerSheet) -> str:
    return code_text(sheet.number, sheet.verdict, sheet.date_utc[:10], sheet.fingerprint)


def _drawing(sheet: CustomerSheet) -> str:
    """The edge with its marks, in the customer's language; nothing where nothing is marked."""
    return edge_svg(sheet.marks, _DRAWING_MM, sheet.drawing_words) if sheet.marks else ""


def _fitted(sheet: CustomerSheet, density: _Density) -> dict[str, Any]:
    fields = asdict(sheet)
    fingerprint = fields.pop("fingerprint")
    most = density.most_text
    for fact in (*fields["facts"], *fields["not_tested"]):
        fact["value"] = shortened(fact["value"], most)
    for key in ("seen", "repaired"):
        lines = [shortened(line, most) for line in fields[key]]
        left = len(lines) - density.most_lines
        fields[key] = lines[: density.most_lines] + ([f"… +{left}"] if left > 0 else [])
    fields["warranty"] = shortened(fields["warranty"], most * 2)
    fields["why"] = shortened(fields["why"], most)
    cut: dict[str, Any] = breakable(fields)
    return {**cut, "fingerprint": fingerprint}


def _data_uri(kind: str, content: bytes) -> str:
    return f"data:{kind};base64,{base64.b64encode(content).decode()}"
