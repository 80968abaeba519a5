"""A machine's plumbing as volumes, lines through them, and the valves that open the lines.

A *circuit* is a plumbed volume. A *line* is a directed path of liquid through circuits, from the spray tank or the
clean rinse tank, back to the tank, out of the tips, or out of an open end. A line flows when every valve it needs
stands in the position it needs. Nothing passes a closed valve.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.errors import NotDefined
from wetrun.units import M3, Frac, M3s, Ratio, S


class CircuitKind(StrEnum):
    """What a plumbed volume is."""

    TANK = "tank"
    SUMP = "sump"
    PUMP = "pump"
    AGITATION = "agitation line"
    RETURN = "return line"
    BYPASS = "bypass line"
    EDUCTOR = "eductor"
    EDUCTOR_LINE = "eductor line"
    LOAD_LINE = "load line"
    WASH_DOWN = "wash-down line"
    STRAINER = "strainer"
    VALVE = "valve"
    BOOM_FEED = "boom feed"
    SECTION = "boom section"
    BOOM_END = "boom end"
    CHEMICAL_HOSE = "chemical hose"
    INJECTION = "injection line"
    FOAM_MARKER = "foam marker"
    WINTER_FLUID = "winter-fluid line"


class Start(StrEnum):
    """Where a line draws from."""

    TANK = "spray tank"
    RINSE_TANK = "rinse tank"


class Exit(StrEnum):
    """Where a line ends."""

    TANK = "back to the tank"
    TIPS = "out of the tips"
    OPEN_END = "out of an open end"


TYPICAL: Final = "common-practice-plumbing"
"""Source key of a volume nobody measured or published: said in the trade, to be measured."""
EXCHANGE_S: Final = 300.0
"""Exchange time of a dead volume nobody measured [s]; own choice, see the source own-choice-exchange."""
MEASURED: Final = "user"
"""Source key of a volume the user measured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """One plumbed volume.

    Attributes
    ----------
    name : str
        As the yard calls it; unique on the machine.
    kind : CircuitKind
        What it is.
    volume_m3 : float
        Liquid it holds in work; of a tank, its capacity [m3].
    residue_m3 : float
        Liquid left in it after draining as far as it drains [m3].
    dead_frac : float
        Share of ``volume_m3`` that flow does not sweep: valve bodies, strainer bowls, tees. It does not drain [frac].
    exchange_s : float
        Time in which a dead volume beside a flow falls to 1/e of what it held [s].
    cells : int
        Mixed cells in series along its length; for a section the tips draw evenly from all of them.
    beside : str or None
        The circuit it hangs on as a dead end: they exchange while that one flows, until a line opens through this one.
    holds_mix : bool
        Whether the tank mix stands in it in work; not so in foam marker or winter fluid.
    volume_source, residue_source : str
        Key of the source of each volume; ``user`` if measured.
    """

    name: str
    kind: CircuitKind
    volume_m3: M3
    residue_m3: M3
    dead_frac: Frac = 0.0
    exchange_s: S = EXCHANGE_S
    cells: int = 1
    beside: str | None = None
    holds_mix: bool = True
    volume_source: str = TYPICAL
    residue_source: str = TYPICAL

    @property
    def dead_m3(self) -> M3:
        """Volume that flow does not sweep [m3]."""
        return self.dead_frac * self.volume_m3

    @property
    def measured(self) -> bool:
        """Whether both volumes are the user's own."""
        return self.volume_source == self.residue_source == MEASURED


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A directed path of liquid.

    Attributes
    ----------
    name : str
        Unique on the machine.
    through : tuple of str
        Circuits in the order they are passed, the tank itself left out.
    needs : tuple of (valve, position)
        Where valves must stand for it to flow; empty if it always flows.
    exit : Exit
        Where it ends.
    start : Start
        Where it draws from.
    share_ratio : float
        Its weight among open lines that share a flow: tips of a section, or size of a return [ratio].
    """

    name: str
    through: tuple[str, ...]
    needs: tuple[tuple[str, str], ...]
    exit: Exit = Exit.TANK
    start: Start = Start.TANK
    share_ratio: Ratio = 1.0


@dataclass(frozen=True, slots=True)
class Valve:
    """A valve and the positions it can stand in. One that holds liquid is also a circuit on its lines.

    Attributes
    ----------
    name : str
        Unique on the machine.
    positions : tuple of str
        As marked on the valve.
    """

    name: str
    positions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Setting:
    """One position for every valve.

    Attributes
    ----------
    positions : tuple of (valve, position)
        In the order of the machine's valves.
    """

    positions: tuple[tuple[str, str], ...]

    def __str__(self) -> str:
        return ", ".join(f"{valve}: {position}" for valve, position in self.positions)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The plumbing of one machine.

    Attributes
    ----------
    name : str
        What the shop calls it.
    circuits : tuple of Circuit
        Every volume; exactly one tank.
    lines : tuple of Line
        Every path.
    valves : tuple of Valve
        Every valve.
    pump_m3s : float
        Flow of the pump at work [m3/s].
    rinse_tank_m3 : float
        Clean water carried; 0 if there is no rinse tank [m3].
    """

    name: str
    circuits: tuple[Circuit, ...]
    lines: tuple[Line, ...]
    valves: tuple[Valve, ...]
    pump_m3s: M3s
    rinse_tank_m3: M3 = 0.0

    @property
    def tank(self) -> Circuit:
        """The spray tank."""
        return next(circuit for circuit in self.circuits if circuit.kind is CircuitKind.TANK)

    @property
    def sections(self) -> tuple[Circuit, ...]:
        """Boom sections, left to right."""
        return tuple(circuit for circuit in self.circuits if circuit.kind is CircuitKind.SECTION)

    def circuit(self, name: str) -> Circuit:
        """Return the circuit of a name.

        Raises
        ------
        NotDefined
            No circuit is called so.
        """
        for circuit in self.circuits:
            if circuit.name == name:
                return circuit
        known = ", ".join(circuit.name for circuit in self.circuits)
        raise NotDefined(f"circuit “{name}”", reason=f"{self.name} has none of that name", remedy=f"It has: {known}")

    def setting(self, positions: Mapping[str, str]) -> Setting:
        """Return a full setting: valves not named stand in their first position.

        Raises
        ------
        NotDefined
            A valve or position the machine has not.
        """
        for valve, position in positions.items():
            _check_position(self, valve, position)
        return Setting(tuple((valve.name, positions.get(valve.name, valve.positions[0])) for valve in self.valves))


def open_lines(layout: Layout, setting: Setting, *, closed: tuple[str, ...] = ()) -> tuple[Line, ...]:
    """Return the lines that flow with the valves so set.

    Parameters
    ----------
    layout : Layout
        The plumbing.
    setting : Setting
        One position for every valve.
    closed : tuple of str
        Circuits kept shut by hand: no line through them flows.

    Returns
    -------
    tuple of Line
        In the order of the layout.

    Example
    -------
    >>> from wetrun.machine.boom import Boom
    >>> from wetrun.machine.typical_plumbing import typical_layout
    >>> from wetrun.machine.typical_volumes import MachineClass
    >>> layout = typical_layout(MachineClass.MOUNTED, Boom(spacing_m=0.5, section_tips=(12, 12)), tank_m3=0.6)
    >>> [line.name for line in open_lines(layout, layout.setting({"boom valve": "off"}))]
    ['agitation', 'bypass']
    """
    stands = set(setting.positions)
    shut = set(closed)
    return tuple(line for line in layout.lines if stands.issuperset(line.needs) and shut.isdisjoint(line.through))


def _check_position(layout: Layout, valve: str, position: str) -> None:
    """Refuse a valve or position the machine has not."""
    found = next((known for known in layout.valves if known.name == valve), None)
    if found is None:
        names = ", ".join(known.name for known in layout.valves)
        raise NotDefined(f"valve “{valve}”", reason=f"{layout.name} has none of that name", remedy=f"It has: {names}")
    if position not in found.positions:
        raise NotDefined(
            f"position “{position}” of {valve}",
            reason="the valve has no such position",
            remedy=f"It has: {', '.join(found.positions)}",
        )
