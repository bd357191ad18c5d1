"""Products, lengths, linear systems and rounding with the same bits on every machine.

A linear algebra library adds a product's terms in the order and with the instructions that suit the processor, so its
last bits differ from machine to machine, and what is solved from them differs in the tenth digit. Here every step is
one product or one sum of whole arrays, which IEEE 754 fixes to the last bit. The systems of a board have forty unknowns
at most. Nothing that reaches a file goes through ``@``, ``np.dot`` or ``np.linalg``.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


NOISE_DECIMALS = 9
"""Decimals (mm) to which a number is rounded before it is rounded to those of a file: below them is rounding alone."""


_ALIKE_RAD = 1e-6
"""Radians between two directions below which what lies between them is their mean."""


class SingularError(ArithmeticError):
    """A linear system without one solution."""


def product(left: ArrayLike, right: ArrayLike) -> Array:
    """Return the matrix product of (..., n) and (n, m), or of (..., n) and (n,): shape (..., m) or (...)."""
    a, b = np.asarray(left, dtype=np.float64), np.asarray(right, dtype=np.float64)
    rows = b.reshape(len(b), -1)
    total = a[..., :1] * rows[0]
    for k in range(1, len(rows)):
        total = total + a[..., k : k + 1] * rows[k]
    return np.asarray(total if b.ndim == 2 else total[..., 0], dtype=np.float64)


def lengths(vectors: ArrayLike) -> Array:
    """Return the lengths (...) of vectors (..., n)."""
    v = np.asarray(vectors, dtype=np.float64)
    return np.asarray(np.sqrt(product(v * v, np.ones(v.shape[-1]))), dtype=np.float64)


def unit_vectors(vectors: ArrayLike) -> Array:
    """Return vectors (..., n) of length 1 in the directions of others; of none, none."""
    v = np.asarray(vectors, dtype=np.float64)
    return np.asarray(v / np.maximum(lengths(v), 1e-300)[..., None], dtype=np.float64)


def turned_vectors(first: ArrayLike, last: ArrayLike, share: ArrayLike) -> Array:
    """Return unit vectors (..., 3) turned by shares (..., 1) of the way from the first to the last, evenly: broadcast
    together.
    """
    a, b, t = (np.asarray(each, dtype=np.float64) for each in (first, last, share))
    angle = np.arctan2(lengths(np.cross(a, b)), product(a * b, np.ones(3)))[..., None]
    sine = np.maximum(np.sin(angle), 1e-12)
    turned = (np.sin((1.0 - t) * angle) * a + np.sin(t * angle) * b) / sine
    return unit_vectors(np.where(angle < _ALIKE_RAD, (1.0 - t) * a + t * b, turned))


def solution(matrix: ArrayLike, right: ArrayLike) -> Array:
    """Return x (n,) of matrix (n, n) times x = right (n,): Gauss's elimination with the greatest pivot of each column.

    Raises
    ------
    SingularError
        If no pivot is left, as far as rounding lets it be seen.
    """
    a = np.column_stack([np.asarray(matrix, dtype=np.float64), np.asarray(right, dtype=np.float64)])
    n = len(a)
    least = n * np.finfo(np.float64).eps * np.abs(a[:, :n]).max(initial=0.0)
    for k in range(n):
        best = k + int(np.argmax(np.abs(a[k:, k])))
        if not abs(a[best, k]) > least:
            raise SingularError
        a[[k, best]] = a[[best, k]]
        a[k + 1 :] -= (a[k + 1 :, k] / a[k, k])[:, None] * a[k]
    for k in range(n - 1, -1, -1):
        a[k, n] /= a[k, k]
        a[:k, n] -= a[:k, k] * a[k, n]
    return a[:, n].copy()


def rounded(values: ArrayLike, decimals: int) -> Array:
    """Return numbers (any shape) as a file holds them: with so many decimals, and no zero negative.

    Rounded twice: what lies half-way between two last digits by design, as sixteenths of an inch do, then falls the
    same way whatever the last bits are.
    """
    return np.asarray(
        np.round(np.round(np.asarray(values, dtype=np.float64), NOISE_DECIMALS), decimals) + 0.0, dtype=np.float64
    )


_LN2_HIGH, _LN2_LOW = 6.93147180369123816490e-01, 1.90821492927058770002e-10
"""The natural logarithm of 2 in two parts: whole multiples of the first up to 2^10 are exact."""

_EXPONENTIAL = tuple(1.0 / math.factorial(n) for n in range(14))
_AREA_TANGENT = tuple(1.0 / (2 * n + 1) for n in range(11))
"""Coefficients of Taylor's series of exp x and of artanh x / x (in x^2), cut off below the last bit where they are
used: for |x| up to ln 2 / 2, and up to 3 - 2 sqrt 2."""


def exponential(values: ArrayLike) -> Array:
    """Return exp of values (any shape; clipped to -700 .. 700) within two units in the last place, the same bits on
    every machine.
    """
    x = np.clip(np.asarray(values, dtype=np.float64), -700.0, 700.0)
    twos = np.rint(x * (1.0 / math.log(2.0)))
    rest = (x - twos * _LN2_HIGH) - twos * _LN2_LOW
    total = np.full_like(rest, _EXPONENTIAL[-1])
    for coefficient in _EXPONENTIAL[-2::-1]:
        total = total * rest + coefficient
    return np.asarray(np.ldexp(total, twos.astype(np.int64)), dtype=np.float64)


def logarithm(values: ArrayLike) -> Array:
    """Return the natural logarithm of positive values (any shape), within two units in the last place of the larger of
    1 and itself, the same bits on every machine.
    """
    mantissa, twos = np.frexp(np.asarray(values, dtype=np.float64))
    low = mantissa < math.sqrt(0.5)
    mantissa, twos = np.where(low, 2.0 * mantissa, mantissa), twos - low
    t = (mantissa - 1.0) / (mantissa + 1.0)
    square = t * t
    total = np.full_like(t, _AREA_TANGENT[-1])
    for coefficient in _AREA_TANGENT[-2::-1]:
        total = total * square + coefficient
    return np.asarray(twos * _LN2_HIGH + (2.0 * t * total + twos * _LN2_LOW), dtype=np.float64)
