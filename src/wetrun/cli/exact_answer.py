"""What `wetrun replay --exact` works out for one log: whose lag, what came of it, where it was worst, and the map."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

import numpy as np

from wetrun.cli.exact_request import ExactRequest
from wetrun.cli.telling import progress_on_stderr
from wetrun.documents.season_file import SeasonFile
from wetrun.errors import CannotWrite, NotDefined
from wetrun.fieldlog.lag_fit import LagFinding, lag_finding
from wetrun.fieldlog.map_cells import map_cells
from wetrun.fieldlog.trace import Trace
from wetrun.planning.exact_answer import ExactAnswer, response_for
from wetrun.spray.response import Response
from wetrun.units import Cm2, Frac

MapFacts = Mapping[str, str | float | None]

SEED: Final = 1
"""The doubt of a fit is drawn; the same log gives the same doubt."""


@dataclass(frozen=True, slots=True)
class WrittenMap:
    """A map that was asked for: where it is, the replayed ground that is not on it since its place is not known.

    ``refused`` says why there is no such file after all.
    """

    path: Path
    left_out_cm2: Cm2
    refused: NotDefined | CannotWrite | None = None


def fitted(trace: Trace, request: ExactRequest, tolerance_frac: Frac) -> LagFinding | None:
    """Return what the log says about its own machine's lag, None where it was not asked; a tolerance [frac] judges it.

    Raises
    ------
    LogRefused, NotDefined
        When the log cannot say.
    """
    if not request.fit:
        return None
    with progress_on_stderr() as bar:
        bar.add_task(f"fitting the lag of {trace.facts.file}", total=None)
        return lag_finding(trace, np.random.default_rng(SEED), tolerance_frac=tolerance_frac)


def response_asked(request: ExactRequest, season_file: SeasonFile, finding: LagFinding | None) -> tuple[Response, str]:
    """Return the response to replay with and where it is from: typed, fitted, from the season, or none.

    Raises
    ------
    InputProblems
        For a time that cannot be read.
    """
    known = season_file.season.sprayer.control.response
    return response_for(known, finding, lag_s=request.lag_s, delay_s=request.delay_s)


def written_map(answer: ExactAnswer, request: ExactRequest, *, number: int, facts: MapFacts) -> WrittenMap | None:
    """Write the map that was asked for, and return where it is and what is not on it; None if none was.

    Parameters
    ----------
    answer
        The replay.
    request
        With the file's name.
    number
        Which log it is, from 0; the second and later ones get their number into the name.
    facts
        What the map is of; lag, delay and where they are from are put beside.

    Returns
    -------
    WrittenMap or None
        Of a map that cannot be made or written it says why: the replay stands without it.
    """
    from wetrun.papers.field_map import write_map

    path = request.map_out
    if path is None:
        return None
    if number:
        path = path.with_name(f"{path.stem}-{number + 1}{path.suffix}")
    setup = answer.setup
    told = {**facts, **asdict(setup.response), "lag_from": answer.lag_from, "method": answer.result.method}
    try:
        cells = map_cells(answer.result, answer.boom, setup.response, bands=setup.bands, cell_m=request.cell_m)
        write_map(path, cells, answer.trace.origin, told)
    except NotDefined as none:
        thing = f"the map of {answer.trace.facts.file}"
        return WrittenMap(path, 0, NotDefined(thing, reason=none.reason, remedy=none.remedy))
    except CannotWrite as refused:
        return WrittenMap(path, 0, refused)
    return WrittenMap(path, cells.left_out_cm2)
