"""Makes the boom's pipes from what was typed, and refuses what cannot be this boom."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, TypeVar

from wetrun.documents.plumbing_entry import BodyLossEntry, LossEntry, PlumbingEntry, ValveEntry
from wetrun.documents.refusing import refuse
from wetrun.machine.boom import Boom
from wetrun.machine.boom_pipes import BoomPipes, SectionPipes, mean_drop_pa
from wetrun.quantity import Typed
from wetrun.spray.friction import SMOOTH_WALL_M, STEEL_WALL_M, Pipe
from wetrun.spray.plumbing import Feed, Hose
from wetrun.units import M, M3s, Paps2m6

Each = TypeVar("Each")
_HAIR: Final = 1e-9
_WALLS: Final = {"smooth": SMOOTH_WALL_M, "steel": STEEL_WALL_M}


def check_plumbing(entry: PlumbingEntry, loss: LossEntry | None, boom: Boom, *, passing_m3s: M3s = 0.0) -> None:
    """Refuse plumbing that is not of this boom, or that loses more than the gauges show.

    Parameters
    ----------
    entry : PlumbingEntry
        As typed.
    loss : LossEntry or None
        The gauges, if two were read.
    boom : Boom
        Tips per section and spacing.
    passing_m3s : float
        Flow that passes the sensor and returns to the tank [m3/s].

    Raises
    ------
    PydanticCustomError
        With the key, the limit and the remedy.
    """
    for key in ("line", "feed", "hose", "hose_length", "valve"):
        given = getattr(entry, key)
        if given is not None and len(given) not in (1, len(boom.section_tips)):
            limit = f"there are {len(given)} for {len(boom.section_tips)} sections"
            raise refuse(limit, "Give one for all, or one for every section, left to right", at=f"plumbing.{key}")
    for n, tips in enumerate(boom.section_tips):
        _check_feed(entry, n, tips, boom.spacing_m)
    if loss is not None:
        _check_against_gauges(entry, loss, boom, passing_m3s)


def _check_feed(entry: PlumbingEntry, n: int, tips: int, spacing_m: M) -> None:
    feed = _of(entry.feed, n)
    if isinstance(feed, Typed) and feed.si_value > (tips - 1) * spacing_m * (1.0 + _HAIR):
        limit = f"the {tips} tips of section {n + 1} end before {feed.text}: the feed lies outside its section"
        remedy = "Measure from the section's first tip to where the hose meets the line"
        raise refuse(limit, remedy, at=f"plumbing.feed[{n + 1}]" if len(entry.feed) > 1 else "plumbing.feed")


def _check_against_gauges(entry: PlumbingEntry, loss: LossEntry, boom: Boom, passing_m3s: M3s) -> None:
    if loss.body is not None and entry.body is not None:
        raise refuse("machine.loss has a body too", "Keep the one that was measured", at="plumbing.body")
    pipes = pipes_of_entry(entry, None, boom, body=loss.body, passing_m3s=passing_m3s)
    lost_pa = mean_drop_pa(pipes, boom, loss.boom_flow.si_value)
    if lost_pa > loss.cab.si_value - loss.tip.si_value:
        limit = f"this plumbing alone would lose more at {loss.boom_flow.text} than the gauges of machine.loss show"
        raise refuse(limit, "Check diameters and lengths, or read both gauges again", at="plumbing")


def pipes_of_entry(
    entry: PlumbingEntry,
    loss: LossEntry | None,
    boom: Boom,
    *,
    body: BodyLossEntry | None = None,
    passing_m3s: M3s = 0.0,
) -> BoomPipes:
    """Return the boom's pipes.

    Parameters
    ----------
    entry : PlumbingEntry
        As typed, checked.
    loss : LossEntry or None
        Two gauges: what they show beyond the pipes is put down to the boom valve.
    boom : Boom
        Tips per section and spacing.
    body : BodyLossEntry or None
        What a nozzle body loses, if the plumbing does not say.
    passing_m3s : float
        Flow that passes the sensor and returns to the tank [m3/s].

    Returns
    -------
    BoomPipes
        One entry for every section.

    References
    ----------
    minor-loss-quadratic, darcy-weisbach
    """
    in_body = entry.body or body
    main = None if entry.main is None else Hose(_pipe(entry, entry.main.bore, hose=True), entry.main.length.si_value)
    pipes = BoomPipes(
        sections=tuple(_section(entry, n) for n in range(len(boom.section_tips))),
        main=main,
        main_paps2m6=_valve(entry.boom_valve),
        body_paps2m6=0.0 if in_body is None else in_body.drop.si_value / in_body.flow.si_value**2,
        passing_m3s=passing_m3s,
    )
    return pipes if loss is None else _as_gauged(pipes, loss, boom)


def _as_gauged(pipes: BoomPipes, loss: LossEntry, boom: Boom) -> BoomPipes:
    """Valves have no printed loss: what the gauges show beyond the pipes stands at the boom valve."""
    flow_m3s = loss.boom_flow.si_value
    over_pa = loss.cab.si_value - loss.tip.si_value - mean_drop_pa(pipes, boom, flow_m3s)
    rest = over_pa / (flow_m3s + pipes.passing_m3s) ** 2
    return replace(pipes, main_paps2m6=pipes.main_paps2m6 + rest)


def _section(entry: PlumbingEntry, n: int) -> SectionPipes:
    feed = _of(entry.feed, n)
    hose = None
    if entry.hose is not None and entry.hose_length is not None:
        hose = Hose(_pipe(entry, _of(entry.hose, n), hose=True), _of(entry.hose_length, n).si_value)
    return SectionPipes(
        line=_pipe(entry, _of(entry.line, n)),
        feed=Feed.MIDDLE if isinstance(feed, Typed) else feed,
        at_m=feed.si_value if isinstance(feed, Typed) else None,
        hose=hose,
        inlet_paps2m6=_valve(None if entry.valve is None else _of(entry.valve, n)),
    )


def _pipe(entry: PlumbingEntry, bore: Typed, *, hose: bool = False) -> Pipe:
    """A hose is smooth whatever the line is made of."""
    return Pipe(bore.si_value, SMOOTH_WALL_M if hose else _WALLS[entry.wall])


def _valve(entry: ValveEntry | None) -> Paps2m6:
    return 0.0 if entry is None else entry.drop.si_value / entry.flow.si_value**2


def _of(given: Sequence[Each], n: int) -> Each:
    return given[0] if len(given) == 1 else given[n]
