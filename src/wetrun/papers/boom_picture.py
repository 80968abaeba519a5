"""The picture of a boom: tip by tip against the limits, shapes and letters first, section borders, no colour needed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from wetrun.papers.boom_view import BoomView, State, TipMark
from wetrun.papers.marks import FAINT, INK, SOFT, box, line, opened, written
from wetrun.papers.reader import Reader
from wetrun.percent import off_per_cent
from wetrun.quantity import Kind

SIZE: Final = (760.0, 300.0)
LEFT: Final = 46.0
RIGHT: Final = 708.0
TOP: Final = 44.0
BOTTOM: Final = 226.0
LEAST_SPAN: Final = 0.06
MOST_TICKS: Final = 12
STEPS: Final = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0)
MIDDLE: Final = 'text-anchor="middle"'
_THIN: Final = f'stroke="{INK}" stroke-width="0.9"'


@dataclass(frozen=True, slots=True)
class _Plot:
    """Where a position and a deviation lie on the picture."""

    tips: int
    low: float
    high: float

    def x(self, place: float) -> float:
        return LEFT + (RIGHT - LEFT) * (place - 0.5) / self.tips

    def y(self, off: float) -> float:
        inside = min(max(off, self.low), self.high)
        return BOTTOM - (BOTTOM - TOP) * (inside - self.low) / (self.high - self.low)

    @property
    def letter(self) -> float:
        """Height of a letter that fits a position."""
        return min(8.5, 1.35 * (RIGHT - LEFT) / self.tips)


def boom_svg(view: BoomView, reader: Reader) -> str:
    """Return the picture of a boom.

    Parameters
    ----------
    view : BoomView
        What it shows.
    reader : Reader
        Whose units, for the flow at the right.

    Returns
    -------
    str
        One ``<svg>`` element.
    """
    plot = _plot(view)
    parts = (
        *_legend(view),
        *_ground(view, plot, reader),
        *_limits(view, plot),
        *_sections(view, plot),
        *(part for mark in view.marks for part in _tip(mark, plot)),
        *_labels(view, plot),
    )
    told = f"{view.rule_words}: {view.counted()}"
    return f"{opened('boom', SIZE, view.title, told)}{''.join(parts)}</svg>"


def _plot(view: BoomView) -> _Plot:
    """Room for the limits and for what is near them; what lies far off is drawn at the edge with its number."""
    limit = max(abs(view.low_ratio or 0.0), abs(view.high_ratio or 0.0), LEAST_SPAN)
    seen = [mark for mark in view.marks if mark.off_ratio is not None]
    ups = [(mark.off_ratio or 0.0) + mark.expanded_ratio for mark in seen]
    downs = [(mark.off_ratio or 0.0) - mark.expanded_ratio for mark in seen]
    high = min(max(1.1 * max(ups, default=0.0), 1.6 * limit), 3.2 * limit)
    low = max(min(1.1 * min(downs, default=0.0), -1.6 * limit), -3.2 * limit)
    return _Plot(len(view.marks), low, high)


def _legend(view: BoomView) -> Iterator[str]:
    seen = {mark.state for mark in view.marks}
    told = (state for state in State if state is not State.MISSING and (state is not State.NEW or state in seen))
    x, shapes = LEFT, list(told)
    for state in shapes:
        yield _shape(state, x + 4, 11)
        words = f"{state.letter}  {state.words}"
        yield written(words, x + 12, 14)
        x += 30 + 5.2 * len(words)
    yield f'<circle cx="{x + 4:.1f}" cy="11" r="6" fill="none" stroke="{INK}" stroke-width="0.9"/>'
    yield written("≠  unlike its boom", x + 14, 14)
    yield written("–  not caught", x + 108, 14)
    yield written("|  ± with 95 %", x + 182, 14)
    said = f"0 = {view.base_words}; dashed: {view.rule_words}; dotted: {view.beside_words}"
    yield written(said, LEFT, 29, style=f'fill="{SOFT}"')


def _ground(view: BoomView, plot: _Plot, reader: Reader) -> Iterator[str]:
    step = next((step for step in STEPS if (plot.high - plot.low) / step <= MOST_TICKS), STEPS[-1])
    unit = reader.unit(Kind.TIP_FLOW)
    places = 3 if step * reader.number(view.base_m3s, Kind.TIP_FLOW) < 0.02 else 2
    yield written("off, %", 4, TOP - 6, height=8, style=f'fill="{SOFT}"')
    yield written(unit, RIGHT + 6, TOP - 6, height=8, style=f'fill="{SOFT}"')
    for number in range(int(plot.low / step), int(plot.high / step) + 1):
        y = plot.y(step * number)
        yield line((LEFT, y), (RIGHT, y), f'stroke="{FAINT}" stroke-width="{1.4 if number == 0 else 0.6}"')
        words = f"{100 * step * number:+.0f}".replace("-", "−") if number else "0"
        yield written(words, LEFT - 6, y + 3, style='text-anchor="end"')
        flow = reader.number(view.base_m3s * (1.0 + step * number), Kind.TIP_FLOW)
        yield written(f"{flow:.{places}f}", RIGHT + 6, y + 3)


def _limits(view: BoomView, plot: _Plot) -> Iterator[str]:
    for limit in (view.low_ratio, view.high_ratio):
        if limit is not None:
            y = plot.y(limit)
            yield line((LEFT, y), (RIGHT, y), f'stroke="{INK}" stroke-width="1.3" stroke-dasharray="7 3"')
    if plot.low < view.beside_ratio < plot.high:
        y = plot.y(view.beside_ratio)
        yield line((LEFT, y), (RIGHT, y), f'stroke="{INK}" stroke-width="1.1" stroke-dasharray="1.2 2.4"')


def _sections(view: BoomView, plot: _Plot) -> Iterator[str]:
    first = 1
    for section, count in enumerate(view.section_tips, start=1):
        edges = plot.x(first - 0.5), plot.x(first + count - 0.5)
        for edge in edges:
            yield line((edge, TOP), (edge, SIZE[1] - 18), f'stroke="{INK}" stroke-width="0.9"')
        yield written(str(first), edges[0] + 2, BOTTOM + 34, height=7.5)
        words = f"section {section}" if edges[1] - edges[0] > 48 else str(section)
        yield written(words, sum(edges) / 2, SIZE[1] - 22, style=f'{MIDDLE} font-weight="700"')
        first += count
    if view.section_tips[-1] > 1:
        yield written(str(first - 1), RIGHT - 2, BOTTOM + 34, height=7.5, style='text-anchor="end"')
    for words, y in (("rule", 12), ("boom", 22), ("tip", 34)):
        yield written(words, LEFT - 6, BOTTOM + y, height=8, style=f'text-anchor="end" fill="{SOFT}"')


def _tip(mark: TipMark, plot: _Plot) -> Iterator[str]:
    x, style = plot.x(mark.tip), f'{MIDDLE} font-weight="{400 if mark.state is State.PASS else 700}"'
    yield written(mark.state.letter, x, BOTTOM + 12, height=plot.letter, style=style)
    if mark.unlike:
        yield written("≠", x, BOTTOM + 22, height=plot.letter, style=f'{MIDDLE} font-weight="700"')
    if mark.off_ratio is None:
        yield line((x, TOP), (x, BOTTOM), f'stroke="{SOFT}" stroke-width="0.8" stroke-dasharray="1 4"')
        return
    y = plot.y(mark.off_ratio)
    if plot.low <= mark.off_ratio <= plot.high:
        ends = (plot.y(mark.off_ratio - mark.expanded_ratio), plot.y(mark.off_ratio + mark.expanded_ratio))
        yield line((x, ends[0]), (x, ends[1]), _THIN)
    else:
        yield _arrow(x, y, up=mark.off_ratio > 0.0)
        y += 9 if mark.off_ratio > 0.0 else -9
    yield _shape(mark.state, x, y)
    if mark.unlike:
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="6" fill="none" stroke="{INK}" stroke-width="0.9"/>'


def _arrow(x: float, y: float, *, up: bool) -> str:
    """What lies beyond the picture's edge."""
    way = 5 if up else -5
    return f'<path d="M{x - 3:.1f} {y + way:.1f}L{x:.1f} {y:.1f}L{x + 3:.1f} {y + way:.1f}Z" fill="{INK}"/>'


def _shape(state: State, x: float, y: float) -> str:
    """A dot, a filled square, an open diamond, an open square, a triangle: told apart without colour."""
    if state is State.PASS:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="1.7" fill="{INK}"/>'
    if state is State.FAIL:
        return box((x - 3.2, y - 3.2), (6.4, 6.4), f'fill="{INK}"')
    if state is State.UNDECIDED:
        return f'<path d="M{x:.1f} {y - 4:.1f}l4 4l-4 4l-4 -4Z" fill="#ffffff" stroke="{INK}" stroke-width="1.3"/>'
    if state is State.NEW:
        return f'<path d="M{x:.1f} {y - 4:.1f}l4 7h-8Z" fill="#ffffff" stroke="{INK}" stroke-width="1.3"/>'
    return box((x - 3, y - 3), (6, 6), f'fill="#ffffff" stroke="{INK}" stroke-width="1.3" stroke-dasharray="1.5 1"')


def _labels(view: BoomView, plot: _Plot) -> Iterator[str]:
    """Numbers of the tips that stand out; two close to each other are set at two heights."""
    last, raised = -99.0, False
    for mark in view.marks:
        odd = mark.unlike or mark.state in {State.FAIL, State.ASKED}
        if not odd or mark.off_ratio is None:
            continue
        beyond = not plot.low <= mark.off_ratio <= plot.high
        words = f"{mark.tip}: {off_per_cent(mark.off_ratio, places=0)}" if beyond else str(mark.tip)
        x, up = plot.x(mark.tip), mark.off_ratio > 0.0
        raised = not raised if x - last < 5.0 * len(words) else False
        edge = plot.y(mark.off_ratio + (mark.expanded_ratio if up else -mark.expanded_ratio))
        y = edge + (-8 if up else 14) if not beyond else edge + (27 if up else -20)
        y += (-9 if up != beyond else 9) if raised else 0
        last = x
        end = "end" if x > RIGHT - 20 else "start" if x < LEFT + 20 else "middle"
        yield written(words, x, y, height=8, style=f'text-anchor="{end}" font-weight="700"')
