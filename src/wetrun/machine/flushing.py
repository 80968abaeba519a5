"""Which circuits the valves can flush at all, and the fewest valve settings that flush every one of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations, product

from wetrun.errors import NotDefined
from wetrun.machine.circuits import Circuit, Exit, Layout, Line, Setting, Start, open_lines


class Unflushed(StrEnum):
    """Why no flow sweeps a circuit."""

    NO_LINE = "no valve position reaches it"
    DEAD_END = "it is a dead end: it only exchanges slowly with what flows past"
    OTHER_LIQUID = "no valve position reaches it, and it holds another liquid than the tank mix"


@dataclass(frozen=True, slots=True)
class NeverRinsed:
    """A circuit that no valve position flushes.

    Attributes
    ----------
    circuit : str
        Its name.
    why : Unflushed
        What is missing.
    """

    circuit: str
    why: Unflushed

    def __str__(self) -> str:
        remedy = {
            Unflushed.NO_LINE: "Drain and flush it by hand, or enter the valve that opens it.",
            Unflushed.DEAD_END: "Take its cap off and flush it, or drain it by hand.",
            Unflushed.OTHER_LIQUID: "Flush it by its own steps.",
        }[self.why]
        return f"{self.circuit} is never rinsed: {self.why}. {remedy}"


@dataclass(frozen=True, slots=True)
class FlushSetting:
    """One setting of the valves in a full rinse, and what it flushes.

    Attributes
    ----------
    setting : Setting
        Where every valve stands.
    flushes : tuple of str
        Circuits on its open lines.
    first_flushes : tuple of str
        Those that no earlier setting flushed.
    """

    setting: Setting
    flushes: tuple[str, ...]
    first_flushes: tuple[str, ...]


def never_rinsed(layout: Layout) -> tuple[NeverRinsed, ...]:
    """Return the circuits that no valve position flushes, with the reason.

    Parameters
    ----------
    layout : Layout
        The plumbing.

    Returns
    -------
    tuple of NeverRinsed
        In the order of the layout; the tank is rinsed by filling it.

    Example
    -------
    >>> from wetrun.machine.boom import Boom
    >>> from wetrun.machine.typical_plumbing import typical_layout
    >>> from wetrun.machine.typical_volumes import MachineClass
    >>> boom = Boom(spacing_m=0.5, section_tips=(12, 12))
    >>> layout = typical_layout(MachineClass.MOUNTED, boom, tank_m3=0.6, ends_open=False)
    >>> print(never_rinsed(layout)[0])
    boom end 1 is never rinsed: it is a dead end: it only exchanges slowly with what flows past. Take its cap off and
    flush it, or drain it by hand.
    """
    reached = {name for line in layout.lines for name in line.through} | {layout.tank.name}
    left = (circuit for circuit in layout.circuits if circuit.name not in reached)
    return tuple(NeverRinsed(circuit.name, _why(circuit)) for circuit in left)


def flush_settings(layout: Layout, *, without: tuple[str, ...] = ()) -> tuple[FlushSetting, ...]:
    """Return the fewest settings of the valves that flush every circuit and row of tips the tank can flush.

    Parameters
    ----------
    layout : Layout
        The plumbing.
    without : tuple of str
        Circuits left out: the lines through them stay shut.

    Returns
    -------
    tuple of FlushSetting
        Those that only return to the tank first, then those that spray, then those with open ends; ties go to the
        setting with fewer valves moved from their first position.

    Raises
    ------
    NotDefined
        A circuit left out that every line passes, such as the pump.

    Notes
    -----
    Exact: settings whose flushed circuits lie within another's are left out, then covers are tried by size. A circuit
    only the rinse tank's own lines pass is flushed by adding the water, and is not asked for here.
    """
    found = _worthwhile(layout, without)
    wanted = frozenset().union(*found.values()) if found else frozenset()
    for name in without:
        layout.circuit(name)
    if not wanted:
        raise NotDefined(
            f"a rinse of {layout.name} without {', '.join(without) or 'anything'}",
            reason="no line from the tank is left open",
            remedy="Every path passes it: it cannot be skipped.",
        )
    size = next(n for n in range(1, len(found) + 1) if any(_covers(found, wanted, n)))
    best = min(_covers(found, wanted, size), key=lambda cover: sum(_moved(layout, setting) for setting in cover))
    return _in_order(layout, best, without)


def exits_of(layout: Layout, setting: Setting, *, closed: tuple[str, ...] = ()) -> frozenset[Exit]:
    """Return where the open lines of a setting end.

    Parameters
    ----------
    layout : Layout
        The plumbing.
    setting : Setting
        Where the valves stand.
    closed : tuple of str
        Circuits kept shut by hand.

    Returns
    -------
    frozenset of Exit
        Empty if nothing flows.
    """
    return frozenset(line.exit for line in _from_tank(layout, setting, closed))


def _why(circuit: Circuit) -> Unflushed:
    if circuit.beside is not None:
        return Unflushed.DEAD_END
    return Unflushed.NO_LINE if circuit.holds_mix else Unflushed.OTHER_LIQUID


def _from_tank(layout: Layout, setting: Setting, without: tuple[str, ...]) -> tuple[Line, ...]:
    return tuple(line for line in open_lines(layout, setting, closed=without) if line.start is Start.TANK)


def _swept(lines: Iterable[Line]) -> frozenset[str]:
    """Circuits passed, and rows of tips: open ends rob the tips of pressure, so tips are flushed only by spraying."""
    circuits = {name for line in lines for name in line.through}
    return frozenset(circuits | {f"tips of {line.through[-1]}" for line in lines if line.exit is Exit.TIPS})


def _worthwhile(layout: Layout, without: tuple[str, ...]) -> dict[Setting, frozenset[str]]:
    """Settings by what they flush; one that flushes no more than another, moving as many valves, is left out."""
    every = [Setting(tuple(place)) for place in product(*([(v.name, p) for p in v.positions] for v in layout.valves))]
    every.sort(key=lambda setting: _moved(layout, setting))
    kept: dict[Setting, frozenset[str]] = {}
    for setting in every:
        flushed = _swept(_from_tank(layout, setting, without))
        if flushed and not any(flushed <= other for other in kept.values()):
            kept = {other: names for other, names in kept.items() if not names < flushed}
            kept[setting] = flushed
    return kept


def _covers(
    found: Mapping[Setting, frozenset[str]], wanted: frozenset[str], size: int
) -> Iterator[tuple[Setting, ...]]:
    for cover in combinations(found, size):
        if frozenset().union(*(found[setting] for setting in cover)) == wanted:
            yield cover


def _moved(layout: Layout, setting: Setting) -> int:
    return sum(valve.positions[0] != place for valve, (_, place) in zip(layout.valves, setting.positions, strict=True))


def _in_order(layout: Layout, cover: tuple[Setting, ...], without: tuple[str, ...]) -> tuple[FlushSetting, ...]:
    def place(setting: Setting) -> int:
        ends = exits_of(layout, setting, closed=without)
        return 2 * (Exit.OPEN_END in ends) + (Exit.TIPS in ends)

    done: set[str] = set()
    listed = []
    for setting in sorted(cover, key=place):
        names = {name for line in _from_tank(layout, setting, without) for name in line.through}
        flushes = tuple(circuit.name for circuit in layout.circuits if circuit.name in names)
        listed.append(FlushSetting(setting, flushes, tuple(name for name in flushes if name not in done)))
        done |= names
    return tuple(listed)
