"""The window of a set of limits against the plain definition of *held*, demand by demand."""

from __future__ import annotations

from math import inf

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from wetrun.spray.delivery import steady_delivery
from wetrun.spray.flow_window import Tolerance, flow_edges, flow_window
from wetrun.spray.limits import Bound, BoundCurve, Limit, Side

flows = st.floats(1e-6, 1e-4)
tolerances = st.sampled_from([0.0, 0.02, 0.05, 0.1])


@st.composite
def limit_sets(draw: st.DrawFn) -> tuple[Bound, ...]:
    """Any mix of limits that act and limits that judge, on both sides."""
    names = draw(st.lists(st.sampled_from(list(Limit)), min_size=1, max_size=6))
    return tuple(Bound(name, draw(st.sampled_from(list(Side))), draw(flows), draw(st.booleans())) for name in names)


def delivered(demand_m3s: float, limits: tuple[Bound, ...], gain: float = 1.0) -> float:
    """Clip what the machine makes of a demand by every limit that acts; what the pump cannot give is settled last."""
    flow = gain * demand_m3s
    for bound in limits:
        if bound.acts and bound.side is Side.LOW:
            flow = max(flow, bound.flow_m3s)
    for bound in limits:
        if bound.acts and bound.side is Side.HIGH:
            flow = min(flow, bound.flow_m3s)
    return flow


def is_held(demand_m3s: float, limits: tuple[Bound, ...], tolerance: Tolerance, gain: float = 1.0) -> bool:
    """Rate within tolerance, and what is delivered inside every limit that judges."""
    flow = delivered(demand_m3s, limits, gain)
    judged = [bound for bound in limits if not bound.acts]
    in_range = all(flow >= b.flow_m3s if b.side is Side.LOW else flow <= b.flow_m3s for b in judged)
    off = flow / demand_m3s - 1.0
    return in_range and -tolerance.under_frac - 1e-15 <= off <= tolerance.over_frac + 1e-15


@given(limit_sets(), tolerances, tolerances, st.floats(-1.0, 1.0), st.lists(flows, min_size=1, max_size=30))
def test_window_is_exactly_where_the_definition_holds(
    limits: tuple[Bound, ...], under: float, over: float, off: float, demands: list[float]
) -> None:
    """Also for a machine that is off by itself, as long as that stays within the tolerance."""
    tolerance = Tolerance(under, over)
    gain = 1.0 + off * (over if off > 0 else under)
    window = flow_window(limits, tolerance, gain)
    edges = (window.low_m3s, window.high_m3s, *(bound.flow_m3s / gain for bound in limits))
    for demand in demands:
        if any(abs(demand / edge - 1.0) < 1e-9 for edge in edges if 0.0 < edge < inf):
            continue
        inside = window.low_m3s <= demand <= window.high_m3s
        assert inside == is_held(demand, limits, tolerance, gain)


@given(limit_sets(), tolerances, st.sampled_from([0.7, 0.85, 1.15, 1.4]))
def test_a_machine_off_by_more_than_the_tolerance_holds_nothing(
    limits: tuple[Bound, ...], tolerance: float, gain: float
) -> None:
    assert flow_window(limits, Tolerance(tolerance, tolerance), gain).empty


@given(limit_sets(), flows)
def test_delivery_is_the_clipped_demand_and_names_a_limit_that_was_passed(
    limits: tuple[Bound, ...], demand: float
) -> None:
    result = steady_delivery(demand, limits)
    assert result.flow_m3s == delivered(demand, limits)
    assert result.rate_ratio == result.flow_m3s / demand
    if result.binding is None:
        assert is_held(demand, limits, Tolerance())
    else:
        assert result.binding in limits


@given(st.lists(limit_sets(), min_size=1, max_size=4), tolerances)
def test_edges_at_many_levels_are_those_of_each_level_alone(levels: list[tuple[Bound, ...]], tolerance: float) -> None:
    first = levels[0]
    # One curve per limit of the first level, its flow scaled from level to level.
    scales = np.arange(1, len(levels) + 1, dtype=np.float64)
    curves = [BoundCurve(b.limit, b.side, b.flow_m3s * scales, b.acts) for b in first]
    edges = flow_edges(curves, scales.size, Tolerance(tolerance, tolerance))
    for level in range(scales.size):
        window = flow_window([curve.at(level) for curve in curves], Tolerance(tolerance, tolerance))
        assert (edges.low_m3s[level], edges.high_m3s[level]) == (window.low_m3s, window.high_m3s)
        assert (edges.floor_m3s[level], edges.ceiling_m3s[level]) == (window.floor_m3s, window.ceiling_m3s)
