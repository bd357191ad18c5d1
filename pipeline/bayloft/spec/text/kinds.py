"""The kinds of values that keys take, as pydantic annotations: each a measure between its hard bounds, which leave
more room than the trade uses (common practice, no source).
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Field, GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, core_schema

from bayloft.spec.text.measures import (
    Advance,
    Angle,
    Count,
    Edition,
    Length,
    Measure,
    Rake,
    RakeGiven,
    Ratio,
    Several,
    Share,
    Toe,
    ToeGiven,
    Weighed,
)
from bayloft.spec.text.naming import LONGEST_NAME, checked_name
from bayloft.units import cloth_g_m2, density_kg_m3, mass_g, spread_g_m2, stiffness_mpa, volume_l


class Typed:
    """A pydantic annotation: the value is read by a measure, bare lengths in the unit of the validation context."""

    def __init__(self, measure: Measure) -> None:
        self.measure = measure

    def _read(self, typed: object, info: ValidationInfo) -> object:
        return self.measure.read(typed, info.context["unit"] if info.context else None)

    def __get_pydantic_core_schema__(self, _source: object, _handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(self, _core: CoreSchema, _handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return self.measure.json_schema()


MOST_TOE_DEG = 15.0
"""Degrees beyond which a fin stands across the water (common practice, no source)."""

MOST_STRIPS = 12
"""Strips side by side in a stringer (common practice, no source)."""

Mark = Annotated[float, Typed(Length(low_mm=0.05, high_mm=13))]
Station = Annotated[float, Typed(Length(low_mm=0, high_mm=4500))]
BoardLength = Annotated[float, Typed(Length(low_mm=700, high_mm=4500))]
Width = Annotated[float, Typed(Length(low_mm=10, high_mm=1000))]
Radius = Annotated[float, Typed(Length(low_mm=1, high_mm=500))]
CornerRadius = Annotated[float, Typed(Length(low_mm=0, high_mm=200))]
TailDepth = Annotated[float, Typed(Length(low_mm=1, high_mm=400))]
EndHeight = Annotated[float, Typed(Length(low_mm=1, high_mm=500))]
Height = Annotated[float, Typed(Length(low_mm=0, high_mm=500))]
TurnOver = Annotated[float, Typed(Length(low_mm=25, high_mm=600))]
Flat = Annotated[float, Typed(Length(low_mm=25, high_mm=3000))]
Thickness = Annotated[float, Typed(Length(low_mm=10, high_mm=200))]
TipThickness = Annotated[float, Typed(Length(low_mm=2, high_mm=200))]
RailRadius = Annotated[float, Typed(Length(low_mm=1, high_mm=80))]
Tuck = Annotated[float, Typed(Length(low_mm=1, high_mm=250))]
EdgeRadius = Annotated[float, Typed(Length(low_mm=0, high_mm=30))]
GaugedInside = Annotated[float, Typed(Length(low_mm=0, high_mm=400))]
DropInside = Annotated[float, Typed(Length(low_mm=5, high_mm=150))]
DropDown = Annotated[float, Typed(Length(low_mm=0.5, high_mm=80))]
DeckDepth = Annotated[float, Typed(Length(low_mm=0.1, high_mm=60))]
ShapeWidth = Annotated[float, Typed(Length(low_mm=1, high_mm=1000))]
BottomDepth = Annotated[float, Typed(Length(low_mm=0.1, high_mm=40))]
ChannelPlace = Annotated[float, Typed(Length(low_mm=3, high_mm=400))]
ChannelFade = Annotated[float, Typed(Length(low_mm=20, high_mm=2000))]
OffStringer = Annotated[float, Typed(Length(low_mm=0, high_mm=500))]
FinToe = Annotated[ToeGiven, Typed(Toe(angle=Angle(low_deg=-MOST_TOE_DEG, high_deg=MOST_TOE_DEG)))]
Cant = Annotated[float, Typed(Angle(low_deg=-30, high_deg=30))]
Apex = Annotated[float, Typed(Share(low=0.1, high=0.8))]
Shoulder = Annotated[float, Typed(Share(low=0.3, high=1))]
FinSize = Annotated[float, Typed(Length(low_mm=20, high_mm=600))]
FinRake = Annotated[
    RakeGiven, Typed(Rake(length=Length(low_mm=-300, high_mm=600), angle=Angle(low_deg=-45, high_deg=70)))
]
ShareOfOther = Annotated[float, Typed(Share(low=0, high=1))]
Straightness = Annotated[float, Typed(Share(low=0.05, high=2))]
Bow = Annotated[float, Typed(Share(low=-0.5, high=0.5))]
BaseFillet = Annotated[float, Typed(Length(low_mm=0, high_mm=40))]
EdgeHeight = Annotated[float, Typed(Length(low_mm=1, high_mm=600))]
EdgePlace = Annotated[float, Typed(Length(low_mm=-600, high_mm=900))]
Hollow = Annotated[float, Typed(Length(low_mm=0.2, high_mm=15))]
GreatestAt = Annotated[float, Typed(Share(low=0.2, high=0.6))]
LeadingRadius = Annotated[float, Typed(Share(low=0.25, high=2.25))]
FinTipRadius = Annotated[float, Typed(Length(low_mm=1, high_mm=100))]
FinTipWidth = Annotated[float, Typed(Length(low_mm=2, high_mm=500))]
FinThickness = Annotated[float, Typed(Length(low_mm=2, high_mm=30))]
FinTipThickness = Annotated[float, Typed(Length(low_mm=0.5, high_mm=30))]
TrailingEdge = Annotated[float, Typed(Length(low_mm=0.2, high_mm=10))]
TabHeight = Annotated[float, Typed(Length(low_mm=3, high_mm=100))]
SlotClearance = Annotated[float, Typed(Length(low_mm=0, high_mm=5))]
BitSize = Annotated[float, Typed(Length(low_mm=1, high_mm=30))]
BushSize = Annotated[float, Typed(Length(low_mm=4, high_mm=60))]
TabPlace = Annotated[float, Typed(Length(low_mm=0, high_mm=600))]
_CLOTH = Weighed(reader=cloth_g_m2, low=50, high=2000, unit="g/m2")
ClothWeight = Annotated[float, Typed(_CLOTH)]
Cloths = Annotated[tuple[float, ...], Typed(Several(each=_CLOTH, most=8))]
FibreShare = Annotated[float, Typed(Share(low=0.2, high=0.75))]
GlassDensity = Annotated[float, Typed(Weighed(reader=density_kg_m3, low=1000, high=3000, unit="kg/m3"))]
ResinDensity = Annotated[float, Typed(Weighed(reader=density_kg_m3, low=900, high=1600, unit="kg/m3"))]
CoreDensity = Annotated[float, Typed(Weighed(reader=density_kg_m3, low=20, high=1300, unit="kg/m3"))]
FoamDensity = Annotated[float, Typed(Weighed(reader=density_kg_m3, low=10, high=300, unit="kg/m3"))]
FoamStiffness = Annotated[float, Typed(Weighed(reader=stiffness_mpa, low=0.5, high=300, unit="MPa"))]
WoodStiffness = Annotated[float, Typed(Weighed(reader=stiffness_mpa, low=1000, high=30_000, unit="MPa"))]
FoamStrain = Annotated[float, Typed(Share(low=0.0005, high=0.2))]
StringerThickness = Annotated[float, Typed(Length(low_mm=1, high_mm=60))]
StringerAllowance = Annotated[float, Typed(Length(low_mm=0, high_mm=25))]
StripCount = Annotated[int, Typed(Count(low=1, high=MOST_STRIPS))]
GlueLine = Annotated[float, Typed(Length(low_mm=0, high_mm=3))]
GlueSpread = Annotated[float, Typed(Weighed(reader=spread_g_m2, low=20, high=2000, unit="g/m2"))]
PigmentShare = Annotated[float, Typed(Share(low=0, high=0.2))]
ClampSpacing = Annotated[float, Typed(Length(low_mm=25, high_mm=1000))]
ScarfRatio = Annotated[float, Typed(Ratio(low=4, high=30))]
Kerf = Annotated[float, Typed(Length(low_mm=0, high_mm=12))]
WoodDensity = Annotated[float, Typed(Weighed(reader=density_kg_m3, low=60, high=1400, unit="kg/m3"))]
PlankLength = Annotated[float, Typed(Length(low_mm=300, high_mm=8000))]
PlankWidth = Annotated[float, Typed(Length(low_mm=20, high_mm=1500))]
PlankThickness = Annotated[float, Typed(Length(low_mm=2, high_mm=150))]
PlankPlace = Annotated[float, Typed(Length(low_mm=0, high_mm=8000))]
Crook = Annotated[float, Typed(Length(low_mm=0, high_mm=100))]
KnotSize = Annotated[float, Typed(Length(low_mm=1, high_mm=300))]
KnotLength = Annotated[float, Typed(Length(low_mm=1, high_mm=4000))]
KnotClearance = Annotated[float, Typed(Length(low_mm=0, high_mm=50))]
CoreThickness = Annotated[float, Typed(Length(low_mm=1, high_mm=30))]
Pot = Annotated[float, Typed(Weighed(reader=mass_g, low=20, high=5000, unit="g"))]
PliesPerSession = Annotated[int, Typed(Count(low=1, high=50))]
SkinPlies = Annotated[int, Typed(Count(low=1, high=50))]
DeckSkin = Annotated[float, Typed(Length(low_mm=0, high_mm=12))]
PlanerPass = Annotated[float, Typed(Length(low_mm=0.1, high_mm=6))]
Sanding = Annotated[float, Typed(Length(low_mm=0, high_mm=5))]
PanelMargin = Annotated[float, Typed(Length(low_mm=0, high_mm=100))]
StockSize = Annotated[float, Typed(Length(low_mm=50, high_mm=6000))]
StockThickness = Annotated[float, Typed(Length(low_mm=0.3, high_mm=80))]
StockMargin = Annotated[float, Typed(Length(low_mm=0, high_mm=300))]
SheetCount = Annotated[int, Typed(Count(low=1, high=100))]
CutterDiameter = Annotated[float, Typed(Length(low_mm=0.2, high_mm=60))]
CuttingDepth = Annotated[float, Typed(Length(low_mm=0.2, high_mm=200))]
Flutes = Annotated[int, Typed(Count(low=1, high=12))]
ChipLoad = Annotated[float, Typed(Advance(low_mm=0.002, high_mm=2, per="flute"))]
SpindleRpm = Annotated[int, Typed(Count(low=100, high=100_000))]
PassDepth = Annotated[float, Typed(Length(low_mm=0.05, high_mm=100))]
BedSize = Annotated[float, Typed(Length(low_mm=50, high_mm=20_000))]
ZTravel = Annotated[float, Typed(Length(low_mm=40, high_mm=1500))]
HolderDiameter = Annotated[float, Typed(Length(low_mm=8, high_mm=250))]
StickOut = Annotated[float, Typed(Length(low_mm=10, high_mm=500))]
HolderClearance = Annotated[float, Typed(Length(low_mm=0, high_mm=50))]
LevelDepth = Annotated[float, Typed(Length(low_mm=0.5, high_mm=150))]
CarvingAllowance = Annotated[float, Typed(Length(low_mm=0.4, high_mm=10))]
Cusp = Annotated[float, Typed(Length(low_mm=0.02, high_mm=3))]
FrameWidth = Annotated[float, Typed(Length(low_mm=0, high_mm=300))]
BlockMargin = Annotated[float, Typed(Length(low_mm=0.5, high_mm=100))]
Dowel = Annotated[float, Typed(Length(low_mm=4, high_mm=40))]
DowelInBed = Annotated[float, Typed(Length(low_mm=2, high_mm=60))]
FoamTab = Annotated[float, Typed(Length(low_mm=8, high_mm=120))]
BlockThickness = Annotated[float, Typed(Length(low_mm=20, high_mm=600))]
TravelHeight = Annotated[float, Typed(Length(low_mm=1, high_mm=200))]
Feed = Annotated[float, Typed(Advance(low_mm=10, high_mm=50_000, per="min"))]
RampAngle = Annotated[float, Typed(Angle(low_deg=0.5, high_deg=45))]
TabCount = Annotated[int, Typed(Count(low=0, high=100))]
TabSpacing = Annotated[float, Typed(Length(low_mm=10, high_mm=5000))]
TabLength = Annotated[float, Typed(Length(low_mm=1, high_mm=100))]
HeldHeight = Annotated[float, Typed(Length(low_mm=0.2, high_mm=80))]
CutBelow = Annotated[float, Typed(Length(low_mm=0, high_mm=5))]
PartGap = Annotated[float, Typed(Length(low_mm=0, high_mm=300))]
JointFit = Annotated[float, Typed(Length(low_mm=0, high_mm=2))]
RollWidth = Annotated[float, Typed(Length(low_mm=200, high_mm=5000))]
RollLength = Annotated[float, Typed(Length(low_mm=250, high_mm=20_000))]
PaperMargin = Annotated[float, Typed(Length(low_mm=0, high_mm=100))]
PaperOverlap = Annotated[float, Typed(Length(low_mm=6, high_mm=100))]
EditionNumber = Annotated[int, Typed(Edition())]
Remark = Annotated[str, Field(min_length=1, max_length=200)]
Name = Annotated[str, BeforeValidator(checked_name), Field(min_length=1, max_length=LONGEST_NAME)]
Laminate = Annotated[float, Typed(Length(low_mm=0.1, high_mm=8))]
Litres = Annotated[float, Typed(Weighed(reader=volume_l, low=2, high=500, unit="L"))]
