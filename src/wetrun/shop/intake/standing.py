"""Which customers were asked and how far their answers are: one query, however many machines."""

from __future__ import annotations

from collections.abc import Iterable

from wetrun.shop.intake.models import Intake


def waiting_intakes(machines: Iterable[int]) -> dict[int, Intake]:
    """Return the latest intake of each machine that is neither settled nor put away.

    Parameters
    ----------
    machines : iterable of int
        Keys of machines.

    Returns
    -------
    dict of int to Intake
        By key of the machine, without what was typed; machines without one are left out.
    """
    found = Intake.objects.filter(machine__in=list(machines), settled_at=None, put_away_at=None)
    return {one.machine_id: one for one in found.defer("document", "decisions", "remarks").order_by("pk")}
