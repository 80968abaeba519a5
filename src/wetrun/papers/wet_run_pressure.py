"""Cab against gauges on paper: what each section loses on the way, in the reader's units."""

from __future__ import annotations

from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_values import measured
from wetrun.percent import signed
from wetrun.proving.pressure import PressureResult, SectionLoss
from wetrun.quantity import Kind, System
from wetrun.units import PASCAL, Pa

_COVERS = 2.0
"""Standard uncertainties in the ± of a loss."""


def loss_rows(pressure: PressureResult | None, reader: Reader) -> list[dict[str, str | bool]]:
    """Return what each section loses between cab and tips.

    Parameters
    ----------
    pressure : PressureResult or None
        Cab against gauges; None gives no rows.
    reader : Reader
        Whose units.

    Returns
    -------
    list of dict
        Section by section.
    """
    return [] if pressure is None else [_row(each, reader) for each in pressure.sections]


def words_by_words(pressure: PressureResult | None, reader: Reader) -> dict[str, str]:
    """Return the sentence on each section's loss in the reader's units, by the sentence of the result."""
    return {} if pressure is None else {each.words: _words(each, reader) for each in pressure.sections}


def _row(each: SectionLoss, reader: Reader) -> dict[str, str | bool]:
    return {
        "section": str(each.section),
        "drop": measured(each.drop_pa, _expanded_pa(each), PASCAL, reader).text,
        "over": _short(each.over_rest_pa, reader),
        "unlike": each.unlike,
    }


def _expanded_pa(each: SectionLoss) -> Pa | None:
    """The ± of a loss [Pa]; its flow is that of the greatest loss, which a loss of nothing does not tell."""
    if each.loss_paps2m6 == 0.0:
        return None
    return _COVERS * each.standard_paps2m6 * abs(each.drop_pa / each.loss_paps2m6)


def _short(pressure_pa: Pa, reader: Reader) -> str:
    """A small pressure, as a gauge could still show it; never less than nothing by a hair."""
    places = 1 if reader.system is System.US else 2
    return f"{signed(reader.number(pressure_pa, Kind.PRESSURE), places, '')} {reader.unit(Kind.PRESSURE)}"


def _words(each: SectionLoss, reader: Reader) -> str:
    said = f"Section {each.section} loses {_short(each.drop_pa, reader)} at the greatest flow"
    if not each.unlike:
        return f"{said}."
    over = f"{said}, {_short(abs(each.over_rest_pa), reader)}"
    if each.over_rest_pa > 0.0:
        return f"{over} more than the others: clean its strainer, look at valve and hose."
    return f"{over} less than the others."
