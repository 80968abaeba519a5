"""The circuits of a layout as the yard moves through them: one line for each setting of the valves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from wetrun.changeover.yard_job import CircuitFlush
from wetrun.machine.circuits import CircuitKind, Exit, Layout
from wetrun.machine.flushing import FlushSetting, NeverRinsed, exits_of, flush_settings, never_rinsed


def circuit_flushes(layout: Layout) -> tuple[CircuitFlush, ...]:
    """Return the settings of the valves in a full rinse, then what no valve reaches and a hand has to flush.

    Parameters
    ----------
    layout : Layout
        The plumbing.

    Returns
    -------
    tuple of CircuitFlush
        Named after what the setting is for; its words say where every valve stands and what that flushes.

    Raises
    ------
    NotDefined
        No line from the tank.

    Example
    -------
    >>> from wetrun.machine.boom import Boom
    >>> from wetrun.machine.typical_plumbing import typical_layout
    >>> from wetrun.machine.typical_volumes import MachineClass
    >>> boom = Boom(spacing_m=0.5, section_tips=(12, 12))
    >>> layout = typical_layout(MachineClass.TRAILED, boom, tank_m3=2.0)
    >>> [flush.circuit for flush in circuit_flushes(layout)]
    ['eductor', 'load line', 'boom sections', 'boom ends']
    """
    settings = flush_settings(layout)
    names = [_name(layout, entry, settings) for entry in settings]
    flushed = [
        CircuitFlush(circuit=_apart(name, names, at), valves=f"{entry.setting}; flushes {_listed(entry.first_flushes)}")
        for at, (name, entry) in enumerate(zip(names, settings, strict=True))
    ]
    by_kind: dict[tuple[CircuitKind, str], list[NeverRinsed]] = {}
    for each in never_rinsed(layout):
        by_kind.setdefault((layout.circuit(each.circuit).kind, each.why), []).append(each)
    by_hand = [
        CircuitFlush(circuit=_listed([each.circuit for each in alike]), valves=f"{why}; open it and flush it by hand")
        for (_, why), alike in by_kind.items()
    ]
    return (*flushed, *by_hand)


def _name(layout: Layout, entry: FlushSetting, settings: Sequence[FlushSetting]) -> str:
    """What a setting is for: an opening, or the circuit no other setting flushes."""
    ends = exits_of(layout, entry.setting)
    if Exit.OPEN_END in ends:
        return "boom ends"
    if Exit.TIPS in ends:
        return "boom sections"
    others = {name for other in settings if other is not entry for name in other.flushes}
    own = [name for name in entry.flushes if name not in others] or list(entry.flushes)
    return own[-1]


def _apart(name: str, names: Sequence[str], at: int) -> str:
    """A name of its own where two settings are for the same thing."""
    earlier = sum(other == name for other in names[:at])
    return f"{name}, setting {earlier + 1}" if earlier else name


def _listed(names: Iterable[str]) -> str:
    """Names with runs of numbers drawn together: “section 1 to 9”."""
    said = []
    for stem, alike in groupby(names, key=_stem):
        run = list(alike)
        numbers = [name.removeprefix(stem).strip() for name in run]
        said.append(run[0] if len(run) == 1 else f"{stem} {numbers[0]} to {numbers[-1]}")
    return ", ".join(said)


def _stem(name: str) -> str:
    head, _, number = name.rpartition(" ")
    return head if number.isdigit() else name
