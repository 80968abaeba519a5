"""Flow in a tree of pipes that ends in tips: every tip's pressure and flow at once.

The tree is a table: which tips lie behind which stretch. A stretch costs its friction and `c·q²`; a tip takes what
its law and its body ask. The flows at which every path uses up the pressure at the root are found by Newton's method
with a step that is halved until it helps; there is one answer, because no loss falls as its flow rises.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final, TypeAlias

import numpy as np
import numpy.typing as npt

from wetrun.errors import NotProven
from wetrun.spray.bounds import FloatArray
from wetrun.spray.carrier import REFERENCE_WATER_KGPM3
from wetrun.spray.friction import Pipe, loss_exponent, pipe_loss_pa, reynolds_number
from wetrun.spray.line_liquid import LineLiquid
from wetrun.spray.orifice import FlowLaw, OrificeLaw
from wetrun.units import CUBIC_METRE_PER_SECOND, LOSS_COEFFICIENT, METRE, PASCAL, M3s, Pa, Paps2m6

IndexArray: TypeAlias = npt.NDArray[np.intp]
Flows = Annotated[FloatArray, CUBIC_METRE_PER_SECOND]
Pressures = Annotated[FloatArray, PASCAL]

SOLVED_TO: Final = 1e-10
"""Share of the pressure at the root that no path may miss it by."""
_STEPS: Final = 200
_HALVINGS: Final = 40
_STILL_M3S: Final[M3s] = 1e-15
_SLOPE_STEP: Final = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class PipeTree:
    """A tree of stretches of pipe, and the tips it ends in.

    Attributes
    ----------
    reach : ndarray
        1 where a tip lies behind a stretch, else 0; shape (stretches, tips).
    lengths_m : ndarray
        Length of straight pipe of each stretch [m], shape (stretches,).
    coefs_paps2m6 : ndarray
        Loss of each stretch per flow squared, on water at 20 °C [Pa s2/m6], shape (stretches,).
    passing_m3s : ndarray
        Flow through each stretch that reaches no tip [m3/s], shape (stretches,).
    pipes : tuple
        Pipes, each with the stretches made of it.
    laws : tuple
        Laws of the tips, each with the tips that follow it.
    body_paps2m6 : float
        Loss of one nozzle body per tip flow squared, on water at 20 °C [Pa s2/m6].
    """

    reach: FloatArray
    lengths_m: Annotated[FloatArray, METRE]
    coefs_paps2m6: Annotated[FloatArray, LOSS_COEFFICIENT]
    passing_m3s: Flows
    pipes: tuple[tuple[Pipe, IndexArray], ...]
    laws: tuple[tuple[FlowLaw, IndexArray], ...]
    body_paps2m6: Paps2m6 = 0.0


def stretch_losses_pa(tree: PipeTree, flows_m3s: Flows, liquid: LineLiquid) -> Pressures:
    """Return what each stretch loses.

    Parameters
    ----------
    tree : PipeTree
        Stretches and tips.
    flows_m3s : ndarray
        Flow of each tip [m3/s], shape (tips,).
    liquid : LineLiquid
        Density and viscosity.

    Returns
    -------
    ndarray
        Pressure lost in each stretch [Pa], shape (stretches,).

    References
    ----------
    darcy-weisbach, minor-loss-quadratic
    """
    through = tree.reach @ flows_m3s + tree.passing_m3s
    losses = tree.coefs_paps2m6 * through**2 * (liquid.density_kgpm3 / REFERENCE_WATER_KGPM3)
    for pipe, made in tree.pipes:
        losses[made] += pipe_loss_pa(through[made], tree.lengths_m[made], pipe, liquid)
    return losses


def asked_pa(tree: PipeTree, flows_m3s: Flows, liquid: LineLiquid) -> Pressures:
    """Return the pressure each tip asks for its flow, in front of its nozzle body.

    Parameters
    ----------
    tree : PipeTree
        Stretches and tips.
    flows_m3s : ndarray
        Flow of each tip [m3/s], shape (tips,).
    liquid : LineLiquid
        Density; the laws of tips do not see viscosity.

    Returns
    -------
    ndarray
        Pressure in the line at each tip [Pa], shape (tips,).

    Notes
    -----
    Beyond the rows of a tip known by rows, the square-root law goes on from the last row.

    References
    ----------
    orifice-law, minor-loss-quadratic
    """
    asked = tree.body_paps2m6 * flows_m3s**2 * (liquid.density_kgpm3 / REFERENCE_WATER_KGPM3)
    for law, following in tree.laws:
        asked[following] += tip_pressures_pa(law, flows_m3s[following], liquid)
    return asked


def tip_pressures_pa(law: FlowLaw, flows_m3s: Flows, liquid: LineLiquid) -> Pressures:
    """Return the pressures at tips of one law, also a little beyond its rows.

    Parameters
    ----------
    law : FlowLaw
        Square root, or rows.
    flows_m3s : ndarray
        Flow of each tip [m3/s], any shape.
    liquid : LineLiquid
        Its density.

    Returns
    -------
    ndarray
        Pressure at each tip [Pa], the shape of the flows.

    References
    ----------
    orifice-law
    """
    if isinstance(law, OrificeLaw):
        return law.pressure_pa(flows_m3s, liquid.density_kgpm3)
    low, high = row_ends_m3s(law, liquid)
    inside = np.clip(flows_m3s, low, high)
    return law.pressure_pa(inside, liquid.density_kgpm3) * (flows_m3s / inside) ** 2


def row_ends_m3s(law: FlowLaw, liquid: LineLiquid) -> tuple[M3s, M3s]:
    """Return the flows between which a law is known.

    Parameters
    ----------
    law : FlowLaw
        Square root, or rows.
    liquid : LineLiquid
        Its density.

    Returns
    -------
    tuple of float
        Least and greatest flow [m3/s]; from nothing to infinity for the square-root law.

    References
    ----------
    orifice-law
    """
    if isinstance(law, OrificeLaw):
        return 0.0, float("inf")
    low, high = (law.flow_m3s(end, liquid.density_kgpm3) for end in (law.pressures_pa[0], law.pressures_pa[-1]))
    return low, high


def solved_flows_m3s(tree: PipeTree, root_pa: Pa, liquid: LineLiquid, *, start_m3s: Flows | None = None) -> Flows:
    """Return the flow of every tip at a pressure at the root of the tree.

    Parameters
    ----------
    tree : PipeTree
        Stretches and tips.
    root_pa : float
        Pressure at the root [Pa], above what the passing flow alone loses.
    liquid : LineLiquid
        Density and viscosity.
    start_m3s : ndarray or None
        Flows near the answer [m3/s], shape (tips,), above zero; they save steps.

    Returns
    -------
    ndarray
        Flow of each tip [m3/s], shape (tips,): along every path the losses add up to the root's pressure within
        1e-10 of it.

    Raises
    ------
    NotProven
        If the steps do not get there.

    References
    ----------
    darcy-weisbach, minor-loss-quadratic, orifice-law

    Example
    -------
    >>> import numpy as np
    >>> from wetrun.spray.line_liquid import WATER_IN_LINE
    >>> none = np.zeros(1)
    >>> tip = (OrificeLaw(1e-7, "doctest"), np.array([0]))
    >>> tree = PipeTree(np.ones((1, 1)), none, np.array([3e14]), none, (), (tip,))  # the tip itself costs 1e14 q²
    >>> round(float(solved_flows_m3s(tree, 4e5, WATER_IN_LINE)[0]) * 1e5, 6)
    3.162278
    """
    flows = _start_m3s(tree, root_pa, liquid) if start_m3s is None else start_m3s
    missed = _missed_pa(tree, flows, root_pa, liquid)
    for _ in range(_STEPS):
        if np.max(np.abs(missed)) <= SOLVED_TO * root_pa:
            return flows
        step = np.asarray(np.linalg.solve(_slopes(tree, flows, liquid), missed), dtype=np.float64)
        flows, missed = _stepped(tree, (flows, missed, step), root_pa, liquid)
    raise NotProven(
        f"flow along the boom: after {_STEPS} steps a path still misses its pressure by "
        f"{float(np.max(np.abs(missed)))} Pa. Check the bore and the loss coefficients for a slip of unit."
    )


def _start_m3s(tree: PipeTree, root_pa: Pa, liquid: LineLiquid) -> Flows:
    """Flows that lie on the low side: what each tip would take if its path's losses were all its own, squared."""
    tips = tree.reach.shape[1]
    trial = np.full(tips, 1e-5)
    needed = asked_pa(tree, trial, liquid) + tree.reach.T @ stretch_losses_pa(tree, trial, liquid)
    return trial * np.sqrt(root_pa / needed)


def _missed_pa(tree: PipeTree, flows_m3s: Flows, root_pa: Pa, liquid: LineLiquid) -> Pressures:
    """Pressure left over at each tip; zero at the answer."""
    along = tree.reach.T @ stretch_losses_pa(tree, flows_m3s, liquid)
    return root_pa - along - asked_pa(tree, flows_m3s, liquid)


def _slopes(tree: PipeTree, flows_m3s: Flows, liquid: LineLiquid) -> FloatArray:
    """How the pressure used along each path rises with the flow of each tip: symmetric and positive."""
    through = np.maximum(tree.reach @ flows_m3s + tree.passing_m3s, _STILL_M3S)
    rise = 2.0 * tree.coefs_paps2m6 * through * (liquid.density_kgpm3 / REFERENCE_WATER_KGPM3)
    for pipe, made in tree.pipes:
        lost = pipe_loss_pa(through[made], tree.lengths_m[made], pipe, liquid)
        exponent = loss_exponent(reynolds_number(through[made], pipe, liquid), pipe.roughness_ratio)
        rise[made] += exponent * lost / through[made]
    nudge = flows_m3s * _SLOPE_STEP
    own = (asked_pa(tree, flows_m3s + nudge, liquid) - asked_pa(tree, flows_m3s, liquid)) / nudge
    slopes: FloatArray = (tree.reach.T * rise) @ tree.reach + np.diag(own)
    return slopes


def _stepped(
    tree: PipeTree, at: tuple[Flows, Pressures, FloatArray], root_pa: Pa, liquid: LineLiquid
) -> tuple[Flows, Pressures]:
    """Take the step, or the largest half, quarter … of it that brings the paths nearer; no flow falls below a tenth."""
    flows, missed, step = at
    tried, left = flows, missed
    for halving in range(_HALVINGS):
        tried = np.maximum(flows + step * 0.5**halving, 0.1 * flows)
        left = _missed_pa(tree, tried, root_pa, liquid)
        if np.sum(left**2) < np.sum(missed**2):
            break
    return tried, left
