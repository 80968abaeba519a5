"""`wetrun tips`: the catalogue, a maker's own rows, one tip over its range."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

from wetrun.cli.telling import console, print_json, say
from wetrun.documents.carrier_words import carrier_named
from wetrun.documents.catalogue_file import read_catalogue
from wetrun.machine.catalogue import catalogue, tip_named
from wetrun.machine.tip import Tip
from wetrun.papers.reader import Reader
from wetrun.papers.tip_data import tip_data, tip_line
from wetrun.papers.tip_points import TipPoint, tip_points
from wetrun.quantity import System

FORMAT_VERSION: Final = 1


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
    if as_json:
        rows = [_row(point) for point in tip_points(tip, liquid.density_kgpm3, reader)]
        print_json({"format_version": FORMAT_VERSION, **_plain(tip), "carrier": liquid.name, "rows": rows})
        return
    told = tip_data(tip, liquid, reader)
    say(f"{tip.ident}: {tip.words}. Flow and range: {tip.origin}.")
    say(f"With {liquid.name} ({told['density']}); droplets on clean water, not the class of the tank mix:")
    for row in told["rows"]:
        drops = f"{row['letters']}: {row['sure']} ({row['authority']})" if tip.pattern else "no droplet class"
        say(f"  {row['pressure']:>9}  {row['flow']:>13}  {drops}")


def _tips(file: Path | None) -> tuple[Tip, ...]:
    return catalogue() if file is None else (*catalogue(), *read_catalogue(file))


def _row(point: TipPoint) -> dict[str, Any]:
    droplets = None if point.droplets is None else point.droplets.words
    return {"pressure_pa": point.pressure_pa, "flow_m3s": point.flow_m3s, "droplets": droplets}


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
        told = tip_line(tip, reader)
        rows = "generic" if tip.generic else "own"
        table.add_row(tip.ident, tip.size, tip.family, told["range"], told["price"] or "–", rows)
    console().print(table)
