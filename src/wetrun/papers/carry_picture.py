"""The picture that changes a reader's mind: old mix in the next crop over the first acres, same water, several ways.

Dash, letter and label tell the lines apart; colour only repeats it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from wetrun.papers.carry_view import CarryLine, CarryView
from wetrun.papers.marks import FAINT, INK, SOFT, WIDE_FRAC, line, opened, written
from wetrun.papers.reader import Reader
from wetrun.papers.small_amounts import nice_above, one_in, share_text, small_area
from wetrun.quantity import Kind

SIZE: Final = (720.0, 430.0)
LEFT: Final = 92.0
RIGHT: Final = 512.0
TOP: Final = 40.0
BOTTOM: Final = 380.0
LETTER: Final = 12.0
LABEL_GAP: Final = 46.0
STROKES: Final = ((2.2, ""), (2.6, "10 6"), (4.4, "0.1 8.5"), (2.6, "10 6 0.1 6"))
"""Width and dashes: whole, dashed, beaded, dash and bead; beads show on a line they cover."""
COLOURS: Final = ("#a03a2e", "#1d1d1b", "#2f5f9e", "#6d5a94")
_WITHIN: Final = (1.0, 2.0, 5.0)
_MIDDLE: Final = 'text-anchor="middle"'
_END: Final = 'text-anchor="end"'
_HALO: Final = 'paint-order="stroke" stroke="#ffffff" stroke-width="4" stroke-linejoin="round"'


@dataclass(frozen=True, slots=True)
class _Plot:
    """Where an area and a share lie on the picture."""

    most: float
    low: float
    high: float

    def x(self, shown: float) -> float:
        return LEFT + (RIGHT - LEFT) * min(max(shown, 0.0), self.most) / self.most

    def y(self, share: float) -> float:
        inside = min(max(share, self.low), self.high)
        return BOTTOM - (BOTTOM - TOP) * math.log(inside / self.low) / math.log(self.high / self.low)


def carry_svg(view: CarryView, reader: Reader) -> str:
    """Return the picture of several ways to use the water.

    Parameters
    ----------
    view : CarryView
        What it shows.
    reader : Reader
        Whose units.

    Returns
    -------
    str
        One ``<svg>`` element with title and description; every text escaped.
    """
    plot = _plot(view, reader)
    parts = (
        *_ground(view, plot, reader),
        *(part for number, one in enumerate(view.lines) for part in _line(one, number, plot, reader)),
        *_level(view, plot, reader),
        *_labels(view, plot, reader),
    )
    return f"{opened('carry', SIZE, view.title, told(view, reader))}{''.join(parts)}</svg>"


def told(view: CarryView, reader: Reader) -> str:
    """Return in sentences what the picture shows, for who cannot see it.

    Parameters
    ----------
    view : CarryView
        What it shows.
    reader : Reader
        Whose units.

    Returns
    -------
    str
        Each way with its first drop and the end of the load.
    """
    load = reader.area(view.load_m2)
    ways = (
        f"{one.letter}, {one.name}: {share_text(one.first_frac)} in the first drop, "
        f"{share_text(one.end_frac)} at the end of a load of {load}."
        for one in view.lines
    )
    return f"{view.share_words}. {' '.join(ways)} Tolerated: {share_text(view.level_frac)}."


def _plot(view: CarryView, reader: Reader) -> _Plot:
    most = min(nice_above(reader.number(view.drawn_m2, Kind.AREA)), reader.number(view.load_m2, Kind.AREA))
    seen_m2 = reader.inside(most, Kind.AREA)
    shares = [one.first_frac for one in view.lines] + [one.at_frac(seen_m2) for one in view.lines] + [view.level_frac]
    shares = [share for share in shares if share > 0.0]
    return _Plot(most, _step_below(0.8 * min(shares)), _step_above(1.25 * max(shares)))


def _ground(view: CarryView, plot: _Plot, reader: Reader) -> Iterator[str]:
    yield written(view.share_words, LEFT - 62, 14, height=LETTER, style='font-weight="700"')
    whole = math.log10(plot.high / plot.low) > 2.0
    for share in _shares(plot):
        y, decade = plot.y(share), math.isclose(math.log10(share), round(math.log10(share)), abs_tol=1e-6)
        yield line((LEFT, y), (RIGHT, y), f'stroke="{FAINT}" stroke-width="{1.2 if decade else 0.6}"')
        if decade or not whole:
            yield written(share_text(share), LEFT - 8, y + 1, height=LETTER, style=_END)
            yield written(one_in(share, reader), LEFT - 8, y + 13, height=9.5, style=f'{_END} fill="{SOFT}"')
    step = _step_above(plot.most / 8)
    for number in range(int(plot.most / step * (1.0 + 1e-9)) + 1):
        x = plot.x(number * step)
        yield line((x, TOP), (x, BOTTOM + 4), f'stroke="{FAINT}" stroke-width="0.6"')
        yield written(f"{number * step:g}", x, BOTTOM + 19, height=LETTER, style=_MIDDLE)
    yield line((LEFT, BOTTOM), (RIGHT, BOTTOM), f'stroke="{INK}" stroke-width="1"')
    under = f"{reader.unit(Kind.AREA)} of the next crop sprayed; the first load covers {reader.area(view.load_m2)}"
    yield written(under, (LEFT + RIGHT) / 2, BOTTOM + 40, height=LETTER, style=_MIDDLE)


def _line(one: CarryLine, number: int, plot: _Plot, reader: Reader) -> Iterator[str]:
    last_m2 = reader.inside(plot.most, Kind.AREA)
    inside = [float(area) for area in one.areas_m2 if area < last_m2]
    points = [(plot.x(reader.number(area, Kind.AREA)), plot.y(one.at_frac(area))) for area in (*inside, last_m2)]
    path = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    wide, dash = STROKES[number]
    dashed = f' stroke-dasharray="{dash}" stroke-linecap="round"' if dash else ""
    yield f'<path d="M{path}" fill="none" stroke="{COLOURS[number]}" stroke-width="{wide:g}"{dashed}/>'
    yield from _badge(one, plot.x((0.05 + 0.05 * number) * plot.most), plot, reader)


def _badge(one: CarryLine, x: float, plot: _Plot, reader: Reader) -> Iterator[str]:
    """The line's letter on the line."""
    shown = (x - LEFT) / (RIGHT - LEFT) * plot.most
    yield from _lettered(one.letter, x, plot.y(one.at_frac(reader.inside(shown, Kind.AREA))))


def _lettered(letter: str, x: float, y: float) -> Iterator[str]:
    yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="8.5" fill="#ffffff" stroke="{INK}" stroke-width="1.2"/>'
    yield written(letter, x, y + 4.2, height=LETTER, style=f'{_MIDDLE} font-weight="700"')


def _level(view: CarryView, plot: _Plot, reader: Reader) -> Iterator[str]:
    """The level as a double line, and where each line that starts above it comes down to it within the load."""
    y = plot.y(view.level_frac)
    for beside in (0, 3):
        yield line((LEFT, y + beside), (RIGHT, y + beside), f'stroke="{INK}" stroke-width="1"')
    words = f"tolerated: {share_text(view.level_frac)}"
    yield written(words, RIGHT - 6, y + 17, height=LETTER, style=f'{_END} font-weight="700" {_HALO}')
    passed = [(one, one.above_m2) for one in view.lines if one.above_m2]
    for _, above_m2 in passed:
        x = plot.x(reader.number(above_m2, Kind.AREA))
        yield line((x, y - 7), (x, y + 10), f'stroke="{INK}" stroke-width="1.6"')
    if passed:
        said = ", ".join(f"{one.letter} for {small_area(above_m2, reader)}" for one, above_m2 in passed)
        yield written(f"above it: {said}", RIGHT - 6, y - 8, height=LETTER, style=f"{_END} {_HALO}")


def _labels(view: CarryView, plot: _Plot, reader: Reader) -> Iterator[str]:
    """Each line's name beside its end; names that would touch are moved apart and tied to their line."""
    last_m2 = reader.inside(plot.most, Kind.AREA)
    ends = sorted((plot.y(one.at_frac(last_m2)), number) for number, one in enumerate(view.lines))
    for (end, number), y in zip(ends, _apart([end for end, _ in ends]), strict=True):
        one = view.lines[number]
        yield line((RIGHT + 1, end), (RIGHT + 14, y), f'stroke="{COLOURS[number]}" stroke-width="1.1"')
        yield from _lettered(one.letter, RIGHT + 23, y)
        for row, words in enumerate(_wrapped(one.name, SIZE[0] - RIGHT - 36)):
            yield written(words, RIGHT + 36, y + 4 + 13 * row, height=LETTER, style='font-weight="700"')
        rest = f"end of load: {share_text(one.end_frac)}"
        yield written(rest, RIGHT + 36, y + 4 + 13 * len(_wrapped(one.name, SIZE[0] - RIGHT - 36)), height=LETTER)


def _apart(wanted: list[float]) -> list[float]:
    """Places at least a label apart, none below the ground, in the same order."""
    placed: list[float] = []
    for y in wanted:
        placed.append(max(y, placed[-1] + LABEL_GAP) if placed else max(y, TOP + 8))
    low = BOTTOM - 26
    for number in range(len(placed) - 1, -1, -1):
        placed[number] = min(placed[number], low)
        low = placed[number] - LABEL_GAP
    return placed


def _wrapped(text: str, wide: float) -> list[str]:
    """Two lines at most, cut if it must be."""
    most = int(wide / (WIDE_FRAC * LETTER))
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    kept = [row if len(row) <= most else f"{row[: most - 1]}…" for row in lines]
    return kept if len(kept) <= 2 else [kept[0], f"{kept[1][: most - 1]}…"]


def _shares(plot: _Plot) -> Iterator[float]:
    for power in range(math.floor(math.log10(plot.low)), math.ceil(math.log10(plot.high)) + 1):
        for part in _WITHIN:
            share = part * 10.0**power
            if plot.low * (1.0 - 1e-9) <= share <= plot.high * (1.0 + 1e-9):
                yield share


def _step_below(share: float) -> float:
    power = 10.0 ** math.floor(math.log10(share))
    return max(part * power for part in _WITHIN if part * power <= share * (1.0 + 1e-9))


def _step_above(share: float) -> float:
    power = 10.0 ** math.floor(math.log10(share))
    return next((part * power for part in _WITHIN if part * power >= share * (1.0 - 1e-9)), 10.0 * power)
