"""The words that open an archive: what it is, and how to write a reader of its surface with a text editor."""

from __future__ import annotations

from typing import Any

from bayloft.drawing.spelling import spelled


def readme(name: str, spec: str, said: dict[str, Any], volume_mm3: float) -> str:
    """Return the text of an archive's README, in ASCII; `said`: the board's report; the volume with all
    its digits.
    """
    plain = "".join(spelled(letter) for letter in name).encode("ascii", "replace").decode()
    return _TEXT.format(
        name=plain,
        spec=spec.encode("ascii", "replace").decode(),
        version=said["program"]["version"],
        length=said["length"]["mm"],
        volume=volume_mm3,
    )


_TEXT = """{name}

A surfboard as it was shaped, before glass. This archive was written by bayloft {version}. Nothing in it needs that
program: all that matters is text.

WHAT IS IN IT
  {spec}
                     what the maker typed, in TOML; with it, the files that it names (fins, rails, ...)
  surface.txt        the exact surface of the port half, as numbers: the master of all the rest
  fins/*.txt         each fin likewise, on its own axes: z up from its base
  offsets.txt        half widths and heights every 50 mm, to loft the board by hand on a floor
  report.json        every size as asked and as made, volume, moments, and all checks
  drawing.svg .pdf   plan, profile, sections; half-outline.dxf: the template of the outline, 1:1
  board.step .stl    the same solid for CAD and for machines
  manifest.txt       the SHA-256 of every file

AXES AND UNIT
  Millimetres. x runs along the board from the tail end (0) to the nose ({length:g}), y from the middle of the
  stringer to port (left, seen from the tail), z up from the flat plane that the board stands on. Starboard is the
  mirror image of port: y changes its sign. A fin that has a second block "side starboard" has that in place of the
  mirror image.

THE SURFACE
  surface.txt has, in this order: a title; "end", which says how u = 0 is closed ("closed": the surface closes itself;
  "wall": upright lines join both edges of a cut-off tail at equal y; "face": the plane z = 0, of a fin) and the v of
  the wall's corner; then, for a side, a row "side NAME degree 3 3", "knots_u N" and N rows of a number, "knots_v M"
  and M rows of a number, "net A B" and A times B rows, x y z of a control point each, the points of one u after the
  other in v.
  It is a tensor-product B-spline of degree 3 both ways. At (u, v), both from 0 to 1, with N_i the B-splines of degree
  3 on knots_u, M_j those on knots_v and P_ij the control points,
      S(u, v) = sum over i, j of N_i(u) M_j(v) P_ij
  u runs from tail to nose, v round the section from the stringer's bottom (0) to its deck (1). The B-splines come from
  the recursion of Cox and de Boor. With t the knots, B_i of degree 0 is 1 from t_i to below t_(i+1), else 0, and
      B_i of degree k at u = (u - t_i) / (t_(i+k) - t_i) * B_i of degree k-1
                          + (t_(i+k+1) - u) / (t_(i+k+1) - t_(i+1)) * B_(i+1) of degree k-1
  where a fraction with a zero below counts as 0. The derivative of B_i of degree 3 is
      3 / (t_(i+3) - t_i) * B_i of degree 2 - 3 / (t_(i+4) - t_(i+1)) * B_(i+1) of degree 2

THE VOLUME, TO TEST A READER BY
  With S_u and S_v the derivatives, the volume is twice the integral of z (S_v x S_u)_z over u and v from 0 to 1: of z
  times (x_v y_u - y_v x_u). Upright walls add nothing to it. On each rectangle between two neighbouring distinct knots
  the integrand is a polynomial, and the rule of Gauss and Legendre with 8 points each way is exact. As two matrix
  products: with U the values of all N_i at all points in u (a row for each point), V those of all M_j, and P the x, y
  or z of the net as a matrix, the values at all points are U P V^T, and those of a derivative have the derivative's
  rows in U or in V.
      volume = {volume!r} mm3
"""
