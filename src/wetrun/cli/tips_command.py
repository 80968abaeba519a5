"""`wetrun tips`: the catalogue, a maker's own rows, one tip over its range."""

from __future__ import annotations

from collections.abc import Iterable
from math import sqrt
from pathlib import Path
from typing import Any, Final

from wetrun.cli.telling import console, print_json, say
from wetrun.documents.carrier_words import carrier_named
from wetrun.documents.catalogue_file import read_catalogue
from wetrun.machine.catalogue import catalogue, tip_named
from wetrun.machine.tip import Tip
from wetrun.papers.reader import Reader, money
from wetrun.quantity import Kind, System
from wetrun.spray.droplets import droplet_finding

FORMAT_VERSION: Final = 1
STEPS: Final = 6


def run_list(*, family: str | None, size: str | None, file: Path | None, units: str | None, as_json: bool) -> None:
    """List the catalogue.

    Parameters
    ----------
    family, size : str or None
        Only these.
    file : Path or None
        A tip file to add.
    units : str or None
        Unit system; US if none is given.
    as_json : bool
        Print JSON.
    """
    wanted = (family or "").casefold()
    tips = [t for t in _tips(file) if wanted in t.family.casefold() and size in (None, t.size)]
    _tell(tips, units, as_json=as_json)


def run_check(file: Path, *, units: str | None, as_json: bool) -> None:
    """Read a tip file and show what was understood.

    Parameters
    ----------
    file : Path
        The tip file.
    units : str or None
        Unit system; US if none is given.
    as_json : bool
        Print JSON.

    Raises
    ------
    InputProblems
        Every bad row.
    """
    tips = read_catalogue(file)
    _tell(tips, units, as_json=as_json)
    if not as_json:
        say(f"{file.name}: {len(tips)} tips understood, nothing refused.")


def run_show(ident: str, *, carrier: str, file: Path | None, units: str | None, as_json: bool) -> None:
    """Show one tip over its pressure range with a liquid.

    Parameters
    ----------
    ident : str
        The tip.
    carrier : str
        Liquid by name.
    file : Path or None
        A tip file to look in too.
    units : str or None
        Unit system; US if none is given.
    as_json : bool
        Print JSON.

    Raises
    ------
    NotDefined
        If there is no such tip or liquid.
    """
    tip, liquid = tip_named(_tips(file), ident), carrier_named(carrier)
    reader = Reader(System(units or System.US))
    rows = [_row(tip, pressure_pa, liquid.density_kgpm3) for pressure_pa in _pressures(tip)]
    if as_json:
        print_json({"format_version": FORMAT_VERSION, **_plain(tip), "carrier": liquid.name, "rows": rows})
        return
    say(f"{tip.ident}: {tip.words}. Flow and range: {tip.origin}.")
    say(f"With {liquid.name} ({reader.density(liquid.density_kgpm3)}):")
    for row in rows:
        flow = reader.text(row["flow_m3s"], Kind.TIP_FLOW)
        say(f"  {reader.pressure(row['pressure_pa']):>9}  {flow:>13}  {row['droplets'] or 'no droplet class'}")


def _tips(file: Path | None) -> tuple[Tip, ...]:
    return catalogue() if file is None else (*catalogue(), *read_catalogue(file))


def _pressures(tip: Tip) -> list[float]:
    """Pressures over the range, each the same step of flow from the last."""
    low, high = sqrt(tip.low_pa), sqrt(tip.high_pa)
    inner = [(low + (high - low) * step / STEPS) ** 2 for step in range(1, STEPS)]
    return [tip.low_pa, *inner, tip.high_pa]


def _row(tip: Tip, pressure_pa: float, density_kgpm3: float) -> dict[str, Any]:
    droplets = None if tip.pattern is None else droplet_finding(tip.pattern, pressure_pa).words
    flow = tip.flow_law.flow_m3s(pressure_pa, density_kgpm3)
    return {"pressure_pa": pressure_pa, "flow_m3s": flow, "droplets": droplets}


def _plain(tip: Tip) -> dict[str, Any]:
    return {
        "tip": tip.ident,
        "words": tip.words,
        "size": tip.size,
        "family": tip.family,
        "low_pa": tip.low_pa,
        "high_pa": tip.high_pa,
        "generic": tip.generic,
        "origin": tip.origin,
        "price_cents": tip.price_cents,
    }


def _tell(tips: Iterable[Tip], units: str | None, *, as_json: bool) -> None:
    if as_json:
        print_json({"format_version": FORMAT_VERSION, "tips": [_plain(tip) for tip in tips]})
        return
    from rich.table import Table

    reader = Reader(System(units or System.US))
    table = Table(box=None, pad_edge=False, show_edge=False)
    for heading in ("tip", "size", "family", "at the tip", "each", "rows"):
        table.add_column(heading, no_wrap=True)
    for tip in tips:
        span = f"{reader.digits(tip.low_pa, Kind.PRESSURE)}–{reader.pressure(tip.high_pa)}"
        price = "–" if tip.price_cents is None else money(tip.price_cents)
        table.add_row(tip.ident, tip.size, tip.family, span, price, "generic" if tip.generic else "own")
    console().print(table)
