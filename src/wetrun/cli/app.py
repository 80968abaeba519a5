"""The commands and their options. Each one imports what it needs when it runs, so that help is instant."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from wetrun.cli.boom_app import boom_app
from wetrun.cli.options import JsonOption, PaperSize, UnitsOption
from wetrun.cli.trouble_app import trouble_command

app = typer.Typer(
    name="wetrun",
    help="The sprayer specialist's bench: which tips hold the label's rate over the speeds these fields allow.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
log_app = typer.Typer(help="Look at field logs before trusting them.", no_args_is_help=True)
tips_app = typer.Typer(help="The tip catalogue: built-in generic tips and a maker's own rows.", no_args_is_help=True)
app.add_typer(log_app, name="log")
app.add_typer(tips_app, name="tips")
app.add_typer(boom_app, name="boom")
app.command("trouble")(trouble_command)


MapOption = Annotated[Path | None, typer.Option("--map", help="Column map for logs (TOML); see `wetrun new map.toml`.")]
MostGibOption = Annotated[
    float | None, typer.Option("--most-gib", help="Largest log still read, in GiB unpacked (4).", min=0.001)
]
MostRecordsOption = Annotated[
    int | None,
    typer.Option(
        "--most-records",
        help="Most records of one log still read (200 million; 2 million where it is held in memory whole).",
        min=1,
    ),
]
LogOption = Annotated[
    list[str] | None,
    typer.Option("--log", help="Field log for passes that name none, or PASS=FILE for one pass. Repeatable."),
]


@app.command()
def plan(
    season: Annotated[Path, typer.Argument(help="Season file (TOML).")],
    *,
    log: LogOption = None,
    log_map: MapOption = None,
    units: UnitsOption = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for the papers: tip plan, cab cards, lanes.")
    ] = None,
    sets: Annotated[int | None, typer.Option("--sets", min=1, help="Most tip sets to carry.")] = None,
    paper: Annotated[PaperSize | None, typer.Option("--paper", help="Page size; default by unit system.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Choose tips for a season: what holds, at what speeds, what share of the acres not, and why."""
    from wetrun.cli.plan_command import PlanRequest, run_plan

    size = None if paper is None else paper.value
    request = PlanRequest(
        season=season,
        logs=tuple(log or ()),
        log_map=log_map,
        units=units,
        out=out,
        sets=sets,
        paper=size,
        as_json=as_json,
    )
    run_plan(request)


@app.command()
def replay(
    season: Annotated[Path, typer.Argument(help="Season file (TOML).")],
    logs: Annotated[list[Path], typer.Argument(help="Field logs to drive the plan over.")],
    *,
    pass_name: Annotated[str | None, typer.Option("--pass", help="Which pass; default: the first.")] = None,
    tip: Annotated[str | None, typer.Option("--tip", help="Tip to replay; default: the plan's choice.")] = None,
    exact: Annotated[
        bool, typer.Option("--exact", help="With lag, section valves and turns; as a rule where a lag is known.")
    ] = False,
    lag: Annotated[str | None, typer.Option("--lag", help="Lag of the rate controller, such as '0.8 s'.")] = None,
    delay: Annotated[str | None, typer.Option("--delay", help="Delay before the flow moves, such as '0.4 s'.")] = None,
    fit: Annotated[
        bool, typer.Option("--fit", help="Fit lag, delay and bias to the log's own applied rate, and use them.")
    ] = False,
    map_out: Annotated[
        Path | None, typer.Option("--map-out", help="Write the map: a .geojson or .parquet (GeoParquet) file.")
    ] = None,
    cell: Annotated[str, typer.Option("--cell", help="Side of a map cell.")] = "5 m",
    worst: Annotated[int, typer.Option("--worst", min=0, max=1000, help="How many of the worst places to tell.")] = 10,
    log_map: MapOption = None,
    units: UnitsOption = None,
    as_json: JsonOption = False,
) -> None:
    """Drive a set over a log instant by instant, and set it beside what the log says came out."""
    from wetrun.cli.exact_request import ExactRequest
    from wetrun.cli.replay_command import ReplayRequest, run_replay

    request = ReplayRequest(
        season=season,
        logs=tuple(logs),
        pass_name=pass_name,
        tip=tip,
        log_map=log_map,
        units=units,
        as_json=as_json,
        exact=ExactRequest(exact=exact, lag=lag, delay=delay, fit=fit, map_out=map_out, cell=cell, worst=worst),
    )
    run_replay(request)


@app.command()
def prove(
    wetrun: Annotated[Path, typer.Argument(help="Wet-run file (TOML); see `wetrun new wetrun.toml`.")],
    *,
    since: Annotated[Path | None, typer.Option("--since", help="An earlier wet run of the same machine.")] = None,
    minutes: Annotated[
        float | None, typer.Option("--minutes", min=1, help="Plan the day instead: the minutes there are.")
    ] = None,
    jugs: Annotated[
        int, typer.Option("--jugs", min=1, max=200, help="With --minutes: jugs that can be held under tips at once.")
    ] = 8,
    units: UnitsOption = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the evidence sheet.")] = None,
    paper: Annotated[PaperSize | None, typer.Option("--paper", help="Page size; default by unit system.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Judge a water run: which reading lies, what passes with which doubt, what to change, what stays unproven."""
    from wetrun.cli.prove_command import ProveRequest, run_prove

    size = None if paper is None else paper.value
    request = ProveRequest(
        wetrun=wetrun,
        since=since,
        minutes=minutes,
        jugs=jugs,
        units=units,
        out=out,
        paper=size,
        as_json=as_json,
    )
    run_prove(request)


@app.command()
def short(
    wetrun: Annotated[Path, typer.Argument(help="Wet-run file (TOML); nothing in it need be tested.")],
    *,
    minutes: Annotated[float, typer.Option("--minutes", min=0, help="The minutes there are.")],
    jugs: Annotated[int, typer.Option("--jugs", min=1, max=200, help="Jugs that can be held under tips at once.")] = 6,
    holds: Annotated[
        list[str] | None, typer.Option("--holds", help="A proof that still holds, such as 'meter number'. Repeatable.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Choose the shortest useful wet run for the minutes there are: tests in order, what stays unproven, the rest."""
    from wetrun.cli.short_command import ShortRequest, run_short

    held = tuple(holds or ())
    run_short(ShortRequest(wetrun=wetrun, minutes=minutes, jugs=jugs, holds=held, as_json=as_json))


@app.command()
def loads(
    season: Annotated[Path, typer.Argument(help="Season file (TOML).")],
    *,
    pass_name: Annotated[str | None, typer.Option("--pass", help="Only this pass.")] = None,
    units: UnitsOption = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the load sheets, a page a pass.")] = None,
    paper: Annotated[PaperSize | None, typer.Option("--paper", help="Page size; default by unit system.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Work out tank loads: what goes in, in which order, how heavy, where each runs out, and the jar test."""
    from wetrun.cli.loads_command import LoadsRequest, run_loads

    size = None if paper is None else paper.value
    request = LoadsRequest(season=season, pass_name=pass_name, units=units, out=out, paper=size, as_json=as_json)
    run_loads(request)


@app.command()
def fills(
    file: Annotated[Path, typer.Argument(help="Fills file (TOML); see `wetrun new fills.toml`.")],
    *,
    units: UnitsOption = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the picture of the loads.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Hold a season's loads together: filled, counted, left; what meter number they mean, how sure, any drift."""
    from wetrun.cli.fills_command import FillsRequest, run_fills

    run_fills(FillsRequest(fills=file, units=units, out=out, as_json=as_json))


@app.command()
def changeover(
    file: Annotated[Path, typer.Argument(help="Changeover file (TOML); see `wetrun new changeover.toml`.")],
    *,
    units: UnitsOption = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the yard's sheet and the picture.")] = None,
    paper: Annotated[PaperSize | None, typer.Option("--paper", help="Page size; default by unit system.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Get one product out before the next crop: rinses, what stays where, what skipping costs, the yard's list."""
    from wetrun.cli.changeover_command import ChangeoverRequest, run_changeover

    size = None if paper is None else paper.value
    run_changeover(ChangeoverRequest(changeover=file, units=units, out=out, paper=size, as_json=as_json))


@app.command()
def fleet(
    seasons: Annotated[list[Path], typer.Argument(help="Season files (TOML), or folders of them.")],
    logs_dir: Annotated[Path, typer.Argument(help="Folder of logs: one folder per machine, named as its season file.")],
    *,
    cluster: Annotated[
        str | None, typer.Option("--cluster", help="Scheduler of a Dask cluster, such as tcp://192.168.1.20:8786.")
    ] = None,
    workers: Annotated[
        int | None, typer.Option("--workers", min=1, max=512, help="Processes here; default: one per core.")
    ] = None,
    cache: Annotated[
        Path | None, typer.Option("--cache", help="Folder of tallied logs; default: the user's cache folder.")
    ] = None,
    most_gib: MostGibOption = None,
    most_records: MostRecordsOption = None,
    units: UnitsOption = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for plans, parts list and journal; go on from there if killed.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Plan many machines over thousands of logs: a plan for each, and the shop's parts list over all."""
    from wetrun.cli.fleet_command import FleetRequest, run_fleet
    from wetrun.fieldlog.readers.limits import DEFAULT_LIMITS

    request = FleetRequest(
        seasons=tuple(seasons),
        logs_dir=logs_dir,
        cluster=cluster,
        workers=workers,
        cache=cache,
        limits=DEFAULT_LIMITS.raised(gib=most_gib, records=most_records),
        units=units,
        out=out,
        as_json=as_json,
    )
    run_fleet(request)


@app.command(add_help_option=False, context_settings={"allow_extra_args": True, "ignore_unknown_options": True})
def serve(context: typer.Context) -> None:
    """Run the shop, the bench as a web application; `wetrun serve --help` tells how."""
    from wetrun.cli.serve_command import run_serve

    run_serve(context.args)


@app.command()
def new(
    file: Annotated[
        Path,
        typer.Argument(
            help="File to write: season, wetrun, changeover, fills or map, each .toml; tips.csv, grooves.csv."
        ),
    ],
) -> None:
    """Write a commented example to start from: season, wet run, changeover, loads, column map, tips, tray grooves."""
    from wetrun.cli.new_command import run_new

    run_new(file)


@log_app.command("inspect")
def log_inspect(
    files: Annotated[list[Path], typer.Argument(help="Field logs, or folders and zips of them.")],
    *,
    log_map: MapOption = None,
    units: UnitsOption = None,
    section: Annotated[str | None, typer.Option("--section", help="Speeds of one boom section's rows only.")] = None,
    most_gib: MostGibOption = None,
    most_records: MostRecordsOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say what a log holds: rows, instants, sections, speeds by every source, repairs, doubts."""
    from wetrun.cli.log_command import run_inspect
    from wetrun.fieldlog.readers.limits import DEFAULT_LIMITS

    limits = DEFAULT_LIMITS.raised(gib=most_gib, records=most_records)
    run_inspect(tuple(files), log_map=log_map, limits=limits, units=units, section=section, as_json=as_json)


@log_app.command("convert")
def log_convert(
    files: Annotated[list[Path], typer.Argument(help="Field logs, or folders and zips of them.")],
    *,
    out: Annotated[Path, typer.Option("--out", help="Folder for the working files (Parquet), one for each log.")],
    log_map: MapOption = None,
    shift: Annotated[
        bool, typer.Option("--shift", help="Move positions by one secret offset; leave out names.")
    ] = False,
    force: Annotated[bool, typer.Option("--force", help="Write over files that are there.")] = False,
    most_gib: MostGibOption = None,
    most_records: MostRecordsOption = None,
    as_json: JsonOption = False,
) -> None:
    """Turn logs into working files: cleaned, in SI with units in the schema, quick to read ever after."""
    from wetrun.cli.convert_command import ConvertRequest, run_convert
    from wetrun.fieldlog.readers.limits import DEFAULT_LIMITS

    limits = DEFAULT_LIMITS.raised(gib=most_gib, records=most_records)
    run_convert(ConvertRequest(tuple(files), out, log_map, limits, shift=shift, force=force, as_json=as_json))


@tips_app.command("list")
def tips_list(
    *,
    family: Annotated[str | None, typer.Option("--family", help="Only families whose name contains this.")] = None,
    size: Annotated[str | None, typer.Option("--size", help="Only this size, such as 04.")] = None,
    file: Annotated[Path | None, typer.Option("--file", help="Add the tips of this tip file (CSV).")] = None,
    units: UnitsOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the tips: size, family, pressure range, flow, and where the numbers come from."""
    from wetrun.cli.tips_command import run_list

    run_list(family=family, size=size, file=file, units=units, as_json=as_json)


@tips_app.command("check")
def tips_check(
    file: Annotated[Path, typer.Argument(help="Tip file (CSV).")],
    *,
    units: UnitsOption = None,
    as_json: JsonOption = False,
) -> None:
    """Read a maker's own rows and name every bad one."""
    from wetrun.cli.tips_command import run_check

    run_check(file, units=units, as_json=as_json)


@tips_app.command("show")
def tips_show(
    ident: Annotated[str, typer.Argument(help="Tip, as named by `wetrun tips list`.")],
    *,
    carrier: Annotated[str, typer.Option("--carrier", help="Liquid, such as water or 'UAN 28'.")] = "water",
    file: Annotated[Path | None, typer.Option("--file", help="Look in this tip file too (CSV).")] = None,
    units: UnitsOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show one tip over its pressure range: flow with a liquid, droplet class and how sure it is."""
    from wetrun.cli.tips_command import run_show

    run_show(ident, carrier=carrier, file=file, units=units, as_json=as_json)
