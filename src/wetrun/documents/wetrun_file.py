"""Reads a wet-run file: raw readings as a technician typed them, checked as a whole, with every quantity as typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from wetrun.documents.preamble import check_version, entry_in
from wetrun.documents.refusals import Document
from wetrun.documents.text_file import text_of_file
from wetrun.documents.toml_text import parsed_toml
from wetrun.documents.typed_texts import typed_texts
from wetrun.documents.wetrun_build import course_of, evenness_of, meter_of, pressure_of, si_or_none
from wetrun.documents.wetrun_build_catch import catch_of
from wetrun.documents.wetrun_build_monitor import found_number, monitor_of
from wetrun.documents.wetrun_build_yard import doubts_of, gate_of, ramp_of, screen_of, sections_of, steady_of
from wetrun.documents.wetrun_entry import WETRUN_VERSION, WetRunEntry
from wetrun.documents.wetrun_ground import Building, Ground, ground_of
from wetrun.documents.wetrun_yard_entry import GateEntry
from wetrun.errors import InputProblems
from wetrun.planning.tip_set import hydraulics, tip_sets
from wetrun.proving.catch_wear import SeasonUse
from wetrun.proving.confirmation import Confirmed
from wetrun.proving.gates import GateAnswer
from wetrun.proving.session_record import ProvenMachine, WetRun
from wetrun.proving.session_steady import SteadyRead
from wetrun.proving.standing import Standing
from wetrun.quantity import System
from wetrun.spray.carrier import water
from wetrun.spray.hydraulics import Hydraulics


@dataclass(frozen=True, slots=True, kw_only=True)
class WetRunFile:
    """A wet run and what stands beside it in its file.

    Attributes
    ----------
    path : Path
        Where it was read.
    title : str
        Its title.
    run : WetRun
        The records.
    typed : mapping of str
        Every quantity's text by its full key, such as ``course.run[2].time``.
    units : System
        The unit system the file asks for.
    """

    path: Path
    title: str
    run: WetRun
    typed: Mapping[str, str]
    units: System


def read_wetrun(path: Path) -> WetRunFile:
    """Return the wet run of a file.

    Parameters
    ----------
    path : Path
        A TOML file; names inside it are relative to its folder.

    Returns
    -------
    WetRunFile
        Records and typed texts. A reading that is blank or looks wrong is kept as it is: the tests ask about it.

    Raises
    ------
    InputProblems
        Everything wrong in it, and in the season or catalogue it names, at once.
    """
    return wetrun_of(path, wetrun_document(path))


def wetrun_document(path: Path) -> Document:
    """Return a wet-run file as parsed.

    Parameters
    ----------
    path : Path
        A TOML file.

    Returns
    -------
    Document
        Its tables, not yet looked at but for the version.

    Raises
    ------
    InputProblems
        No TOML, or a version this Wetrun does not know.
    """
    document = Document(path.name, parsed_toml(path, text_of_file(path)), WetRunEntry)
    check_version(document, WETRUN_VERSION)
    return document


def entry_of(document: Document) -> tuple[WetRunEntry, Building]:
    """Return what was typed, and what keeps the problems of building records of it.

    Parameters
    ----------
    document : Document
        The file as parsed.

    Returns
    -------
    tuple of WetRunEntry and Building
        The entry as a whole.

    Raises
    ------
    InputProblems
        Everything wrong in it at once.
    """
    entry, system = entry_in(document, WetRunEntry)
    return entry, Building(document, system)


def wetrun_of(path: Path, document: Document) -> WetRunFile:
    """Return the wet run of a file that has been parsed.

    Parameters
    ----------
    path : Path
        Where it was read.
    document : Document
        What was read.

    Returns
    -------
    WetRunFile
        As `read_wetrun`.

    Raises
    ------
    InputProblems
        As `read_wetrun`.
    """
    entry, building = entry_of(document)
    ground = ground_of(entry, path.parent, building)
    run = None if ground is None else _run(entry, ground, building)
    if run is None or building.problems:
        raise InputProblems(building.problems)
    return WetRunFile(path=path, title=entry.title, run=run, typed=dict(typed_texts(entry)), units=building.system)


def _run(entry: WetRunEntry, ground: Ground, building: Building) -> WetRun | None:
    machine = building.made("machine", lambda: _machine(entry, ground))
    if machine is None:
        return None
    made, setup, found = building.of, machine.setup, found_number(entry.monitor)
    timed = entry.section or entry.timing
    return WetRun(
        machine=machine,
        on="" if entry.on is None else entry.on.isoformat(),
        by=entry.technician or "",
        customer=entry.customer or ground.customer,
        gates=_gates(entry, building),
        course=made("course", entry.course, course_of),
        meter=made("meter", entry.meter, lambda meter: meter_of(meter, found)),
        catch=made("catch", entry.catch, lambda catch: catch_of(catch, ground)),
        pressure=made("pressure", entry.pressure, lambda pressure: pressure_of(pressure, ground)),
        evenness=made("evenness", entry.evenness, lambda evenness: evenness_of(evenness, ground)),
        ramp=made("ramp", entry.ramp, lambda ramp: ramp_of(ramp, ground, setup)),
        sections=made("section", timed or None, lambda _: sections_of(entry.section, entry.timing, ground)),
        monitor=made("monitor", entry.monitor, lambda monitor: monitor_of(monitor, ground)),
        steady=_steady(entry, building),
        screen=made("screen", entry.screen, lambda screen: screen_of(screen, setup)),
        doubts=doubts_of(entry.doubts),
        stands=tuple(Standing(one.reading, Confirmed(one.by, one.at, one.remark)) for one in entry.stands),
    )


def _steady(entry: WetRunEntry, building: Building) -> tuple[SteadyRead, ...]:
    read = [building.made(f"steady.{n}", partial(steady_of, each, n)) for n, each in enumerate(entry.steady, start=1)]
    return tuple(each for each in read if each is not None)


def _machine(entry: WetRunEntry, ground: Ground) -> ProvenMachine:
    use = entry.tips.use
    monitor = entry.monitor
    return ProvenMachine(
        name=ground.sprayer.name,
        boom=ground.sprayer.boom,
        setup=_setup(ground),
        tip=ground.tip.words,
        size=ground.tip.size,
        pipes=ground.sprayer.pipes,
        odd_laws=ground.odd_laws,
        scales_meter_by_density=None if monitor is None else monitor.scales_meter_by_density,
        use=None
        if use is None
        else SeasonUse(sprayed_m2=use.area.si_value, rate_m3pm2=use.rate.si_value, product_cents=use.products),
        sprayed_s=si_or_none(entry.tips.sprayed),
        tank_m3=ground.sprayer.tank_m3,
    )


def _setup(ground: Ground) -> Hydraulics:
    """The new set on this machine with water; odd positions stand in it as the plan counts them."""
    control = replace(ground.sprayer.control, density_setting_kgpm3=None)  # the run stands on water, and so does this
    bare = replace(ground.sprayer, owned=(), control=control)
    known = {tip.ident: tip for tip in (*ground.odd_tips.values(), ground.tip)}
    sets = tip_sets(bare, known.values(), odd_positions=bool(ground.odd_tips))
    fitted = next(each for each in sets if each.tip.ident == ground.tip.ident)
    return hydraulics(fitted, bare, water())


def _gates(entry: WetRunEntry, building: Building) -> tuple[GateAnswer, ...]:
    gates = entry.gates
    if gates is None:
        return ()
    answers = []
    for key in type(gates).model_fields:
        typed = getattr(gates, key)
        if isinstance(typed, GateEntry):
            answers.append(building.made(f"gates.{key}", partial(gate_of, key, typed, gates)))
    return tuple(answer for answer in answers if answer is not None)
