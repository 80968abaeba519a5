"""Cab against gauges on paper: what each section loses on the way, in the reader's units."""

from __future__ import annotations

from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_values import measured
from wetrun.proving.pressure import PressureResult, SectionLoss
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


def _row(each: SectionLoss, reader: Reader) -> dict[str, str | bool]:
    return {
        "section": str(each.section),
        "drop": measured(each.drop_pa, _expanded_pa(each), PASCAL, reader).text,
        "over": reader.difference(each.over_rest_pa),
        "unlike": each.unlike,
    }


def _expanded_pa(each: SectionLoss) -> Pa | None:
    """The ± of a loss [Pa]; its flow is that of the greatest loss, which a loss of nothing does not tell."""
    if each.loss_paps2m6 == 0.0:
        return None
    return _COVERS * each.standard_paps2m6 * abs(each.drop_pa / each.loss_paps2m6)
