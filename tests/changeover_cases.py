"""Machines the tests of a changeover share: by hand, and at random."""

from __future__ import annotations

import numpy as np

from wetrun.changeover.network import Network, network_of
from wetrun.changeover.next_crop import NextLoad, usual_next_load
from wetrun.machine.circuits import Circuit, CircuitKind, Exit, Layout, Line, Start, Valve

FLOW_M3S = 0.002


def tank(residue_m3: float = 0.02, volume_m3: float = 2.0) -> Circuit:
    return Circuit(name="tank", kind=CircuitKind.TANK, volume_m3=volume_m3, residue_m3=residue_m3)


def one_volume_layout(residue_m3: float = 0.02, pipe_m3: float = 1e-7) -> Layout:
    """A tank with next to nothing behind it: what is left is R / (R + V)."""
    pipe = Circuit(name="section 1", kind=CircuitKind.SECTION, volume_m3=pipe_m3, residue_m3=pipe_m3)
    line = Line(name="spray", through=("section 1",), needs=(("boom valve", "on"),), exit=Exit.TIPS)
    return Layout(
        name="drum",
        circuits=(tank(residue_m3), pipe),
        lines=(line,),
        valves=(Valve("boom valve", ("off", "on")),),
        pump_m3s=0.005,
        rinse_tank_m3=0.2,
    )


def random_layout(seed: int) -> Layout:
    """A small machine at random: pump, returns, a dead share, one to three sections, perhaps ends that open."""
    rng = np.random.default_rng(seed)

    def circuit(name: str, kind: CircuitKind, *, big: float, drains: bool = True, **more: object) -> Circuit:
        volume = rng.uniform(0.2, 1.0) * big
        dead = float(rng.choice([0.0, 0.0, 0.2]))
        residue = volume * rng.uniform(max(dead, 0.05), 0.6) if drains else volume
        time_s = rng.uniform(50.0, 600.0)
        return Circuit(
            name=name,
            kind=kind,
            volume_m3=volume,
            residue_m3=max(residue, dead * volume),
            dead_frac=dead,
            exchange_s=time_s,
            **more,  # type: ignore[arg-type]
        )

    sections = int(rng.integers(1, 4))
    ends_open = rng.random() < 0.5
    circuits = [
        tank(rng.uniform(0.005, 0.03)),
        circuit("pump", CircuitKind.PUMP, big=0.01),
        circuit("agitation line", CircuitKind.AGITATION, big=0.008),
        circuit("eductor", CircuitKind.EDUCTOR, big=0.01),
        circuit("boom feed", CircuitKind.BOOM_FEED, big=0.01),
    ]
    lines = [
        Line(name="agitation", through=("pump", "agitation line"), needs=()),
        Line(name="eductor", through=("pump", "eductor"), needs=(("eductor valve", "open"),), share_ratio=2.0),
    ]
    for n in range(1, sections + 1):
        cells, drains = int(rng.choice([1, 1, 3])), rng.random() < 0.3
        section = circuit(f"section {n}", CircuitKind.SECTION, big=0.02, drains=drains, cells=cells)
        end = circuit(f"end {n}", CircuitKind.BOOM_END, big=0.001, drains=False, beside=f"section {n}")
        circuits += [section, end]
        way = ("pump", "boom feed", f"section {n}")
        spraying = (("boom valve", "spraying"),)
        lines.append(Line(name=f"spray {n}", through=way, needs=spraying, exit=Exit.TIPS, share_ratio=float(n)))
        clean = (("boom valve", "clean"),)
        lines.append(Line(name=f"clean {n}", through=way[1:], needs=clean, exit=Exit.TIPS, start=Start.RINSE_TANK))
        if ends_open:
            ends = (("boom valve", "ends"),)
            lines.append(Line(name=f"end {n}", through=(*way, f"end {n}"), needs=ends, exit=Exit.OPEN_END))
    return Layout(
        name=f"machine {seed}",
        circuits=tuple(circuits),
        lines=tuple(lines),
        valves=(Valve("eductor valve", ("shut", "open")), Valve("boom valve", ("off", "spraying", "clean", "ends"))),
        pump_m3s=0.006,
        rinse_tank_m3=0.3,
    )


def next_load(network: Network, volume_m3: float = 1.0) -> NextLoad:
    return usual_next_load(network, volume_m3, rate_m3pm2=1.4e-5, out_m3s=FLOW_M3S, old_rate_m3pm2=1.4e-5)


def random_network(seed: int) -> Network:
    return network_of(random_layout(seed))
