"""The page docs/proof/crosscheck.md, made from the cells of the simulation."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from wetrun.proving.crosscheck import alarm_shares
from wetrun.proving.gross_error import ALARM_FRAC

if TYPE_CHECKING:
    from proof.crosscheck_power import Cell

HEAD = """# Cross-check: power, computed and simulated

Written by `python -m proof.crosscheck_power` (seeded); do not edit by hand. Noise, machine, sets and faults:
[crosscheck-noise.md](crosscheck-noise.md). In each cell the share that the program expects of itself stands before the
slash and the share of the simulated runs after it, in per cent.
"""

METHOD = """
## How the limits and the expected power are worked out

* Readings are reconciled in logarithms: weighted least squares under the balances of the machine, unmeasured quantities
  projected out, shared causes as covariances. Sums of sections and the loss of the hoses are taken as tangents.
* The alarm is the global statistic against `ν m / (ν − m + 1) · F(m, ν − m + 1)`, with `ν = (m + m²) / Σ 2 h² / ν_c`
  over the causes of error (`h`: share of the cause in the whitened residuals), or the identity check of the monitor.
* The first name is the suspect with the greatest likelihood ratio; if what it leaves is still beyond its limit, the
  best pair. Suspects with parallel imprints are one group, pairs that span the same plane are named together.
* Expected power: the noise-free residuals of the fault plus evenly spread errors (16,384 Sobol points over the errors
  of all causes and the estimates of their variances) with their second order, judged by the same lines as a wet run.
  The simulation shares only those lines: it runs the machine forward along its curves, rounds the screen, and
  estimates each variance from its own draws.
* Wrong density and wrong number of tips in the monitor leave no imprint in a water run under flow feedback: the cross-
  check lists them as *not seen*, and they are not in the table. In the minimal set the same holds for a wrong width.
"""


def page_of(cells: Sequence[Cell]) -> str:
    """Return the page."""
    honest = [cell for cell in cells if cell.case.words == "nothing wrong"]
    faulty = [cell for cell in cells if cell.case.words != "nothing wrong"]
    return "\n".join([HEAD, *_alarms(honest), *_power(faulty), METHOD, *_agreement(cells)]) + "\n"


def _alarms(cells: Iterable[Cell]) -> list[str]:
    rows = [
        "## False alarms",
        "",
        "| set | noise | runs | nominal | expected / simulated | ± |",
        "|---|---|---|---|---|---|",
    ]
    for cell in cells:
        share = cell.share("detected")
        doubt = 2.0 * (share * (1.0 - share) / cell.runs) ** 0.5
        nominal = _nominal(cell)
        both = f"{cell.expected.detected_frac:.2%} / {share:.2%}"
        rows.append(f"| {cell.reading_set} | {cell.level} | {cell.runs} | {nominal} | {both} | {doubt:.2%} |")
    return [*rows, ""]


def _nominal(cell: Cell) -> str:
    """With a screen the identity's share is an upper bound: its last digits are taken at their worst."""
    whole, own = alarm_shares(ALARM_FRAC, screen=cell.reading_set != "minimal")
    return f"{whole:.2%}" if not own else f"{whole:.2%} to {ALARM_FRAC:.2%}"


def _power(cells: Sequence[Cell]) -> list[str]:
    rows = [
        "## Faults",
        "",
        f"{max(cell.runs for cell in cells)} runs per cell.",
        "",
        "| set | noise | fault | detected | named first | in a tied group | wrongly named | tied with |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for cell in cells:
        pairs = (
            (cell.expected.detected_frac, "detected"),
            (cell.expected.first_frac, "first"),
            (cell.expected.tied_frac, "tied"),
            (cell.expected.wrong_frac, "wrong"),
        )
        shares = " | ".join(f"{100 * expected:.1f} / {100 * cell.share(name):.1f}" for expected, name in pairs)
        ties = [fault.words for fault in cell.expected.tied_with]
        shown = ", ".join(ties[:3]) + (f" and {len(ties) - 3} more" if len(ties) > 3 else "")
        rows.append(f"| {cell.reading_set} | {cell.level} | {cell.case.words} | {shares} | {shown or '–'} |")
    return rows


def _agreement(cells: Sequence[Cell]) -> list[str]:
    widest = max(cells, key=lambda cell: cell.widest)
    owed = [c for c in cells if c.expected.first_frac >= 0.95]
    least = min((c.share("first") for c in owed), default=1.0)
    where = f"{widest.reading_set}, {widest.level}, {widest.case.words}"
    return [
        "## Agreement",
        "",
        f"* Greatest difference of expected and simulated: {100 * widest.widest:.2f} points ({where}).",
        f"* Cells that expect 95 % or more named first: {len(owed)}; least simulated share: {least:.1%}.",
    ]
