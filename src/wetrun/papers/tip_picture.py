"""Two small pictures of a tip: the colour of its size, and its droplet class over its pressure range."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from wetrun.machine.tip import Tip
from wetrun.papers.lane import BAND, LEFT, RIGHT, WIDTH, class_stretch
from wetrun.papers.marks import INK, SIZE_COLOURS, box, line, opened, picture_id, written
from wetrun.papers.reader import Reader
from wetrun.papers.tip_data import class_basis
from wetrun.papers.tip_points import class_stretches, round_pressures
from wetrun.quantity import Kind

CHIP: Final = 12.0
TOP: Final = 6.0
HIGH: Final = 78.0


def size_chip_svg(size: str) -> str:
    """Return the colour ISO 10625 gives a size as a small square; empty where it gives none.

    Parameters
    ----------
    size : str
        As stamped on the tip.

    Returns
    -------
    str
        One ``<svg>`` element that says nothing by itself: the number has to stand beside it.
    """
    if size not in SIZE_COLOURS:
        return ""
    square = box((1, 1), (CHIP - 2, CHIP - 2), f'fill="{SIZE_COLOURS[size]}" stroke="currentColor" stroke-width="1"')
    side = f'viewBox="0 0 {CHIP:g} {CHIP:g}" width="{CHIP:g}" height="{CHIP:g}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {side} aria-hidden="true" focusable="false">{square}</svg>'


def class_svg(tip: Tip, reader: Reader) -> str:
    """Return the droplet class of a tip over its pressure range; its table is `class_stretches`.

    Parameters
    ----------
    tip : Tip
        The tip.
    reader : Reader
        Whose units.

    Returns
    -------
    str
        One ``<svg>`` element with title and description; letters carry the meaning, tints repeat it.
    """
    prefix = f"class-{picture_id(tip.ident)}"
    found = class_stretches(tip)
    told = "; ".join(
        f"{one.letters} from {reader.digits(one.start, Kind.PRESSURE)} to {reader.pressure(one.end)}" for one in found
    )
    title = f"Droplet class of {tip.words} over pressure at the tip"
    beginning = opened(prefix, (WIDTH, HIGH), title, f"{told}; {class_basis(tip)}")
    return f"{beginning}{''.join(_drawn(tip, reader))}</svg>"


def _drawn(tip: Tip, reader: Reader) -> Iterator[str]:
    def at(pressure_pa: float) -> float:
        return LEFT + (RIGHT - LEFT) * (pressure_pa - tip.low_pa) / (tip.high_pa - tip.low_pa)

    yield box((0, 0), (WIDTH, HIGH), 'fill="#ffffff"')
    for stretch in class_stretches(tip):
        yield from class_stretch(stretch, TOP, at)
    yield box((LEFT, TOP), (RIGHT - LEFT, BAND), f'fill="none" stroke="{INK}" stroke-width="1.6"')
    ground = TOP + BAND
    for shown in round_pressures(tip, reader):
        place = at(reader.inside(shown, Kind.PRESSURE))
        yield line((place, ground), (place, ground + 5), f'stroke="{INK}" stroke-width="1"')
        yield written(f"{shown:g}", place, ground + 16, height=9, style='text-anchor="middle"')
    words = f"pressure at the tip, {reader.unit(Kind.PRESSURE)}"
    yield written(words, (LEFT + RIGHT) / 2, ground + 30, height=9, style='text-anchor="middle"')
