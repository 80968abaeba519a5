"""The options of `wetrun trouble`: one for each reading that can be typed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from wetrun.cli.options import JsonOption, UnitsOption


def trouble_command(
    file: Annotated[Path, typer.Argument(help="Wet-run or season file (TOML) of the machine.")],
    *,
    says: Annotated[str, typer.Option("--says", help="What is wrong: rate, pressure or section.")] = "rate",
    rate_set: Annotated[str | None, typer.Option("--set", help="Rate set.")] = None,
    rate: Annotated[str | None, typer.Option("--rate", help="Rate shown.")] = None,
    speed: Annotated[str | None, typer.Option("--speed", help="Speed shown.")] = None,
    other_speed: Annotated[
        str | None, typer.Option("--other-speed", help="Speed by a phone or a timed distance.")
    ] = None,
    cab: Annotated[str | None, typer.Option("--cab", help="Pressure in the cab.")] = None,
    flow: Annotated[str | None, typer.Option("--flow", help="Flow shown, of the boom.")] = None,
    width: Annotated[str | None, typer.Option("--width", help="Width the monitor reckons with.")] = None,
    duty: Annotated[str | None, typer.Option("--duty", help="Duty shown by a pulse-width machine.")] = None,
    tip_gauge: Annotated[str | None, typer.Option("--tip-gauge", help="Gauge at a tip of a good section.")] = None,
    catch: Annotated[str | None, typer.Option("--catch", help="Catch of a tip of a good section.")] = None,
    second_catch: Annotated[str | None, typer.Option("--second-catch", help="Catch of another good tip.")] = None,
    low_gauge: Annotated[str | None, typer.Option("--low-gauge", help="Gauge at a tip of the low section.")] = None,
    low_catch: Annotated[str | None, typer.Option("--low-catch", help="Catch of a tip of the low section.")] = None,
    cab_at_rest: Annotated[
        str | None, typer.Option("--cab-at-rest", help="Pressure in the cab with the pump stopped.")
    ] = None,
    test_gauge: Annotated[str | None, typer.Option("--test-gauge", help="Test gauge beside the cab's sensor.")] = None,
    weighed: Annotated[str | None, typer.Option("--weighed", help="Weight of the liquid.")] = None,
    density_set: Annotated[str | None, typer.Option("--density-set", help="Density in the monitor.")] = None,
    hold_set: Annotated[str | None, typer.Option("--hold-set", help="Minimum hold in the monitor.")] = None,
    highest: Annotated[str | None, typer.Option("--highest", help="Highest pressure in the cab by hand.")] = None,
    sections_on: Annotated[str | None, typer.Option("--on", help="Sections that are on, such as 1-6; all.")] = None,
    low_section: Annotated[int | None, typer.Option("--low-section", min=1, help="The section that is low.")] = None,
    tip_set: Annotated[str | None, typer.Option("--tip-set", help="Season file: the tip on the boom.")] = None,
    carrier: Annotated[str | None, typer.Option("--carrier", help="Liquid in the tank; the pass's, or water.")] = None,
    pass_name: Annotated[str | None, typer.Option("--pass", help="Season file: the pass that is sprayed.")] = None,
    units: UnitsOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say what the numbers of a machine in trouble tell, how sure, and the one reading to take next."""
    from wetrun.cli.trouble_command import TroubleRequest, run_trouble
    from wetrun.documents.trouble_file import OnTheBoom
    from wetrun.proving.trouble_seen import Look

    typed = {
        Look.TARGET: rate_set,
        Look.RATE: rate,
        Look.SPEED: speed,
        Look.OTHER_SPEED: other_speed,
        Look.CAB: cab,
        Look.FLOW: flow,
        Look.WIDTH: width,
        Look.DUTY: duty,
        Look.TIP: tip_gauge,
        Look.CATCH: catch,
        Look.ANOTHER_CATCH: second_catch,
        Look.SECTION_TIP: low_gauge,
        Look.SECTION_CATCH: low_catch,
        Look.ZERO: cab_at_rest,
        Look.BESIDE: test_gauge,
        Look.WEIGHED: weighed,
        Look.DENSITY_SET: density_set,
        Look.HOLD_SET: hold_set,
        Look.HIGHEST: highest,
    }
    request = TroubleRequest(
        file=file,
        says=says,
        typed={look: text for look, text in typed.items() if text is not None},
        sections_on=sections_on,
        low_section=low_section,
        boom=OnTheBoom(tip_set, carrier, pass_name),
        units=units,
        as_json=as_json,
    )
    run_trouble(request)
