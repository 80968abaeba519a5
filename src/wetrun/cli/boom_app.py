"""`wetrun boom`: what decides evenness beyond the tip. Each command imports what it needs when it runs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from wetrun.cli.options import JsonOption, PaperSize, UnitsOption

boom_app = typer.Typer(help="The boom in the field: what its tips do together.", no_args_is_help=True)
SeasonArgument = Annotated[Path, typer.Argument(help="Season file (TOML): the machine is taken from it.")]


@boom_app.command("turn")
def boom_turn(
    season: SeasonArgument,
    *,
    radius: Annotated[
        list[str] | None,
        typer.Option("--radius", help="Turn radius of the boom's middle, such as '60 ft'. Repeatable."),
    ] = None,
    duty: Annotated[str, typer.Option("--duty", help="Duty in the middle, on a pulse-width machine.")] = "70 %",
    tolerance: Annotated[str, typer.Option("--tolerance", help="How far off counts.")] = "10 %",
    units: UnitsOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say what both ends of this boom get in turns, with and without compensation."""
    from wetrun.cli.boom_turn_command import TurnRequest, run_boom_turn

    run_boom_turn(
        TurnRequest(
            season=season,
            radii=tuple(radius or ()),
            duty=duty,
            tolerance=tolerance,
            units=units,
            as_json=as_json,
        )
    )


@boom_app.command("even")
def boom_even(
    season: SeasonArgument,
    *,
    tip: Annotated[str, typer.Option("--tip", help="Tip, as named by `wetrun tips list`.")],
    height: Annotated[str, typer.Option("--height", help="Tips above the target, such as '20 in'.")],
    pressure: Annotated[str, typer.Option("--pressure", help="At the tip, such as '40 psi'.")],
    grooves: Annotated[
        Path | None, typer.Option("--grooves", help="The tip's own pattern (CSV); see `wetrun new grooves.csv`.")
    ] = None,
    catches: Annotated[
        Path | None, typer.Option("--catches", help="A wet run (TOML) with a catch of every tip of this boom.")
    ] = None,
    missing: Annotated[
        list[int] | None, typer.Option("--missing", min=1, help="A position that sprays nothing. Repeatable.")
    ] = None,
    roll: Annotated[str | None, typer.Option("--roll", help="Right end up, such as '2 °'.")] = None,
    yaw: Annotated[str | None, typer.Option("--yaw", help="Right end forward, such as '3 °'.")] = None,
    twist: Annotated[
        str | None, typer.Option("--twist", help="Fans turned out of the boom's line, such as '8 °'.")
    ] = None,
    even_edge: Annotated[
        str | None, typer.Option("--even-edge", help="Even middle of an even-edge fan over its base, such as '75 %'.")
    ] = None,
    rule: Annotated[
        str, typer.Option("--rule", help="in use, new at stated height, or new over the range.")
    ] = "in use",
    units: UnitsOption = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the picture, its table and the sheet.")] = None,
    paper: Annotated[PaperSize | None, typer.Option("--paper", help="Page size; default by unit system.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Say how even this boom lays as it hangs, and between which heights it stays within a rule."""
    from wetrun.cli.boom_even_command import EvenRequest, run_boom_even

    run_boom_even(
        EvenRequest(
            season=season,
            tip=tip,
            height=height,
            pressure=pressure,
            grooves=grooves,
            catches=catches,
            missing=tuple(missing or ()),
            roll=roll,
            yaw=yaw,
            twist=twist,
            even_edge=even_edge,
            rule=rule,
            units=units,
            out=out,
            paper=None if paper is None else paper.value,
            as_json=as_json,
        )
    )


@boom_app.command("drift")
def boom_drift(
    *,
    height: Annotated[str, typer.Option("--height", help="Tips above the crop, such as '20 in'.")],
    wind: Annotated[str, typer.Option("--wind", help="At boom height, such as '8 mph'.")],
    speed: Annotated[str | None, typer.Option("--speed", help="Ground speed, such as '12 mph'.")] = None,
    dry: Annotated[str | None, typer.Option("--dry", help="Dry-bulb temperature; needs --wet too.")] = None,
    wet: Annotated[str | None, typer.Option("--wet", help="Wet-bulb temperature.")] = None,
    applications: Annotated[
        int, typer.Option("--applications", help="How often this field is sprayed with it: 1 to 8.")
    ] = 1,
    distance: Annotated[
        list[str] | None, typer.Option("--distance", help="From the last tip, 1 to 50 m. Repeatable.")
    ] = None,
    units: UnitsOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say what drifted in published trials and what becomes of single drops. An order of magnitude, never a buffer."""
    from wetrun.cli.boom_drift_command import DriftRequest, run_boom_drift

    run_boom_drift(
        DriftRequest(
            height=height,
            wind=wind,
            speed=speed,
            dry=dry,
            wet=wet,
            applications=applications,
            distances=tuple(distance or ()),
            units=units,
            as_json=as_json,
        )
    )


@boom_app.command("pulse")
def boom_pulse(
    season: SeasonArgument,
    *,
    tip: Annotated[str, typer.Option("--tip", help="Tip, as named by `wetrun tips list`.")],
    pass_name: Annotated[str | None, typer.Option("--pass", help="Which pass; default: the first.")] = None,
    set_pressure: Annotated[
        list[str] | None, typer.Option("--set-pressure", help="At the cab sensor, such as '50 psi'. Repeatable.")
    ] = None,
    units: UnitsOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say what a tip does on a pulse-width machine at several set pressures: class, speeds, duty, gaps, turns."""
    from wetrun.cli.boom_pulse_command import PulseRequest, run_boom_pulse

    run_boom_pulse(
        PulseRequest(
            season=season,
            tip=tip,
            pass_name=pass_name,
            pressures=tuple(set_pressure or ()),
            units=units,
            as_json=as_json,
        )
    )
