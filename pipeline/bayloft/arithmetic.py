"""Products, lengths, linear systems and rounding with the same bits on every machine.

A linear algebra library adds a product's terms in the order and with the instructions that suit the processor, so its
last bits differ from machine to machine, and what is solved from them differs in the tenth digit. Here every step is
one product or one sum of whole arrays, which IEEE 754 fixes to the last bit. The systems of a board have forty unknowns
at most. Nothing that reaches a file goes through ``@``, ``np.dot`` or ``np.linalg``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


NOISE_DECIMALS = 9
"""Decimals (mm) to which a number is rounded before it is rounded to those of a file: below them is rounding alone."""


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
