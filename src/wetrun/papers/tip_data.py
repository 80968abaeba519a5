"""One tip as plain data: its line in a list, and the tip over its pressure range with a liquid."""

from __future__ import annotations

import math
from typing import Any, Final

from wetrun.machine.catalogue import USUAL_RANGES
from wetrun.machine.tip import Tip
from wetrun.papers.reader import Reader, money
from wetrun.papers.segments import STREAMS, Segment
from wetrun.papers.tip_points import TipPoint, class_stretches, reference_pressure_pa, tip_points
from wetrun.percent import per_cent
from wetrun.quantity import Kind, show
from wetrun.sources import source
from wetrun.spray.carrier import Carrier
from wetrun.spray.droplets import Authority, DropletFinding, Family
from wetrun.units import Frac, M3s

WORTH_A_WORD: Final[Frac] = 0.005
"""A class less likely than this is rounded to nothing."""
_PULSE: Final = {True: "may be pulsed", False: "not to be pulsed", None: "nobody said"}


def tip_line(tip: Tip, reader: Reader) -> dict[str, Any]:
    """Return a tip as a line of a list.

    Parameters
    ----------
    tip : Tip
        The tip.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        Texts; ``classes`` is a list of letters and pressures, ``price`` empty if nobody gave one.
    """
    at_pa = reference_pressure_pa(tip, reader)
    return {
        "ident": tip.ident,
        "words": tip.words,
        "size": tip.size,
        "family": tip.family.value,
        "angle": "" if tip.pattern is None else f"{math.degrees(tip.pattern.angle_rad):.0f}°",
        "range": f"{reader.digits(tip.low_pa, Kind.PRESSURE)}–{reader.pressure(tip.high_pa)}",
        "flow": flow_words(tip.flow_law.flow_m3s(at_pa), reader),
        "flow_at": reader.exact(at_pa, Kind.PRESSURE),
        "classes": class_rows(tip, reader),
        "class_basis": class_basis(tip),
        "price": "" if tip.price_cents is None else money(tip.price_cents),
        "pulse": _PULSE[tip.pulse],
        "generic": tip.generic,
    }


def tip_data(tip: Tip, liquid: Carrier, reader: Reader) -> dict[str, Any]:
    """Return a tip over its pressure range with a liquid.

    Parameters
    ----------
    tip : Tip
        The tip.
    liquid : Carrier
        What flows.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        Its line (see `tip_line`) with origin, liquid, a row per pressure, and the stretches of droplet class.
    """
    points = tip_points(tip, liquid.density_kgpm3, reader)
    return {
        **tip_line(tip, reader),
        "origin": tip.origin,
        "range_source": range_source(tip),
        "class_ask": class_ask(tip),
        "height_note": tip.height_note,
        "liquid": liquid.name,
        "density": reader.density(liquid.density_kgpm3),
        "density_note": liquid.note,
        "density_source": _cited(liquid.source_key),
        "rows": [_row(point, reader) for point in points],
        "stretches": [{"span": _span(one, reader), "letters": one.letters} for one in class_stretches(tip)],
        "pulsed_words": _pulsed_words(tip),
    }


def flow_words(flow_m3s: M3s, reader: Reader) -> str:
    """Return the flow of one tip [m3/s] with its unit, to as many digits as a maker's table."""
    return show(flow_m3s, Kind.TIP_FLOW, reader.system)


def class_rows(tip: Tip, reader: Reader) -> list[dict[str, str]]:
    """Return the droplet classes of a tip: its maker's rows, or without them the bands of an estimate.

    Parameters
    ----------
    tip : Tip
        The tip.
    reader : Reader
        Whose units.

    Returns
    -------
    list of dict
        ``letters`` and ``at``, rising in pressure; nothing for a streamer.
    """
    if tip.pattern is None:
        return []
    if tip.pattern.rows:
        rows = tip.pattern.rows
        return [{"letters": one.droplet_class.letters, "at": reader.pressure(one.pressure_pa)} for one in rows]
    return [{"letters": one.letters, "at": _span(one, reader)} for one in class_stretches(tip)]


def class_basis(tip: Tip) -> str:
    """Return on whose word the droplet classes of a tip are."""
    if tip.pattern is None:
        return "streams have no droplet class"
    if tip.pattern.rows:
        return Authority.MEASURED.value
    return f"{Authority.FAMILY.value}, an estimate"


def class_ask(tip: Tip) -> str:
    """Return what to ask for where an estimate is not worth much; empty elsewhere."""
    wide = tip.family is Family.AIR_INDUCTION and tip.pattern is not None and not tip.pattern.rows
    return "designs differ widely, ask for the maker's class rows" if wide else ""


def range_source(tip: Tip) -> str:
    """Return where the pressure range of a generic tip is from, and how far that was read; empty for a maker's tip."""
    if not tip.generic:
        return ""
    usual = USUAL_RANGES[tip.family]
    return "; ".join(_cited(key) for key in dict.fromkeys((usual.low_source, usual.high_source)))


def _cited(key: str) -> str:
    found = source(key)
    return f"{found.citation} ({found.status})"


def _row(point: TipPoint, reader: Reader) -> dict[str, str]:
    found = point.droplets
    return {
        "pressure": reader.exact(point.pressure_pa, Kind.PRESSURE),
        "flow": flow_words(point.flow_m3s, reader),
        "letters": STREAMS if found is None else Segment(0.0, 0.0, found.finest, found.coarsest).letters,
        "sure": "" if found is None else _sure(found),
        "authority": "" if found is None else found.authority.value,
    }


def _sure(found: DropletFinding) -> str:
    """How sure a class is: the chance of each that can be, or that the maker's rows say it or leave it open."""
    if found.dv50_m is None:
        return "as the rows say" if found.finest is found.coarsest else "not told apart by the rows"
    likely = [(one, frac) for one, frac in found.probabilities if frac >= WORTH_A_WORD]
    return ", ".join(f"{one.letters} {per_cent(frac, places=0)}" for one, frac in likely)


def _span(stretch: Segment, reader: Reader) -> str:
    return f"{reader.digits(stretch.start, Kind.PRESSURE)}–{reader.pressure(stretch.end)}"


def _pulsed_words(tip: Tip) -> str:
    if tip.pulse is None:
        then = "so it may be" if tip.may_pulse else "so it is not: an air-induction tip needs its maker's word"
        return f"Nobody said whether it may run on a pulse-width machine, {then}."
    return f"On a pulse-width machine: {_PULSE[tip.pulse]}, by its rows."
