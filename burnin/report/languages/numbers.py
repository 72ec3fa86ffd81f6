"""Figures with as many places as their uncertainty bears; decimal point, thousands by a comma.

A catalogue swaps both signs for those of its language (`Catalogue.number`).
"""

from __future__ import annotations

import math

MANY_BYTES = 1 << 20
"""From here on, bytes are told in MiB or GiB."""
_MOST_PLACES, _MOST_DIGITS = 9, 18
_EXACT_BELOW = 1e-300
"""Smaller than any uncertainty; a power of ten of its size is none any more."""


def figure(value: float, uncertainty: float = 0.0) -> str:
    """A number with as many places as its uncertainty carries, four figures if it has none."""
    if not math.isfinite(value):
        return f"{value:g}"
    if uncertainty > 0.0:
        return f"{value:,.{_places(uncertainty)}f}"
    if value == int(value) and abs(value) < 1e15:
        return f"{int(value):,}"
    return f"{value:,.0f}" if abs(value) >= 1000.0 else f"{value:.4g}"


def uncertainty_text(uncertainty: float) -> str:
    """An uncertainty rounded up to one figure, or two where the first is 1 or 2.

    JCGM 100:2008, 7.2.6: at most two figures, and rounding up may be appropriate.
    """
    places = _places(uncertainty)
    step = 10.0**places
    return f"{math.ceil(uncertainty * step - 1e-9) / step:,.{places}f}"


def as_known(value: float, uncertainty: float) -> str:
    """Value ± U to two digits of U (JCGM 100:2008, 7.2.6).

    >>> as_known(-2.64669, 0.5811), as_known(381.26, 12.4)
    ('-2.65 ± 0.58', '381 ± 12')
    """
    if not 0.0 < uncertainty < math.inf or not math.isfinite(value):
        return f"{value:g} ± {uncertainty:g}"
    digits = max(0, min(_MOST_DIGITS, 1 - math.floor(math.log10(uncertainty))))
    return f"{value:.{digits}f} ± {uncertainty:.{digits}f}"


def bytes_figure(count: float) -> tuple[str, str]:
    """Bytes as a figure and its unit, GiB (2^30) or MiB (2^20)."""
    gib = count / (1 << 30)
    return (f"{gib:.4g}", "GiB") if gib >= 1.0 else (f"{count / (1 << 20):.4g}", "MiB")


def _places(uncertainty: float) -> int:
    """Decimal places that an uncertainty (over 0) carries."""
    if not math.isfinite(uncertainty) or uncertainty <= 0.0:
        return 0
    if uncertainty < _EXACT_BELOW:
        return _MOST_PLACES
    exponent = math.floor(math.log10(uncertainty))
    leading = uncertainty / 10.0**exponent
    return max(0, min(_MOST_PLACES, -exponent + (1 if leading < 3.0 else 0)))
