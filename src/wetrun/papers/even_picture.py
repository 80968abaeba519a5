"""The picture of what lies along a boom: groove by groove against the mean, limits, sections; page and PDF share it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from wetrun.papers.even_view import even_sentences, relative_grooves
from wetrun.papers.marks import FAINT, INK, SOFT, line, opened, written
from wetrun.papers.reader import Reader
from wetrun.percent import PER_CENT, signed
from wetrun.planning.boom_even import BoomEven
from wetrun.quantity import Kind
from wetrun.units import Ratio

SIZE: Final = (760.0, 260.0)
LEFT: Final = 46.0
RIGHT: Final = 744.0
TOP: Final = 40.0
BOTTOM: Final = 214.0
LEAST_SPAN: Final[Ratio] = 0.3
MOST_SPAN: Final[Ratio] = 1.0
STEPS: Final = (0.1, 0.2, 0.5)
MOST_TICKS: Final = 9


@dataclass(frozen=True, slots=True)
class _Plot:
    """Where a place along the boom [m] and a deviation lie on the picture."""

    half_m: float
    span: float

    def x(self, at_m: float) -> float:
        return LEFT + (RIGHT - LEFT) * (at_m + self.half_m) / (2.0 * self.half_m)

    def y(self, off: float) -> float:
        inside = min(max(off, -self.span), self.span)
        return BOTTOM - (BOTTOM - TOP) * (inside + self.span) / (2.0 * self.span)


def even_svg(even: BoomEven, reader: Reader, *, title: str) -> str:
    """Return the picture of what lies along a boom.

    Parameters
    ----------
    even : BoomEven
        What it shows.
    reader : Reader
        Whose units.
    title : str
        Of the picture.

    Returns
    -------
    str
        One ``<svg>`` element; the same is told as a table by `wetrun.papers.even_view.position_rows`.
    """
    off = np.concatenate([relative_grooves(stack)[1] for stack in (even.laid.narrow, even.laid.wide)])
    limit = even.question.limit.groove_frac or 0.0
    span = min(max(1.15 * float(np.abs(off).max()), 1.3 * limit, LEAST_SPAN), MOST_SPAN)
    plot = _Plot(even.question.boom.width_m / 2.0, span)
    parts = (*_ground(even, plot), *_sections(even, plot, reader), *_lines(even, plot), *_legend(even))
    wide, high = SIZE
    told = " ".join(even_sentences(even, reader)[1:2])
    return (
        f"{opened('even', SIZE, title, told)}"
        f'<rect width="{wide:g}" height="{high:g}" fill="#ffffff"/>{"".join(parts)}</svg>'
    )


def _ground(even: BoomEven, plot: _Plot) -> Iterator[str]:
    step = next((step for step in STEPS if 2.0 * plot.span / step <= MOST_TICKS), STEPS[-1])
    yield written("against the mean, %", 4, TOP - 8, height=8, style=f'fill="{SOFT}"')
    for number in range(-int(plot.span / step), int(plot.span / step) + 1):
        y = plot.y(step * number)
        yield line((LEFT, y), (RIGHT, y), f'stroke="{FAINT}" stroke-width="{1.4 if number == 0 else 0.6}"')
        yield written(signed(PER_CENT * step * number, 0), LEFT - 6, y + 3, style='text-anchor="end"')
    limit = even.question.limit.groove_frac
    for off in () if limit is None else (-limit, limit):
        y = plot.y(off)
        yield line((LEFT, y), (RIGHT, y), f'stroke="{INK}" stroke-width="1.1" stroke-dasharray="7 3"')


def _sections(even: BoomEven, plot: _Plot, reader: Reader) -> Iterator[str]:
    boom = even.question.boom
    at_m = -boom.width_m / 2.0
    for section, tips in enumerate(boom.section_tips, start=1):
        edges = plot.x(at_m), plot.x(at_m + tips * boom.spacing_m)
        for edge in edges:
            yield line((edge, TOP), (edge, BOTTOM + 16), f'stroke="{SOFT}" stroke-width="0.7"')
        words = f"section {section}" if edges[1] - edges[0] > 48 else str(section)
        yield written(words, sum(edges) / 2, BOTTOM + 13, style='text-anchor="middle"')
        at_m += tips * boom.spacing_m
    ends = (
        f"{reader.text(boom.width_m / 2.0, Kind.LENGTH)} left",
        f"{reader.text(boom.width_m / 2.0, Kind.LENGTH)} right",
    )
    yield written(ends[0], LEFT, BOTTOM + 30, height=8)
    yield written("middle", (LEFT + RIGHT) / 2, BOTTOM + 30, height=8, style='text-anchor="middle"')
    yield written(ends[1], RIGHT, BOTTOM + 30, height=8, style='text-anchor="end"')


def _lines(even: BoomEven, plot: _Plot) -> Iterator[str]:
    for stack, style in ((even.laid.narrow, 'stroke-dasharray="3 2"'), (even.laid.wide, "")):
        middles, off = relative_grooves(stack)
        points = " ".join(f"{plot.x(x):.1f},{plot.y(y):.1f}" for x, y in zip(middles, off, strict=True))
        yield f'<polyline points="{points}" fill="none" stroke="{INK}" stroke-width="1.2" {style}/>'
    for position in even.question.missing:
        at_m = (position - 0.5) * even.question.boom.spacing_m - even.question.boom.width_m / 2.0
        yield written("×", plot.x(at_m), TOP + 9, height=10, style='text-anchor="middle" font-weight="700"')


def _legend(even: BoomEven) -> Iterator[str]:
    y = 14.0
    yield line((LEFT, y - 3), (LEFT + 22, y - 3), f'stroke="{INK}" stroke-width="1.2"')
    yield written("fans as wide as stamped, or as caught", LEFT + 28, y)
    yield line((LEFT + 230, y - 3), (LEFT + 252, y - 3), f'stroke="{INK}" stroke-width="1.2" stroke-dasharray="3 2"')
    yield written("as narrow as they may be", LEFT + 258, y)
    if even.question.limit.groove_frac is not None:
        yield line((LEFT + 400, y - 3), (LEFT + 422, y - 3), f'stroke="{INK}" stroke-dasharray="7 3"')
        yield written("limit for a groove", LEFT + 428, y)
    if even.question.missing:
        yield written("×  sprays nothing", LEFT + 540, y)
