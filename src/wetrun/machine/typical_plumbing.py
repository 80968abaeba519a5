"""Built-in plumbing layouts by class of machine, scaled to the boom, to edit; measured volumes win."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from wetrun.machine.boom import Boom
from wetrun.machine.boom_volume import boom_volume_m3
from wetrun.machine.circuit_checks import check_layout
from wetrun.machine.circuits import MEASURED, TYPICAL, Circuit, CircuitKind, Exit, Layout, Line, Start, Valve
from wetrun.machine.typical_volumes import EXTRA_VOLUMES, TYPICAL_MACHINES, MachineClass, typical_circuit
from wetrun.units import M3

_BOOM_SOURCE = "purdue-boom-volumes"
_ISO_RINSE_SHARE = 0.1
_Needs = tuple[tuple[str, str], ...]
_FROM_TANK: _Needs = (("suction valve", "tank"),)
_FROM_RINSE: _Needs = (("suction valve", "rinse tank"),)
_SUCTION = ("sump", "suction strainer", "pump")
_TO_BOOM: _Needs = (("pressure valve", "boom"),)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What was measured on one circuit.

    Attributes
    ----------
    volume_m3 : float or None
        What it holds in work [m3]; None if not measured.
    residue_m3 : float or None
        What stayed in it after draining [m3]; None if not measured.
    """

    volume_m3: M3 | None = None
    residue_m3: M3 | None = None


def typical_layout(
    machine_class: MachineClass,
    boom: Boom,
    *,
    tank_m3: M3,
    rinse_tank_m3: M3 | None = None,
    ends_open: bool = True,
    recirculating: bool = False,
) -> Layout:
    """Return the typical plumbing of a class of machine with this boom and tank.

    Parameters
    ----------
    machine_class : MachineClass
        Self-propelled, trailed or mounted.
    boom : Boom
        Width and sections.
    tank_m3 : float
        Capacity of the spray tank [m3].
    rinse_tank_m3 : float or None
        Clean water carried [m3]; None for a tenth of the spray tank.
    ends_open : bool
        Whether the ends of a dead-end boom can be opened.
    recirculating : bool
        Whether the boom returns to the tank instead of ending dead.

    Returns
    -------
    Layout
        Every volume marked with its source, none of them measured.

    Raises
    ------
    OutOfRange
        A tank or width that cannot be.

    References
    ----------
    cornell-remnants, omafra-empty-sprayer, purdue-boom-volumes, iso-16119-rinse, common-practice-plumbing

    Example
    -------
    >>> from wetrun.machine.boom import Boom
    >>> layout = typical_layout(MachineClass.TRAILED, Boom(spacing_m=0.508, section_tips=(18, 18)), tank_m3=2.0)
    >>> [circuit.name for circuit in layout.sections], layout.rinse_tank_m3
    (['section 1', 'section 2'], 0.2)
    """
    typical = TYPICAL_MACHINES[machine_class]
    rows = tuple(typical_circuit(row, typical.residue_source) for row in typical.rows)
    tank = Circuit(
        name="tank",
        kind=CircuitKind.TANK,
        volume_m3=tank_m3,
        residue_m3=min(typical.tank_residue_m3, tank_m3),
        volume_source=MEASURED,
        residue_source=typical.residue_source,
    )
    sections = _sections(boom, typical.boom_drains_to_frac, typical.residue_source)
    ends = () if recirculating else tuple(_end(section, typical.end_m3) for section in sections)
    returns = _boom_return(typical.end_m3 * len(sections)) if recirculating else ()
    layout = Layout(
        name=f"typical {machine_class} sprayer",
        circuits=(tank, *rows, *sections, *ends, *returns),
        lines=(*_pump_lines(rows), *_boom_lines(rows, boom, ends_open=ends_open, recirculating=recirculating)),
        valves=_valves(rows, ends_open=ends_open and not recirculating, recirculating=recirculating),
        pump_m3s=typical.pump_m3s,
        rinse_tank_m3=_ISO_RINSE_SHARE * tank_m3 if rinse_tank_m3 is None else rinse_tank_m3,
    )
    check_layout(layout)
    return layout


def layout_with_measured(layout: Layout, measured: Mapping[str, Measured]) -> Layout:
    """Return a layout in which measured volumes stand in place of typical ones, and are marked so.

    Parameters
    ----------
    layout : Layout
        Typical, or partly measured.
    measured : mapping of str to Measured
        By name of the circuit.

    Returns
    -------
    Layout
        The same lines and valves.

    Raises
    ------
    NotDefined
        A circuit the machine has not.
    OutOfRange
        A measured volume that cannot be.

    Notes
    -----
    A typical residue stays as it is, marked as typical, but within what the measured volume can hold back: no more than
    that volume, no less than its dead share, and all of it where the typical circuit does not drain at all, as a boom.

    Example
    -------
    >>> from wetrun.machine.boom import Boom
    >>> layout = typical_layout(MachineClass.TRAILED, Boom(spacing_m=0.508, section_tips=(18, 18)), tank_m3=1.5)
    >>> layout_with_measured(layout, {"sump": Measured(volume_m3=0.006)}).circuit("sump").volume_source
    'user'
    """
    for name in measured:
        layout.circuit(name)
    changed = replace(
        layout,
        circuits=tuple(
            _with_measured(circuit, measured[circuit.name]) if circuit.name in measured else circuit
            for circuit in layout.circuits
        ),
    )
    check_layout(changed)
    return changed


def layout_with_extra(layout: Layout, kind: CircuitKind, *lines: Line) -> Layout:
    """Return a layout with a chemical hose, an injection line, a foam marker or a winter-fluid line added.

    Parameters
    ----------
    layout : Layout
        The machine without it.
    kind : CircuitKind
        One of those four.
    *lines : Line
        Lines that flush it; without any it is reported as never rinsed.

    Returns
    -------
    Layout
        With a circuit of typical volume, named after its kind.
    """
    circuit = typical_circuit(EXTRA_VOLUMES[kind], TYPICAL)
    changed = replace(layout, circuits=(*layout.circuits, circuit), lines=(*layout.lines, *lines))
    check_layout(changed)
    return changed


def _with_measured(circuit: Circuit, measured: Measured) -> Circuit:
    volume_m3 = circuit.volume_m3 if measured.volume_m3 is None else measured.volume_m3
    drains = circuit.residue_m3 < circuit.volume_m3
    kept_m3 = min(max(circuit.residue_m3, circuit.dead_frac * volume_m3), volume_m3) if drains else volume_m3
    return replace(
        circuit,
        volume_m3=volume_m3,
        residue_m3=kept_m3 if measured.residue_m3 is None else measured.residue_m3,
        volume_source=circuit.volume_source if measured.volume_m3 is None else MEASURED,
        residue_source=circuit.residue_source if measured.residue_m3 is None else MEASURED,
    )


def _sections(boom: Boom, drains_to_frac: float, residue_source: str) -> tuple[Circuit, ...]:
    held_m3 = boom_volume_m3(boom.width_m)
    return tuple(
        Circuit(
            name=f"section {n}",
            kind=CircuitKind.SECTION,
            volume_m3=held_m3 * tips / boom.tips,
            residue_m3=held_m3 * tips / boom.tips * drains_to_frac,
            volume_source=_BOOM_SOURCE,
            residue_source=residue_source if drains_to_frac < 1.0 else TYPICAL,
        )
        for n, tips in enumerate(boom.section_tips, start=1)
    )


def _end(section: Circuit, end_m3: M3) -> Circuit:
    name = section.name.replace("section", "boom end")
    return Circuit(name=name, kind=CircuitKind.BOOM_END, volume_m3=end_m3, residue_m3=end_m3, beside=section.name)


def _boom_return(volume_m3: M3) -> tuple[Circuit, ...]:
    held_m3 = max(volume_m3, 0.004)
    return (Circuit(name="boom return", kind=CircuitKind.RETURN, volume_m3=held_m3, residue_m3=held_m3),)


def _pump_lines(rows: tuple[Circuit, ...]) -> tuple[Line, ...]:
    """Lines from the tank round the pump and back, and the wash-down line."""
    suction = _present(rows, _SUCTION)
    agitation = (*_FROM_TANK, ("return valve", "agitation"))
    to_eductor, to_load = ((*_FROM_TANK, ("pressure valve", place)) for place in ("eductor", "load line"))
    eductor = (*suction, *_present(rows, ("eductor line", "eductor")))
    lines = [
        Line(name="agitation", through=(*suction, "agitation line"), needs=agitation, share_ratio=3.0),
        Line(name="bypass", through=(*suction, "bypass line"), needs=_FROM_TANK),
        Line(name="eductor", through=eductor, needs=to_eductor, share_ratio=3.0),
    ]
    if _present(rows, ("load line",)):
        lines.append(Line(name="load line", through=(*suction, "load line"), needs=to_load, share_ratio=3.0))
    if _present(rows, ("wash-down line",)):
        needs = (("wash-down valve", "open"),)
        lines.append(Line(name="wash-down", through=("wash-down line",), needs=needs, start=Start.RINSE_TANK))
    return tuple(lines)


def _boom_lines(rows: tuple[Circuit, ...], boom: Boom, *, ends_open: bool, recirculating: bool) -> tuple[Line, ...]:
    """Lines to every section: spraying from either tank, and with ends open or circulating."""
    feed = _present(rows, ("pressure strainer", "boom valve body", "boom feed"))
    lines = []
    for n, tips in enumerate(boom.section_tips, start=1):
        to_section = (*feed, f"section {n}")
        way = (*_present(rows, _SUCTION), *to_section)
        spray = Line(
            name=f"spray {n}",
            through=way,
            needs=(*_FROM_TANK, *_TO_BOOM, ("boom valve", "spraying")),
            exit=Exit.TIPS,
            share_ratio=float(tips),
        )
        clean = replace(
            spray,
            name=f"clean spray {n}",
            through=(*_present(rows, _SUCTION[1:]), *to_section),
            needs=(*_FROM_RINSE, *_TO_BOOM, ("boom valve", "spraying")),
            start=Start.RINSE_TANK,
        )
        lines += [spray, clean]
        if recirculating:
            needs = (*_FROM_TANK, *_TO_BOOM, ("boom valve", "circulate"))
            back = (*way, "boom return")
            lines.append(replace(spray, name=f"circulate {n}", through=back, needs=needs, exit=Exit.TANK))
        elif ends_open:
            needs = (*_FROM_TANK, *_TO_BOOM, ("boom valve", "ends open"))
            past = (*way, f"boom end {n}")
            lines.append(replace(spray, name=f"open end {n}", through=past, needs=needs, exit=Exit.OPEN_END))
    return tuple(lines)


def _present(rows: tuple[Circuit, ...], names: tuple[str, ...]) -> tuple[str, ...]:
    """Those of the names the class of machine has."""
    has = {circuit.name for circuit in rows}
    return tuple(name for name in names if name in has)


def _valves(rows: tuple[Circuit, ...], *, ends_open: bool, recirculating: bool) -> tuple[Valve, ...]:
    boom = ("off", "spraying", *(("ends open",) if ends_open else ()), *(("circulate",) if recirculating else ()))
    load = _present(rows, ("load line",))
    wash = (Valve("wash-down valve", ("shut", "open")),) if _present(rows, ("wash-down line",)) else ()
    return (
        Valve("suction valve", ("tank", "rinse tank")),
        Valve("pressure valve", ("boom", "eductor", *load)),
        Valve("return valve", ("agitation", "bypass only")),
        Valve("boom valve", boom),
        *wash,
    )
