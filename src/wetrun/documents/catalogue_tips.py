"""Makes a tip of the rows a maker gives for it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from wetrun.documents.catalogue_agreement import TipRows, check_agreement
from wetrun.documents.catalogue_cells import TipRow
from wetrun.errors import NotDefined, OutOfRange, Problem
from wetrun.machine.tip import Tip
from wetrun.quantity import System, Typed, sentence
from wetrun.spray.droplets import ClassRow, Family, SprayPattern
from wetrun.spray.orifice import (
    ISO_FLOW_M3S,
    ISO_PRESSURE_PA,
    REFERENCE_WATER_KGPM3,
    FlowLaw,
    FlowRows,
    OrificeLaw,
    law_of_iso_size,
    size_number,
)
from wetrun.units import Pa

_STREAMER_HEIGHT = "The maker's own rule for boom height applies."


def tip_of_rows(tip_rows: TipRows) -> tuple[Tip | None, tuple[Problem, ...]]:
    """Return the tip its rows describe, or what is wrong with them together.

    Parameters
    ----------
    tip_rows : TipRows
        All rows of one ident, every cell already readable.

    Returns
    -------
    tuple of Tip or None, and of Problem
        A tip if and only if there is no problem.
    """
    problems = tuple(check_agreement(tip_rows))
    family = tip_rows.family
    if problems or family is None:
        return None, problems
    try:
        return _tip(tip_rows, family), ()
    except (OutOfRange, NotDefined) as error:
        text = error.reason if isinstance(error, NotDefined) else sentence(error, System.US).removesuffix(error.remedy)
        row, column = _blamed(tip_rows, error)
        return None, (tip_rows.problem(row, column, text.strip(" ."), error.remedy),)


def _blamed(tip_rows: TipRows, error: OutOfRange | NotDefined) -> tuple[TipRow, str]:
    """Find the cell that holds the value an error is about; the tip's first row if none does."""
    value = error.value if isinstance(error, OutOfRange) else math.nan
    for column in ("pressure", "flow", "max_pressure", "min_pressure"):
        for row in reversed(tip_rows.rows):
            typed = getattr(row, column)
            if typed is not None and math.isclose(typed.si_value, value, rel_tol=1e-9):
                return row, column
    return tip_rows.rows[0], "pressure"


def _tip(tip_rows: TipRows, family: Family) -> Tip:
    rows = sorted(tip_rows.rows, key=_pressure_pa)
    low_pa, high_pa = _range_pa(tip_rows, rows)
    law = _law(tip_rows, rows)
    if isinstance(law, FlowRows) and not (law.pressures_pa[0] <= low_pa and high_pa <= law.pressures_pa[-1]):
        raise NotDefined(
            f"tip “{tip_rows.ident}”",
            reason="its flow rows do not reach from min_pressure to max_pressure, and nothing is assumed beyond them",
            remedy="Add rows at both ends, or narrow the pressure range to the rows.",
        )
    name, price, pulse, rule = (tip_rows.said(column) for column in ("name", "price", "pulse", "height_rule"))
    return Tip(
        ident=tip_rows.ident,
        words=str(name or tip_rows.ident),
        size=str(tip_rows.said("size")),
        family=family,
        law=law,
        low_pa=low_pa,
        high_pa=high_pa,
        pattern=_pattern(tip_rows, law, low_pa, high_pa),
        price_cents=price if isinstance(price, int) else None,
        generic=False,
        origin=f"rows of {tip_rows.file}",
        pulse=pulse if isinstance(pulse, bool) else None,
        height_note=str(rule or (_STREAMER_HEIGHT if family is Family.STREAMER else "")),
    )


def _range_pa(tip_rows: TipRows, rows: Sequence[TipRow]) -> tuple[Pa, Pa]:
    """Stated least and greatest pressure [Pa], else those of the first and last row."""
    low, high = (_pressure_pa(rows[0]), _pressure_pa(rows[-1]))
    for row in tip_rows.rows:
        low = _pa(row.min_pressure) if row.min_pressure else low
        high = _pa(row.max_pressure) if row.max_pressure else high
    return low, high


def _law(tip_rows: TipRows, rows: Sequence[TipRow]) -> FlowLaw:
    """Rows where there are two flows, the square-root law through one, the size's nominal law without."""
    origin = f"rows of {tip_rows.file}"
    filled = [(_pressure_pa(row), row.flow.si_value) for row in rows if row.flow is not None]
    if len(filled) > 1:
        pressures, flows = zip(*filled, strict=True)
        return FlowRows(pressures, flows, REFERENCE_WATER_KGPM3, origin)
    if filled:
        pressure, flow = filled[0]
        return OrificeLaw(flow / math.sqrt(pressure), f"{origin}, one flow and the square-root law")
    return law_of_iso_size(str(tip_rows.said("size")))


def _pattern(tip_rows: TipRows, law: FlowLaw, low_pa: Pa, high_pa: Pa) -> SprayPattern | None:
    """What the droplet class follows from, low to high [Pa]; None for a streamer without classes."""
    family, angle = tip_rows.family, next((row.angle for row in tip_rows.rows if row.angle), None)
    rows = sorted((row for row in tip_rows.rows if row.droplet_class is not None), key=_pressure_pa)
    classes = tuple(ClassRow(_pressure_pa(row), row.droplet_class) for row in rows if row.droplet_class is not None)
    if family is None or (family is Family.STREAMER and not classes):
        return None
    return SprayPattern(
        _size_number(str(tip_rows.said("size")), law),
        angle.si_value if angle else 0.0,
        family,
        low_pa,
        high_pa,
        classes,
    )


def _size_number(size: str, law: FlowLaw) -> float:
    """Read the number of a size, or for a maker's own size the number its flow at 3 bar amounts to."""
    try:
        return size_number(size)
    except NotDefined:
        at_pa = (
            min(max(ISO_PRESSURE_PA, law.pressures_pa[0]), law.pressures_pa[-1])
            if isinstance(law, FlowRows)
            else ISO_PRESSURE_PA
        )
        return float(law.flow_m3s(at_pa) / ISO_FLOW_M3S * math.sqrt(ISO_PRESSURE_PA / at_pa))


def _pressure_pa(row: TipRow) -> Pa:
    """Pressure of a row [Pa]; rows without one were refused before."""
    return _pa(row.pressure) if row.pressure else 0.0


def _pa(typed: Typed) -> Pa:
    """Pressure [Pa] to the millionth, so that 2.1 bar and 210 kPa are one pressure."""
    return round(typed.si_value, 6)
