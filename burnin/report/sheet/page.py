"""The sheet as one HTML page that needs no other file and runs no script."""

from __future__ import annotations

from burnin.report.sheet.content import SheetContent


def sheet_page(content: SheetContent, plot_svg: str) -> str:
    """The page's HTML text; every value is escaped, the plot is our own SVG."""
    from markupsafe import Markup

    from burnin.report.templates import environment

    # The XML declaration and document type have no place inside a page.
    drawing = plot_svg[plot_svg.index("<svg") :]
    template = environment().get_template("sheet.html.j2")
    return template.render(c=content, plot=Markup(drawing))
