"""The meter's error load by load: a dot with its doubt for each, the common error as a band, the limits, the drift."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from wetrun.papers.marks import INK, SOFT, box, line, opened, written
from wetrun.papers.reader import day
from wetrun.percent import PER_CENT, signed
from wetrun.proving.load_trend import LoadTrend
from wetrun.proving.rule import INSTRUMENT_5
from wetrun.units import Ratio

WIDE: Final = 640.0
HIGH: Final = 280.0
LEFT: Final = 52.0
RIGHT: Final = 626.0
TOP: Final = 16.0
GROUND: Final = 232.0
_SQUARE: Final = 7.0
_LABELS: Final = 12
"""Most loads that are each named below the axis."""


class _Scale:
    """Where an error and a load stand in the picture."""

    def __init__(self, trend: LoadTrend) -> None:
        ends = [abs(one.error_ratio) + found.expanded for one, found in zip(trend.loads, trend.verdicts, strict=True)]
        self.most = max(*ends, INSTRUMENT_5.high_ratio, 0.06) * 1.08
        self.count = len(trend.loads)

    def up(self, error_ratio: Ratio) -> float:
        return (TOP + GROUND) / 2.0 - (GROUND - TOP) / 2.0 * max(-1.0, min(1.0, error_ratio / self.most))

    def along(self, nth: float) -> float:
        return LEFT + (RIGHT - LEFT) * (nth + 0.5) / self.count


def trend_svg(trend: LoadTrend) -> str:
    """Return the meter's error load by load as a picture; its table is the rows of `fills_data`.

    Parameters
    ----------
    trend : LoadTrend
        What the loads say.

    Returns
    -------
    str
        One ``<svg>`` element with title and description.
    """
    counted = trend.counted
    error, doubt = (PER_CENT * one for one in (counted.error_ratio, counted.judged.expanded))
    told = f"{len(trend.loads)} loads; common error {signed(error, 1)} %, ± {doubt:.1f} %"
    title = "How far the monitor counts off what was put out, load by load"
    return f"{opened('trend', (WIDE, HIGH), title, told)}{''.join(_drawn(trend, _Scale(trend)))}</svg>"


def _drawn(trend: LoadTrend, scale: _Scale) -> Iterator[str]:
    yield box((0, 0), (WIDE, HIGH), 'fill="#ffffff"')
    yield from _ground(trend, scale)
    yield from _axis(scale)
    for nth, (one, found) in enumerate(zip(trend.loads, trend.verdicts, strict=True)):
        x, y = scale.along(nth), scale.up(one.error_ratio)
        low, high = scale.up(one.error_ratio - found.expanded), scale.up(one.error_ratio + found.expanded)
        yield line((x, low), (x, high), f'stroke="{INK}" stroke-width="1.4"')
        for end in (low, high):
            yield line((x - 4, end), (x + 4, end), f'stroke="{INK}" stroke-width="1.4"')
        filled = INK if one.load.name not in trend.counted.odd else "#ffffff"
        corner = (x - _SQUARE / 2, y - _SQUARE / 2)
        yield box(corner, (_SQUARE, _SQUARE), f'fill="{filled}" stroke="{INK}" stroke-width="1.6"')
        if scale.count <= _LABELS:
            yield written(one.load.name[:6], x, GROUND + 15, height=11, style='text-anchor="middle"')
    yield from _feet(trend)


def _ground(trend: LoadTrend, scale: _Scale) -> Iterator[str]:
    counted = trend.counted
    high, low = (scale.up(counted.error_ratio + sign * counted.judged.expanded) for sign in (1.0, -1.0))
    yield box((LEFT, high), (RIGHT - LEFT, max(low - high, 1.0)), 'fill="#e4e4de"')
    if trend.drift is not None:
        ends = (LEFT, scale.up(trend.drift.start_ratio)), (RIGHT, scale.up(trend.drift.end_ratio))
        yield line(*ends, f'stroke="{SOFT}" stroke-width="1.4" stroke-dasharray="2 4"')


def _axis(scale: _Scale) -> Iterator[str]:
    yield line((LEFT, scale.up(0.0)), (RIGHT, scale.up(0.0)), f'stroke="{INK}" stroke-width="1"')
    for limit in (INSTRUMENT_5.low_ratio, 0.0, INSTRUMENT_5.high_ratio):
        y = scale.up(limit)
        words = f"{signed(PER_CENT * limit, 0)} %" if limit else "0"
        yield written(words, LEFT - 6, y + 4, height=11, style='text-anchor="end"')
        if limit:
            yield line((LEFT, y), (RIGHT, y), f'stroke="{INK}" stroke-width="1" stroke-dasharray="7 4"')


def _feet(trend: LoadTrend) -> Iterator[str]:
    first, last = trend.loads[0].load.on, trend.loads[-1].load.on
    span = day(first) if first == last else f"{day(first)} to {day(last)}"
    yield written(f"loads in order, {span}", (LEFT + RIGHT) / 2, GROUND + 30, height=11, style='text-anchor="middle"')
    words = "square: load ± its doubt (hollow: look again); band: all together; dashes: limits; dots: drift"
    yield written(words, (LEFT + RIGHT) / 2, GROUND + 44, height=10, style='text-anchor="middle"')
