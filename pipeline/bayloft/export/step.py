"""STEP (ISO 10303-21, application protocol 214): a solid by its own splines, exact, for CAD and for machine shops.

Written here, entity by entity: no library writes a B-spline solid without a CAD kernel, and a kernel would fit anew.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bayloft.export.preflight import ExportError
from bayloft.solid.brep import Brep, BrepFace, Edge, Flat, SplineCurve
from bayloft.solid.surface import DEGREE, Surface

Array = NDArray[np.float64]

LEAST_UNCERTAINTY_MM = 1e-6
"""mm, that edges and faces meet within: what rounding leaves."""


def write(solid: Brep, path: Path, *, name: str) -> None:
    """Write `content` to a file. Raises ExportError as that does, OSError where the file cannot be written."""
    path.write_bytes(content(solid, name=name))


def content(solid: Brep, *, name: str) -> bytes:
    """Return a solid as a STEP file in mm: knots and control points with all their digits. Same solid, same bytes.

    The file's own uncertainty is the greatest gap between an edge and a face that it bounds. It carries no date.

    Raises ExportError for coordinates that are not finite.
    """
    if not all(np.isfinite(each).all() for each in (solid.vertices, *(curve.points for curve in solid.curves))):
        raise ExportError(name, ("a solid has finite coordinates",))
    return _Part21(solid, name).text.encode("ascii")


class _Part21:
    """A file in the making: its entities in order, each point once."""

    def __init__(self, solid: Brep, name: str) -> None:
        self._lines: list[str] = []
        self._points: dict[str, str] = {}
        self._solid = solid
        uncertainty = max(float(f"{solid.gap_mm * 1.05:.2g}"), LEAST_UNCERTAINTY_MM)
        product = self._product(_text(name), uncertainty)
        self._curves = [self._spline(curve) for curve in solid.curves]
        self._vertices = [self._add(f"VERTEX_POINT('',{self._point(place)})") for place in solid.vertices]
        self._edges = [self._edge(edge) for edge in solid.edges]
        faces = [self._face(face) for face in solid.faces]
        shell = self._add(f"CLOSED_SHELL('',{_list(faces)})")
        whole = self._add(f"MANIFOLD_SOLID_BREP({_text(name)},{shell})")
        origin, up, ahead = self._point(np.zeros(3)), self._direction(0.0, 0.0, 1.0), self._direction(1.0, 0.0, 0.0)
        axes = self._add(f"AXIS2_PLACEMENT_3D('',{origin},{up},{ahead})")
        shape = self._add(f"ADVANCED_BREP_SHAPE_REPRESENTATION({_text(name)},({axes},{whole}),{product[1]})")
        self._add(f"SHAPE_DEFINITION_REPRESENTATION({product[0]},{shape})")
        header = (
            "ISO-10303-21;",
            "HEADER;",
            "FILE_DESCRIPTION(('one closed solid by its own splines, in mm'),'2;1');",
            f"FILE_NAME({_text(name)},'1980-01-01T00:00:00',(''),(''),'bayloft','bayloft','');",
            "FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));",
            "ENDSEC;",
            "DATA;",
        )
        self.text = "\n".join([*header, *self._lines, "ENDSEC;", "END-ISO-10303-21;", ""])

    def _add(self, entity: str) -> str:
        self._lines.append(f"#{len(self._lines) + 1}={entity};")
        return f"#{len(self._lines)}"

    def _point(self, place: Array) -> str:
        coordinates = ",".join(_real(value) for value in place.tolist())
        if coordinates not in self._points:
            self._points[coordinates] = self._add(f"CARTESIAN_POINT('',({coordinates}))")
        return self._points[coordinates]

    def _direction(self, *components: float) -> str:
        return self._add(f"DIRECTION('',({','.join(map(_real, components))}))")

    def _spline(self, curve: SplineCurve) -> str:
        points = _list(self._point(place) for place in curve.points)
        multiplicities, knots = _knots(curve.knots)
        return self._add(
            f"B_SPLINE_CURVE_WITH_KNOTS('',{DEGREE},{points},.UNSPECIFIED.,.F.,.F.,{multiplicities},{knots},"
            ".UNSPECIFIED.)"
        )

    def _edge(self, edge: Edge) -> str:
        start, stop = (self._solid.vertices[n] for n in (edge.start, edge.stop))
        if edge.curve is None:
            way = stop - start
            length = float(np.sqrt((way * way).sum()))
            vector = self._add(f"VECTOR('',{self._direction(*(way / length).tolist())},{_real(length)})")
            curve = self._add(f"LINE('',{self._point(start)},{vector})")
        else:
            curve = self._curves[edge.curve]
        return self._add(f"EDGE_CURVE('',{self._vertices[edge.start]},{self._vertices[edge.stop]},{curve},.T.)")

    def _face(self, face: BrepFace) -> str:
        run = [
            self._add(f"ORIENTED_EDGE('',*,*,{self._edges[edge]},{_logical(forward)})") for edge, forward in face.loop
        ]
        loop = self._add(f"EDGE_LOOP('',{_list(run)})")
        bound = self._add(f"FACE_OUTER_BOUND('',{loop},.T.)")
        return self._add(f"ADVANCED_FACE('',({bound}),{self._surface(face.surface)},{_logical(face.same_sense)})")

    def _surface(self, surface: Surface | Flat | int) -> str:
        if isinstance(surface, Surface):
            return self._patch(surface)
        if isinstance(surface, Flat):
            normal = self._direction(*surface.normal.tolist())
            aside = self._direction(*((1.0, 0.0, 0.0) if surface.normal[2] else (0.0, 0.0, 1.0)))
            axes = self._add(f"AXIS2_PLACEMENT_3D('',{self._point(surface.place)},{normal},{aside})")
            return self._add(f"PLANE('',{axes})")
        vector = self._add(f"VECTOR('',{self._direction(0.0, 0.0, 1.0)},1.)")
        return self._add(f"SURFACE_OF_LINEAR_EXTRUSION('',{self._curves[surface]},{vector})")

    def _patch(self, surface: Surface) -> str:
        rows = ",".join(_list(self._point(place) for place in row) for row in surface.net)
        (many_u, knots_u), (many_v, knots_v) = _knots(surface.knots_u), _knots(surface.knots_v)
        return self._add(
            f"B_SPLINE_SURFACE_WITH_KNOTS('',{DEGREE},{DEGREE},({rows}),.UNSPECIFIED.,.F.,.F.,.F.,{many_u},{many_v},"
            f"{knots_u},{knots_v},.UNSPECIFIED.)"
        )

    def _product(self, name: str, uncertainty_mm: float) -> tuple[str, str]:
        """Return what a shape belongs to, and the context that its numbers are in."""
        add = self._add
        context = add("APPLICATION_CONTEXT('core data for automotive mechanical design processes')")
        add(f"APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,{context})")
        mechanical = add(f"PRODUCT_CONTEXT('',{context},'mechanical')")
        product = add(f"PRODUCT({name},{name},'',({mechanical}))")
        add(f"PRODUCT_RELATED_PRODUCT_CATEGORY('part','',({product}))")
        formation = add(f"PRODUCT_DEFINITION_FORMATION('','',{product})")
        design = add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{context},'design')")
        definition = add(f"PRODUCT_DEFINITION('design','',{formation},{design})")
        shape = add(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
        length = add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))")
        angle = add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
        solid = add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
        within = add(
            f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE({_real(uncertainty_mm)}),{length},"
            "'distance_accuracy_value','greatest gap between an edge and a face that it bounds')"
        )
        numbers = add(
            "(GEOMETRIC_REPRESENTATION_CONTEXT(3)"
            f"GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({within}))"
            f"GLOBAL_UNIT_ASSIGNED_CONTEXT(({length},{angle},{solid}))"
            "REPRESENTATION_CONTEXT('','3D'))"
        )
        return shape, numbers


def _knots(knots: Array) -> tuple[str, str]:
    """Return the multiplicities of knots, and the distinct ones."""
    values, counts = np.unique(knots, return_counts=True)
    return f"({','.join(map(str, counts.tolist()))})", f"({','.join(map(_real, values.tolist()))})"


def _list(entities: Iterable[str]) -> str:
    return f"({','.join(entities)})"


def _logical(value: bool) -> str:
    return ".T." if value else ".F."


def _real(value: float) -> str:
    """Return a number with all its digits as part 21 wants it: with a point, and a capital E."""
    digits = repr(float(value)).upper()
    if "E" in digits:
        mantissa, exponent = digits.split("E")
        return f"{mantissa if '.' in mantissa else mantissa + '.'}E{int(exponent)}"
    return digits.removesuffix("0") if digits.endswith(".0") else digits


def _text(words: str) -> str:
    """Return a text in quotes: these doubled, what is not ASCII by its code, as ISO 10303-21 has it."""
    parts = []
    for letter in words:
        if letter in "'\\":
            parts.append(2 * letter)
        elif " " <= letter <= "~":
            parts.append(letter)
        else:
            code = ord(letter)
            parts.append(f"\\X2\\{code:04X}\\X0\\" if code < 0x10000 else f"\\X4\\{code:08X}\\X0\\")
    return f"'{''.join(parts)}'"
