"""What one field of a document takes: a quantity with its unit, inside bounds that only a mistake passes.

Each type reads a typed value or refuses it with the limit and the remedy; `wetrun.documents.refusals` adds the place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, core_schema

from wetrun.documents.refusing import refuse, system_of
from wetrun.errors import QuantityRefused
from wetrun.quantity import Kind, System, Typed, read, show


@dataclass(frozen=True, slots=True)
class Ask:
    """One kind of quantity a field takes, with bounds that only a mistake passes.

    Attributes
    ----------
    kind : Kind
        What it is.
    low, high : str
        Least and greatest plausible value, as a person would type it.
    """

    kind: Kind
    low: str
    high: str


class Quantity:
    """Makes a field read a quantity with its unit; a bare number is refused, as no unit is printed at the field."""

    def __init__(self, *asks: Ask, example: str = "") -> None:
        self.asks = asks
        self.example = example or asks[0].kind.value.example

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:  # noqa: ANN401
        return core_schema.with_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        words = " or ".join(f"{ask.kind.value.words} from {ask.low} to {ask.high}" for ask in self.asks)
        return {"type": "string", "description": f"{words}, with its unit", "examples": [self.example]}

    def _read(self, value: object, info: ValidationInfo) -> Typed:
        if isinstance(value, int | float) and not isinstance(value, bool):
            units = " or ".join(f'"{value} {ask.kind.value.us}"' for ask in self.asks)
            raise refuse("it has no unit", f"Write it in quotes with its unit, for example {units}")
        if not isinstance(value, str):
            raise refuse("a quantity with its unit, in quotes, belongs here", f'Write it like "{self.example}"')
        typed, ask = self._typed(value)
        self._check_plausible(typed, ask, system_of(info))
        return typed

    def _typed(self, text: str) -> tuple[Typed, Ask]:
        refusals: list[QuantityRefused] = []
        for ask in self.asks:
            try:
                return read(text, ask.kind), ask
            except QuantityRefused as refusal:
                refusals.append(refusal)
        accepted = ", ".join(unit for refusal in refusals for unit in refusal.accepted)
        # The field knows its own range; the example of the kind may lie outside it.
        reason = refusals[0].reason.replace(self.asks[0].kind.value.example, self.example)
        reason = reason.removesuffix(f"; write it like {self.example}")
        raise refuse(f"it {reason}; accepted here: {accepted}", f'Write it like "{self.example}"')

    @staticmethod
    def _check_plausible(typed: Typed, ask: Ask, system: System) -> None:
        low, high = (read(text, ask.kind).si_value for text in (ask.low, ask.high))
        if not low <= typed.si_value <= high:
            shown = f"from {show(low, ask.kind, system)} to {show(high, ask.kind, system)}"
            raise refuse(f"it must be {shown}", "Check the number and its unit")


Pressure = Annotated[Typed, Quantity(Ask(Kind.PRESSURE, "1 psi", "400 psi"))]
TipFlow = Annotated[Typed, Quantity(Ask(Kind.TIP_FLOW, "0.01 gal/min", "20 gal/min"))]
BoomFlow = Annotated[Typed, Quantity(Ask(Kind.BOOM_FLOW, "0.05 gal/min", "1000 gal/min"))]
SideFlow = Annotated[Typed, Quantity(Ask(Kind.BOOM_FLOW, "0 gal/min", "1000 gal/min"), example="20 gal/min")]
Speed = Annotated[Typed, Quantity(Ask(Kind.SPEED, "0.1 km/h", "60 km/h"))]
Wind = Annotated[Typed, Quantity(Ask(Kind.SPEED, "0 km/h", "100 km/h"), example="10 mph")]
CarrierRate = Annotated[Typed, Quantity(Ask(Kind.RATE, "0.5 gal/ac", "300 gal/ac"))]
ProductRate = Annotated[
    Typed,
    Quantity(Ask(Kind.PRODUCT_RATE, "0.01 fl oz/ac", "200 gal/ac"), Ask(Kind.DRY_RATE, "0.001 oz/ac", "1000 lb/ac")),
]
Area = Annotated[Typed, Quantity(Ask(Kind.AREA, "0.01 ac", "1000000 ac"))]
Spacing = Annotated[Typed, Quantity(Ask(Kind.SPACING, "5 cm", "200 cm"))]
Height = Annotated[Typed, Quantity(Ask(Kind.HEIGHT, "10 cm", "300 cm"))]
Volume = Annotated[Typed, Quantity(Ask(Kind.VOLUME, "5 gal", "10000 gal"))]
Density = Annotated[Typed, Quantity(Ask(Kind.DENSITY, "0.5 kg/L", "3 kg/L"))]
Gravity = Annotated[Typed, Quantity(Ask(Kind.RATIO, "0.5", "3"))]
Temperature = Annotated[Typed, Quantity(Ask(Kind.TEMPERATURE, "-30 °C", "60 °C"))]
LagTime = Annotated[Typed, Quantity(Ask(Kind.TIME, "0 s", "60 s"), example="0.8 s")]
Frequency = Annotated[Typed, Quantity(Ask(Kind.FREQUENCY, "1 Hz", "200 Hz"))]
Duty = Annotated[Typed, Quantity(Ask(Kind.SHARE, "1 %", "100 %"))]
Wear = Annotated[Typed, Quantity(Ask(Kind.SHARE, "-20 %", "100 %"), example="3 %")]
Reserve = Annotated[Typed, Quantity(Ask(Kind.SHARE, "0 %", "80 %"))]
Tolerance = Annotated[Typed, Quantity(Ask(Kind.SHARE, "0.1 %", "25 %"), example="5 %")]
GroundShare = Annotated[Typed, Quantity(Ask(Kind.SHARE, "0.1 %", "100 %"), example="15 %")]
CarryOver = Annotated[Typed, Quantity(Ask(Kind.SHARE, "0 %", "10 %"), example="0.01 %")]
InSpray = Annotated[
    Typed,
    Quantity(
        Ask(Kind.VOLUME_SHARE, "0.001 % v/v", "50 % v/v"),
        Ask(Kind.LIQUID_IN_SPRAY, "0.001 qt/100 gal", "200 qt/100 gal"),
        Ask(Kind.DRY_IN_SPRAY, "0.001 lb/100 gal", "300 lb/100 gal"),
    ),
]
Ion = Annotated[Typed, Quantity(Ask(Kind.ION, "0 ppm", "5000 ppm"))]
Weight = Annotated[Typed, Quantity(Ask(Kind.MASS, "10 lb", "200000 lb"), example="20000 lb")]
HeldUp = Annotated[Typed, Quantity(Ask(Kind.VOLUME, "0 gal", "500 gal"), example="18 gal")]
GaugeStep = Annotated[Typed, Quantity(Ask(Kind.VOLUME, "0.1 L", "200 L"), example="5 gal")]
JugStep = Annotated[Typed, Quantity(Ask(Kind.VOLUME, "1 mL", "4 L"), example="1 fl oz")]
ScaleStep = Annotated[Typed, Quantity(Ask(Kind.MASS, "0.1 g", "5 kg"), example="1 oz")]
SwathLength = Annotated[Typed, Quantity(Ask(Kind.WIDTH, "50 m", "10 km"), example="2600 ft")]
FirstFill = Annotated[Typed, Quantity(Ask(Kind.SHARE, "10 %", "95 %"), example="60 %")]
Jar = Annotated[Typed, Quantity(Ask(Kind.JAR_VOLUME, "100 mL", "20 L"), example="1 qt")]
