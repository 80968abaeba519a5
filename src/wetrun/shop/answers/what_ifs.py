"""What if one pass were driven, mixed or tipped otherwise: by the plan's own reckoning, while somebody types."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from wetrun.documents.season_file import SeasonFile
from wetrun.errors import InputProblems, NotDefined, Problem, WetrunError
from wetrun.fieldlog.tallied import TalliedLog
from wetrun.papers.lane import lane_svg
from wetrun.papers.lane_data import lane_rows
from wetrun.papers.lane_making import lane_picture
from wetrun.papers.pass_data import pass_data, set_data, window_words
from wetrun.papers.reader import Reader, bracket, percent
from wetrun.planning.evidence import Evidence, evidence_of_logs, evidence_of_stated
from wetrun.planning.judging import Share
from wetrun.planning.passes import Pass
from wetrun.planning.report import pass_notes
from wetrun.planning.season import pass_plan
from wetrun.planning.table import PassTable, pass_table
from wetrun.planning.tip_set import TipSet, tip_sets
from wetrun.planning.window import speed_window
from wetrun.shop.answers.plain import plain
from wetrun.shop.answers.problems import problem_rows
from wetrun.shop.answers.season_logs import passes_of, plain_name, uses_of_logs
from wetrun.shop.answers.seasons import season_file_of
from wetrun.shop.answers.tally import ledger_cache
from wetrun.shop.answers.tip_plans import standing_plan
from wetrun.shop.records.models import Season, TipPlan

SPEEDS: Final = ("slow", "usual", "fast")
CHANGES: Final = ("rate", "carrier", *SPEEDS)
MOST_SETS: Final = 12
"""Sets compared where no plan stands yet."""
MOST_LANES: Final = 3
"""Lanes drawn beside that of the set that is shown."""

Key = tuple[str, bool]


@dataclass(frozen=True, slots=True)
class _Asked:
    """The pass as it is asked about, on its machine."""

    file: SeasonFile
    planned: Pass
    evidence: Evidence

    @property
    def off_below_mps(self) -> float:
        return self.file.season.sprayer.control.off_below_mps or 0.0


def what_if(
    season: Season, pass_name: str, changes: Mapping[str, str], tip: str | None = None, *, reader: Reader
) -> dict[str, Any]:
    """Return what a pass would be like with other numbers or another tip; nothing is kept.

    Parameters
    ----------
    season : Season
        The record.
    pass_name : str
        The pass.
    changes : mapping of str to str
        As typed, by `CHANGES`; what is empty or missing stays as planned.
    tip : str or None
        Ident of the tip to look at; None takes the standing plan's for this pass, else the best of those tried.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        ``problems`` (rows; everything else is missing if there are any), the pass as in the plan's paper
        (``window``, ``ends``, ``held``, ``lost``, ``ladder`` …), ``lane_svg``, ``lane_words``, ``lane_rows``,
        ``refused`` (why the tip cannot be used, in words) and ``sets``: every set compared, the one shown marked.
    """
    plan = standing_plan(season)
    try:
        asked = _asked(season, pass_name, changes, plan)
        sets = _sets(asked, plan, tip)
        return dict(plain({"problems": []} | _answer(asked, sets, _wanted(plan, pass_name, tip), reader)))
    except WetrunError as fault:
        return {"problems": [_of_this_pass(row) for row in problem_rows(fault, reader.system)]}


def _asked(season: Season, pass_name: str, changes: Mapping[str, str], plan: TipPlan | None) -> _Asked:
    changed = copy(season)
    changed.document = season.document | {"pass": [_changed(season, pass_name, changes)]}
    file = season_file_of(changed)
    (planned,) = file.season.passes
    stated = any(changes.get(key, "").strip() for key in SPEEDS)
    logs = () if stated else _kept_logs(season, planned.ident, plan)
    return _Asked(file, planned, _evidence(planned, logs, file))


def _of_this_pass(row: dict[str, str]) -> dict[str, str]:
    """The pass stood alone when it was read: its place in the season is not in the key."""
    return row | {"key": re.sub(r"^pass\[1\]\.([\w.\[\]]+).*", r"\1", row["key"])}


def _changed(season: Season, pass_name: str, changes: Mapping[str, str]) -> dict[str, Any]:
    """The pass as typed with the changes in it, and without what needs the other passes."""
    passes = passes_of(season)
    found = next((one for one in passes if plain_name(one) == pass_name), None)
    if found is None:
        remedy = f"It has: {', '.join(plain_name(one) for one in passes)}."
        raise InputProblems([Problem("season.toml", "pass", pass_name, "the season has no such pass", remedy)])
    typed = {key: value for key, value in found.items() if key != "after"}
    given = {key: changes[key].strip() for key in CHANGES if changes.get(key, "").strip()}
    speeds = {key: given.pop(key) for key in SPEEDS if key in given}
    if speeds:
        before = typed.get("speeds")
        typed["speeds"] = (before if isinstance(before, dict) else {}) | speeds
    return typed | given


def _kept_logs(season: Season, ident: str, plan: TipPlan | None) -> tuple[TalliedLog, ...]:
    """What is kept of the pass's logs; those not read yet are not waited for."""
    known = {} if plan is None else plan.inputs.get("ledgers", {})
    cache = ledger_cache()
    found: list[TalliedLog] = []
    for use in uses_of_logs(season):
        if use.pass_name == ident and use.log is not None:
            key = known.get(str(use.log.pk)) or use.log.ledger_key
            entry, _ = cache.found(key) if key else (None, "")
            found += [] if entry is None else entry.told_as(use.log.name).logs
    return tuple(found)


def _evidence(planned: Pass, logs: Sequence[TalliedLog], file: SeasonFile) -> Evidence:
    if logs:
        return evidence_of_logs(logs)
    if planned.speeds is not None:
        return evidence_of_stated(planned.speeds, file.season.sprayer.boom.width_m)
    limit = "no speeds are stated, and no log of it has been read yet"
    remedy = "Type slow, usual and fast speed here, or make the tip plan first."
    raise InputProblems([Problem("season.toml", f"pass {planned.ident}", "", limit, remedy)])


def _wanted(plan: TipPlan | None, pass_name: str, tip: str | None) -> Key | str | None:
    if tip:
        return tip
    kept = None if plan is None else plan.inputs.get("sets", {}).get(pass_name)
    return None if kept is None else (str(kept[0]), bool(kept[1]))


def _sets(asked: _Asked, plan: TipPlan | None, tip: str | None) -> tuple[TipSet, ...]:
    """The standing plan's sets, those owned, and the tip asked for."""
    sprayer = asked.file.season.sprayer
    known = tip_sets(sprayer, asked.file.catalogue, odd_positions=asked.planned.odd_positions)
    if tip and all(one.tip.ident != tip for one in known):
        remedy = "Choose one from the shop's tip file."
        raise NotDefined(f"tip {tip!r}", reason="there is no such tip", remedy=remedy)
    kept = {tuple(key) for key in ({} if plan is None else plan.inputs.get("sets", {})).values() if key}
    if not kept:
        return known
    return tuple(one for one in known if one.key in kept or one.owned or one.tip.ident == tip)


def _answer(asked: _Asked, sets: Sequence[TipSet], wanted: Key | str | None, reader: Reader) -> dict[str, Any]:
    sprayer = asked.file.season.sprayer
    table = pass_table(asked.planned, sprayer, sets, asked.evidence)
    number = _number(table, wanted)
    one = pass_plan(table, number, asked.off_below_mps)
    others = _shown_beside(table, number)
    picture = lane_picture(one, [table.trials[at] for at in (number, *others[:MOST_LANES])], reader)
    reason = table.refused[number]
    return {
        **pass_data(one, pass_notes(one, table, sprayer), sprayer, reader),
        "usual": reader.speed(asked.evidence.usual_mps),
        "from_log": list(asked.evidence.names),
        "refused": "" if reason is None else reason.value,
        "lane_svg": lane_svg(picture),
        "lane_words": picture.title,
        "lane_rows": [list(row) for row in lane_rows(picture)],
        "sets": [
            {**_set_row(table, number, one.held, reader), "chosen": True},
            *({**_set_row(table, at, _held(table, at), reader), "chosen": False} for at in others),
        ],
    }


def _number(table: PassTable, wanted: Key | str | None) -> int:
    """The set to look at: the one asked for, an owned one of that tip first; else the one that holds most."""
    fitting = [at for at, trial in enumerate(table.trials) if wanted in {trial.tip_set.key, trial.tip_set.tip.ident}]
    if fitting:
        return fitting[0]
    return int(np.argmax(table.lower_frac))


def _shown_beside(table: PassTable, number: int) -> tuple[int, ...]:
    usable = [at for at, refused in enumerate(table.refused) if refused is None and at != number]
    return tuple(sorted(usable, key=lambda at: -float(table.lower_frac[at]))[: MOST_SETS - 1])


def _held(table: PassTable, at: int) -> Share:
    return Share(float(table.lower_frac[at]), float(table.upper_frac[at]))


def _set_row(table: PassTable, at: int, held: Share, reader: Reader) -> dict[str, Any]:
    trial, rate_m3pm2, refused = table.trials[at], float(table.rates_m3pm2[at]), table.refused[at]
    return {
        **set_data(trial.tip_set),
        "refused": "" if refused is None else refused.value,
        "rate": reader.rate(rate_m3pm2),
        "window": window_words(speed_window(trial, rate_m3pm2), reader),
        "held": percent(held.lower_frac),
        "held_bracket": bracket(held),
    }
