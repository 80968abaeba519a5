"""The exact replay and the fit of a machine's lag as plain data, SI inside."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from wetrun.cli.exact_answer import WrittenMap
from wetrun.fieldlog.lag_fit import LagFinding
from wetrun.fieldlog.section_tally import ERROR_EDGES
from wetrun.planning.exact_answer import ExactAnswer, doubts_of
from wetrun.spray.response import Response


def plain_fit(finding: LagFinding | None) -> dict[str, Any] | None:
    """Return the fit of a machine's lag."""
    if finding is None:
        return None
    fit = finding.fit
    return {
        "method": finding.method,
        "method_number": finding.method_number,
        **plain_response(fit.response),
        "bias_ratio": fit.bias_ratio,
        "floor_m2ps": fit.span.floor_m2ps,
        "ceiling_m2ps": fit.span.ceiling_m2ps,
        "lag_95": asdict(fit.lag_ends),
        "delay_95": asdict(fit.delay_ends),
        "together_95": asdict(fit.together_ends),
        "bias_95": asdict(fit.bias_ends),
        "halves": [{**plain_response(half.response), "bias_ratio": half.bias_ratio} for half in finding.halves],
        "tolerance_frac": finding.tolerance_frac,
        "unseen_with_lag": [asdict(one) for one in finding.with_lag],
        "unseen_limits_only": [asdict(one) for one in finding.without_lag],
        "unseen_bias_only": [asdict(one) for one in finding.bias_only],
        "helps": finding.helps,
    }


def plain_exact(answer: ExactAnswer, written: WrittenMap | None) -> dict[str, Any]:
    """Return the exact replay, where its map was written, and how much ground is not on it."""
    result, tally = answer.result, answer.tally
    refused = None if written is None else written.refused
    on_disk = None if refused else written
    bands = [f"{band.finest.letters}" if band.decided else band.words for band in answer.setup.bands]
    return {
        "method": result.method,
        "method_number": result.method_number,
        **plain_response(answer.setup.response),
        "lag_from": answer.lag_from,
        "reading": result.mode,
        "total_cm2": tally.total_cm2,
        "within_cm2": tally.within_cm2,
        "tolerance_frac": answer.tolerance_frac,
        "settled_within_frac": answer.settled_frac,
        "lagging_within_frac": answer.lagging_frac,
        "error_edges": list(ERROR_EDGES),
        "error_cm2": tally.error_cm2.tolist(),
        "droplet_bands": [*bands, "below range", "above range", "not known"],
        "droplets_cm2": tally.droplets_cm2.tolist(),
        "over_label_cm2": tally.over_label_cm2,
        "opened_late_cm2": tally.dry_cm2,
        "shut_late_cm2": tally.over_spray_cm2,
        "taken_as_straight_cm2": tally.straight_cm2,
        "turns": answer.setup.turns,
        "turning_alone": [asdict(one) for one in answer.turning],
        "taken_as_settled_cm2": result.taken_as_settled_cm2,
        "left_out_cm2": result.left_out_cm2,
        "repairs": [asdict(one) for one in answer.trace.facts.repairs if one.kind == "clock grain"],
        "worst": [{**asdict(place), "limit": place.limit} for place in answer.places],
        "doubts": list(doubts_of(answer.setup.response)),
        "map": None if on_disk is None else str(on_disk.path),
        "map_left_out_cm2": None if on_disk is None else on_disk.left_out_cm2,
        "map_refused": None if refused is None else str(refused),
    }


def plain_response(response: Response) -> dict[str, Any]:
    """Return a machine's response."""
    return asdict(response)
