"""Exact intervals of counts (Poisson) and of ratios (Clopper-Pearson), from the standard library.

A count of k events that come by themselves at an unknown mean λ allows every λ with
P(X ≥ k | λ) ≥ 1 - c and P(X ≤ k | λ) ≥ 1 - c: one-sided bounds at confidence c (Garwood 1936). In
chi-squared quantiles they are ½·χ²(1 - c; 2k) and ½·χ²(c; 2k + 2). A ratio of k hits in n tries
does the same with the binomial distribution (Clopper and Pearson 1934), in beta quantiles
B(1 - c; k, n - k + 1) and B(c; k + 1, n - k). Both textbook relations, from memory.

Incomplete gamma and beta functions: series and Lentz's continued fraction as in Abramowitz and
Stegun 6.5.29, 6.5.31 and 26.5.8 (from memory). `tests/standards/test_exact_intervals.py` compares
with an independent library.
"""

from __future__ import annotations

import math
from collections.abc import Callable

CONFIDENCE = 0.95

_TINY, _DIGITS = 1e-300, 1e-16
_MOST_TERMS = 1_000_000
_HALVINGS = 200


def poisson_upper(count: int, confidence: float = CONFIDENCE) -> float:
    """Largest mean count that `count` still allows at `confidence`.

    Raises ValueError for a negative count or a confidence that is not between 0 and 1.
    """
    _check(count, confidence)
    high = 10.0 + 2.0 * (count + 1.0) + 10.0 * math.sqrt(count + 1.0)
    while poisson_at_most(count, high) > 1.0 - confidence:
        high *= 2.0
    return _root(lambda mean: poisson_at_most(count, mean) - (1.0 - confidence), 0.0, high)


def poisson_lower(count: int, confidence: float = CONFIDENCE) -> float:
    """Smallest mean count that `count` still allows at `confidence`; 0 where nothing was counted.

    Raises as `poisson_upper` does.
    """
    _check(count, confidence)
    if count == 0:
        return 0.0

    def spare(mean: float) -> float:
        """Falls with the mean: how far seeing so many lies below the confidence's rest."""
        return (1.0 - confidence) - _gamma_lower(float(count), mean)

    high = float(count)
    while spare(high) > 0.0:
        high *= 2.0
    return _root(spare, 0.0, high)


def poisson_at_most(count: int, mean: float) -> float:
    """P(X ≤ count) of a Poisson number of that mean."""
    return 1.0 if mean <= 0.0 else _gamma_upper(count + 1.0, mean)


def ratio_upper(hits: int, tries: int, confidence: float = CONFIDENCE) -> float:
    """Largest share that `hits` of `tries` still allow at `confidence`; 1 where all hit.

    Raises ValueError for impossible counts or a confidence that is not between 0 and 1.
    """
    _check_ratio(hits, tries, confidence)
    if hits == tries:
        return 1.0
    a, b = hits + 1.0, float(tries - hits)
    return _root(lambda share: confidence - _beta(share, a, b), 0.0, 1.0)


def ratio_lower(hits: int, tries: int, confidence: float = CONFIDENCE) -> float:
    """Smallest share that `hits` of `tries` still allow at `confidence`; 0 where none hit.

    Raises as `ratio_upper` does.
    """
    _check_ratio(hits, tries, confidence)
    if hits == 0:
        return 0.0
    a, b = float(hits), tries - hits + 1.0
    return _root(lambda share: (1.0 - confidence) - _beta(share, a, b), 0.0, 1.0)


def normal_below(deviations: float) -> float:
    """P(Z ≤ deviations) of a standard normal number."""
    return 0.5 * math.erfc(-deviations / math.sqrt(2.0))


def _check(count: int, confidence: float) -> None:
    if count < 0 or not 0.0 < confidence < 1.0:
        raise ValueError(f"count {count} and confidence {confidence} give no bound")


def _check_ratio(hits: int, tries: int, confidence: float) -> None:
    _check(hits, confidence)
    if tries < 1 or hits > tries:
        raise ValueError(f"{hits} hits of {tries} tries are no ratio")


def _root(falls: Callable[[float], float], low: float, high: float) -> float:
    """Where a function that falls through zero between `low` and `high` does so."""
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if falls(middle) > 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _gamma_upper(shape: float, x: float) -> float:
    """Regularised incomplete gamma function Q(shape, x)."""
    if x < shape + 1.0:
        return 1.0 - _gamma_series(shape, x)
    return _gamma_fraction(shape, x)


def _gamma_lower(shape: float, x: float) -> float:
    """P(shape, x) = 1 - Q, without loss where it is small."""
    if x < shape + 1.0:
        return _gamma_series(shape, x)
    return 1.0 - _gamma_fraction(shape, x)


def _front(shape: float, x: float) -> float:
    return math.exp(shape * math.log(x) - x - math.lgamma(shape))


def _gamma_series(shape: float, x: float) -> float:
    if x <= 0.0:
        return 0.0
    term = total = 1.0 / shape
    for n in range(1, _MOST_TERMS):
        term *= x / (shape + n)
        total += term
        if term < total * _DIGITS:
            break
    return min(1.0, total * _front(shape, x))


def _gamma_fraction(shape: float, x: float) -> float:
    b = x + 1.0 - shape
    c, d = 1.0 / _TINY, 1.0 / b
    found = d
    for n in range(1, _MOST_TERMS):
        a = -n * (n - shape)
        b += 2.0
        d = 1.0 / _apart(a * d + b)
        c = _apart(b + a / c)
        found *= d * c
        if abs(d * c - 1.0) < _DIGITS * 4.0:
            break
    return min(1.0, found * _front(shape, x))


def _beta(x: float, a: float, b: float) -> float:
    """Regularised incomplete beta function I_x(a, b)."""
    if x <= 0.0 or x >= 1.0:
        return 0.0 if x <= 0.0 else 1.0
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
        + a * math.log(x) + b * math.log1p(-x)
    )  # fmt: skip
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _beta_fraction(x, a, b) / a
    return 1.0 - front * _beta_fraction(1.0 - x, b, a) / b


def _beta_fraction(x: float, a: float, b: float) -> float:
    c, d = 1.0, 1.0 / _apart(1.0 - (a + b) * x / (a + 1.0))
    found = d
    for m in range(1, _MOST_TERMS):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        for part in (even, odd):
            d = 1.0 / _apart(1.0 + part * d)
            c = _apart(1.0 + part / c)
            found *= d * c
        if abs(d * c - 1.0) < _DIGITS * 4.0:
            break
    return found


def _apart(value: float) -> float:
    """A divisor that is not zero."""
    return value if abs(value) > _TINY else _TINY
