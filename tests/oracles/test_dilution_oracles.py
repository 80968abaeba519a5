"""Dilution against an independent integration in time, and the exponential against another library's."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import expm
from tests.changeover_cases import FLOW_M3S, random_network

from wetrun.changeover.dilution import dilution
from wetrun.changeover.network import DRAIN, loaded_state
from wetrun.changeover.propagator import exponential
from wetrun.changeover.steps import AddWater, Circulate, Drain, RinseOn, SprayOut
from wetrun.machine.circuits import Exit, Start, open_lines


@pytest.mark.parametrize("seed", range(20))
def test_the_exponential_is_that_of_scipy(seed):
    rng = np.random.default_rng(seed)
    rates = rng.random((12, 12)) * (rng.random((12, 12)) < 0.3) * 10.0 ** rng.uniform(-3, 2)
    np.fill_diagonal(rates, 0.0)
    rates -= np.diag(rates.sum(axis=0))
    ours = exponential(rates)
    assert ours.min() >= 0.0
    np.testing.assert_allclose(ours, expm(rates), atol=1e-12)


class PlainMachine:
    """A second way, written for nothing but to be plain: full lines, cell by cell, integrated by an ODE solver."""

    def __init__(self, network):
        self.network = network
        self.layout = network.layout

    def flows(self, setting, out_m3s, clean_m3s):
        """(from, to, flow) with names of cells; None is clean water."""
        lines = [line for line in open_lines(self.layout, setting) if line.start is Start.TANK]
        out = [line for line in lines if line.exit is not Exit.TANK and out_m3s > 0.0]
        back = [line for line in lines if line.exit is Exit.TANK]
        left = self.layout.pump_m3s - (out_m3s if out else 0.0)
        found = [(None, self.network.tank, clean_m3s)] if clean_m3s else []
        for group, total in ((out, out_m3s), (back, left)):
            weight = sum(line.share_ratio for line in group)
            for line in group:
                q = total * line.share_ratio / weight
                at = self.network.tank
                last = self.network.cells[line.through[-1]]
                for name in line.through:
                    for cell in self.network.cells[name]:
                        found.append((at, cell, q))
                        at = cell
                        if line.exit is Exit.TIPS and cell in last:
                            found.append(
                                (cell, self.network.exits[name], total * line.share_ratio / weight / len(last))
                            )
                            q -= total * line.share_ratio / weight / len(last)
                if line.exit is Exit.TANK:
                    found.append((at, self.network.tank, q))
                if line.exit is Exit.OPEN_END:
                    found.append((at, self.network.exits[line.through[-1]], q))
        return found

    def integrate(self, volumes, old, seconds, setting, *, out_m3s=0.0, clean_m3s=0.0):
        flows = self.flows(setting, out_m3s, clean_m3s)
        touched = {a for a, _, _ in flows if a is not None}
        falls = (out_m3s if any(b in self.network.exits.values() for _, b, _ in flows) else 0.0) - clean_m3s
        dead = []
        for circuit in self.layout.circuits:
            own = [cell for cell in self.network.cells[circuit.name] if cell in touched]
            if circuit.name in self.network.dead:
                apart, k = self.network.dead[circuit.name], circuit.dead_m3 / circuit.cells / circuit.exchange_s
                dead += [(cell, apart, k) for cell in own]
            if circuit.beside and not touched.intersection(self.network.cells[circuit.name]):
                neighbour = self.network.cells[circuit.beside][-1]
                if neighbour in touched:
                    ends = self.network.cells[circuit.name]
                    dead += [(neighbour, cell, volumes[cell] / circuit.exchange_s) for cell in ends]

        def change(t, m):
            held = volumes.copy()
            held[self.network.tank] -= falls * t
            c = np.divide(m, held, out=np.zeros_like(m), where=held > 0.0)
            d = np.zeros_like(m)
            for a, b, q in flows:
                if a is not None:
                    d[a] -= q * c[a]
                    d[b] += q * c[a]
            for a, b, k in dead:
                d[a] -= k * (c[a] - c[b])
                d[b] += k * (c[a] - c[b])
            return d

        found = solve_ivp(change, (0.0, seconds), old, method="LSODA", rtol=1e-10, atol=1e-15)
        assert found.success
        return found.y[:, -1]


@pytest.mark.parametrize("seed", range(25))
def test_circulating_spraying_and_rinsing_on_agree_with_an_ode_solver(seed):
    rng = np.random.default_rng(1000 + seed)
    network = random_network(seed)
    layout, plain = network.layout, PlainMachine(network)
    start = loaded_state(network, tank_m3=rng.uniform(0.1, 0.3))
    old = start.old_m3 * rng.random(len(start.old_m3))
    state = type(start)(start.volumes_m3, old)
    eductor = layout.setting({"eductor valve": "open"})
    ends = any(line.exit is Exit.OPEN_END for line in layout.lines)
    spray = layout.setting({"boom valve": "ends" if ends and rng.random() < 0.5 else "spraying"})

    seconds = rng.uniform(5.0, 60.0)
    after = dilution(network, state, [Circulate(eductor, seconds)]).end
    np.testing.assert_allclose(after.old_m3, plain.integrate(state.volumes_m3, old, seconds, eductor), atol=2e-9)

    keep_m3 = max(0.3 * state.volumes_m3[network.tank], 1.01 * network.floor_m3[network.tank])
    seconds = (state.volumes_m3[network.tank] - keep_m3) / FLOW_M3S
    after = dilution(network, state, [SprayOut(spray, FLOW_M3S, keep_m3)]).end
    slow = plain.integrate(state.volumes_m3, old, seconds, spray, out_m3s=FLOW_M3S)
    np.testing.assert_allclose(after.old_m3, slow, atol=2e-9)

    after = dilution(network, state, [RinseOn(spray, FLOW_M3S, 0.1)]).end
    slow = plain.integrate(state.volumes_m3, old, 0.1 / FLOW_M3S, spray, out_m3s=FLOW_M3S, clean_m3s=FLOW_M3S)
    np.testing.assert_allclose(after.old_m3, slow, atol=2e-9)


def test_filling_a_drained_line_then_mixing_gives_the_mean_of_all_that_is_swept():
    # By hand: what was left in tank, pump and lines, over all the liquid, when nothing is dead.
    network = next(found for found in map(random_network, range(100)) if not found.dead)
    layout = network.layout
    setting = layout.setting({"eductor valve": "open"})
    done = dilution(network, loaded_state(network), [Drain(), AddWater(0.2), Circulate(setting, 3600.0)])
    names = ("tank", "pump", "agitation line", "eductor")
    cells = [cell for name in names for cell in network.cells[name]]
    drained = done.steps[0].state
    mean = drained.old_m3[cells].sum() / (drained.volumes_m3[cells].sum() + 0.2)
    for name in names:
        assert done.steps[-1].concentrations_frac[name] == pytest.approx(mean, rel=1e-9)
    assert done.steps[0].old_m3[f"out of {DRAIN}"] > 0.0
