"""Two small pictures that open the tip plan: a pass's own speed tally with what is held, and a share as a split bar."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from wetrun.papers.lane_data import Picture
from wetrun.papers.marks import BAR, FAINT, INK, SOFT, box, hatches, line, opened, picture_id, written
from wetrun.percent import per_cent
from wetrun.planning.judging import Share

STRIP: Final = (190.0, 58.0)
SHARE: Final = (150.0, 26.0)
GROUND: Final = 36.0
EDGE: Final = 6.0


def strip_svg(picture: Picture, top: float) -> str:
    """Return a pass's own speed tally, with the stretch its set holds marked underneath.

    Parameters
    ----------
    picture : Picture
        The pass; its first lane is the plan's.
    top : float
        End of the speed axis, the same for every pass of a plan so that they compare.

    Returns
    -------
    str
        One ``<svg>`` element.
    """
    prefix = f"strip-{picture_id(picture.ident)}"
    held = _held(picture)
    told = "no speed is held" if held is None else f"held from {held[0]:.1f} to {held[1]:.1f} {picture.unit}"
    beginning = opened(prefix, STRIP, f"Speeds of the field: {picture.ident}", f"{told}; speeds {picture.tally_words}")
    return f"{beginning}{''.join(_strip(picture, held, top))}</svg>"


def share_svg(ident: str, share: Share) -> str:
    """Return a share as a bar of three parts: held, undecided, not held.

    Parameters
    ----------
    ident : str
        What it is the share of.
    share : Share
        The bracket: between its ends lies what is undecided.

    Returns
    -------
    str
        One ``<svg>`` element.
    """
    prefix = f"share-{picture_id(ident)}"
    wide, high = SHARE
    lower, upper = wide * share.lower_frac, wide * share.upper_frac
    words = f"held {per_cent(share.lower_frac)}, undecided {per_cent(share.upper_frac - share.lower_frac)}"
    parts = [
        hatches(prefix),
        box((0, 4), (lower, high - 8), f'fill="{INK}"'),
        box((lower, 4), (upper - lower, high - 8), f'fill="url(#{prefix}-undecided)"'),
        box((upper, 4), (wide - upper, high - 8), f'fill="url(#{prefix}-slow)"'),
        box((0, 4), (wide, high - 8), f'fill="none" stroke="{INK}" stroke-width="1"'),
    ]
    return f"{opened(prefix, SHARE, ident, words)}{''.join(parts)}</svg>"


def _held(picture: Picture) -> tuple[float, float] | None:
    segments = picture.lanes[0].segments if picture.lanes and picture.lanes[0].chosen else ()
    return (segments[0].start, segments[-1].end) if segments else None


def _strip(picture: Picture, held: tuple[float, float] | None, top: float) -> Iterator[str]:
    def at(speed: float) -> float:
        return EDGE + (STRIP[0] - 2 * EDGE) * min(speed, top) / top

    tallest = max((bar.share for bar in picture.bars), default=1.0)
    for bar in picture.bars:
        middle = (bar.start + bar.end) / 2
        inside = held is not None and held[0] <= middle <= held[1]
        high = (GROUND - 6) * bar.share / tallest
        style = f'fill="{INK}"' if inside else f'fill="#ffffff" stroke="{BAR}" stroke-width="0.9"'
        yield box((at(bar.start) + 0.5, GROUND - high), (at(bar.end) - at(bar.start) - 1, high), style)
    yield line((EDGE, GROUND), (STRIP[0] - EDGE, GROUND), f'stroke="{INK}" stroke-width="0.8"')
    for number in range(round(top / picture.step) + 1):
        place = at(picture.step * number)
        yield line((place, GROUND), (place, GROUND + 3), f'stroke="{SOFT}" stroke-width="0.8"')
        yield written(f"{picture.step * number:g}", place, GROUND + 11, height=7.5, style='text-anchor="middle"')
    yield from _bracket(at, held)


def _bracket(at: Callable[[float], float], held: tuple[float, float] | None) -> Iterator[str]:
    y = STRIP[1] - 6
    yield line((EDGE, y), (STRIP[0] - EDGE, y), f'stroke="{FAINT}" stroke-width="1"')
    if held is not None:
        yield line((at(held[0]), y), (at(held[1]), y), f'stroke="{INK}" stroke-width="3"')
        for end in held:
            yield line((at(end), y - 4), (at(end), y + 4), f'stroke="{INK}" stroke-width="1.4"')
