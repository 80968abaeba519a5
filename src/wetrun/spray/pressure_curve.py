"""Pressure at the tip over its mean flow, as a table that millions of instants can look up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.spray.bounds import FloatArray
from wetrun.spray.hydraulics import Hydraulics, ShareArray, flow_at_tip_pressure_m3s, tip_pressure_pa
from wetrun.spray.limits import FlowArray
from wetrun.spray.orifice import FlowRows
from wetrun.spray.pulse import PulseSetting
from wetrun.spray.pulsed import flows_at_duty_m3s, open_flow_m3s
from wetrun.units import CUBIC_METRE_PER_SECOND, FRACTION, PASCAL

PULSED_POINTS: Final = 17
POINTS_BETWEEN_ROWS: Final = 64

RootArray = FloatArray
"""Square roots of pressure."""


@dataclass(frozen=True, slots=True)
class PressureCurve:
    """Pressure at the tip, and flow while open, over the mean flow of a tip.

    Attributes
    ----------
    flows_m3s : ndarray
        Mean flows [m3/s], rising from 0, shape (levels, points); one level where the boom's share does not matter.
    roots : ndarray
        Square root of the pressure at the tip [Pa^0.5], same shape. A square-root tip is a straight line in it.
    opens_m3s : ndarray or None
        Flow while the tip is open [m3/s], same shape; None where tips are not pulsed.
    """

    flows_m3s: FlowArray
    roots: RootArray
    opens_m3s: FlowArray | None = None

    def pressures_pa(
        self, flow_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND], level: int
    ) -> Annotated[FloatArray, PASCAL]:
        """Return the pressure at the tip for mean flows, at one share of the boom.

        Parameters
        ----------
        flow_m3s : ndarray
            Mean flow of a tip [m3/s], any shape.
        level : int
            Which share of the boom is on.

        Returns
        -------
        ndarray
            Pressure while the tip sprays [Pa], same shape.
        """
        row = min(level, self.flows_m3s.shape[0] - 1)
        flows, roots = self.flows_m3s[row], self.roots[row]
        root = np.interp(flow_m3s, flows, roots)
        if self.opens_m3s is None:
            # Beyond the table the square-root law goes on from its last point.
            root = np.where(flow_m3s > flows[-1], roots[-1] * (flow_m3s / flows[-1]), root)
        return np.asarray(root * root)

    def duties_frac(self, flow_m3s: FlowArray, level: int) -> Annotated[FloatArray, FRACTION] | None:
        """Return the share of time tips are open [frac] for mean flows [m3/s], None where they are not pulsed."""
        if self.opens_m3s is None:
            return None
        row = min(level, self.flows_m3s.shape[0] - 1)
        duty: FloatArray = np.minimum(flow_m3s / np.interp(flow_m3s, self.flows_m3s[row], self.opens_m3s[row]), 1.0)
        return duty


def pressure_curve(setup: Hydraulics, on_fracs: ShareArray) -> PressureCurve:
    """Return the pressure curve of a tip set on its machine.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    on_fracs : ndarray
        Shares of the boom that are on [frac], shape (levels,).

    Returns
    -------
    PressureCurve
        Exact at its points; between them straight in the square root of pressure, which a square-root tip is.

    References
    ----------
    orifice-law, minor-loss-quadratic

    Example
    -------
    >>> from wetrun.spray.controller import Loop
    >>> from wetrun.spray.orifice import law_of_iso_size
    >>> setup = Hydraulics(loop=Loop.METER, law=law_of_iso_size("03"), low_pa=1e5, high_pa=5e5, tips=48)
    >>> curve = pressure_curve(setup, np.ones(1))
    >>> round(float(curve.pressures_pa(np.array([2e-5]), 0)[0]))  # 1.2 L/min of a size 03
    300000
    """
    if setup.pulse is not None:
        return _pulsed(setup, setup.pulse, on_fracs)
    flows = np.array([0.0, flow_at_tip_pressure_m3s(setup, setup.high_pa)])
    if isinstance(setup.law, FlowRows):
        rows = np.array([flow_at_tip_pressure_m3s(setup, pressure_pa) for pressure_pa in setup.law.pressures_pa])
        places = np.linspace(0, rows.size - 1, POINTS_BETWEEN_ROWS * (rows.size - 1) + 1)
        flows = np.concatenate([[0.0], np.exp(np.interp(places, np.arange(rows.size), np.log(rows)))])
    roots = np.sqrt([tip_pressure_pa(setup, float(flow)) for flow in flows])
    return PressureCurve(flows[np.newaxis], roots[np.newaxis])


def _pulsed(setup: Hydraulics, pulse: PulseSetting, on_fracs: ShareArray) -> PressureCurve:
    full = flows_at_duty_m3s(setup, pulse, 1.0, on_fracs)
    flows = full[:, np.newaxis] * np.linspace(0.0, 1.0, PULSED_POINTS)
    opens = np.array(
        [
            [open_flow_m3s(setup, pulse, float(mean), float(share)) for mean in row]
            for row, share in zip(flows, on_fracs, strict=True)
        ]
    )
    roots = np.sqrt([[tip_pressure_pa(setup, float(flow)) for flow in row] for row in opens])
    return PressureCurve(flows, roots, opens)
