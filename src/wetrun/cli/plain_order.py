"""The order of passes as plain data for `--json`: every change with what calls for it, and a better order."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from wetrun.planning.changeovers_needed import Changeover
from wetrun.planning.pass_order import OrderedPasses, PassOrder
from wetrun.planning.season_result import SetsOption, changes_in_order


def plain_order(order: PassOrder, option: SetsOption) -> dict[str, Any]:
    """Return what a season's order of passes needs, as plain data.

    Parameters
    ----------
    order : PassOrder
        The order and its search.
    option : SetsOption
        The sets proposed.

    Returns
    -------
    dict
        Ready for JSON.
    """
    return {
        "method": order.method,
        "method_number": order.method_number,
        "outlook": order.outlook,
        "as_planned": _ordered(order.written, option),
        "better": None if order.better is None else _ordered(order.better, option),
        "exchanged": [list(pair) for pair in order.exchanged],
    }


def _ordered(ordered: OrderedPasses, option: SetsOption) -> dict[str, Any]:
    idents = [one.ident for one in ordered.passes]
    return {
        "passes": idents,
        "clean_outs": ordered.needed,
        "clean_outs_if_doubts_are_risky": ordered.most,
        "set_changes": changes_in_order(option, idents),
        "earliest_starts": [start.isoformat() for start in ordered.starts],
        "begins_too_late": None if ordered.late is None else ordered.late.ident,
        "changes": [_change(change) for change in ordered.changeovers],
    }


def _change(change: Changeover) -> dict[str, Any]:
    return {
        "from": change.earlier.ident,
        "to": change.later.ident,
        "crop": change.later.crop,
        "need": change.need,
        "same_mix": change.repeat,
        "residues": [asdict(residue) for residue in change.residues],
        "inside": list(change.inside),
    }
