"""What a wet run proved: the parts whose lines count and pass, none of them failing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from wetrun.machine.proofs import Proof
from wetrun.proving.session_result import Part

OF_PART: Final = {
    Part.METER.value: Proof.METER,
    Part.CATCH.value: Proof.CATCH,
    Part.PRESSURE.value: Proof.PRESSURE,
    Part.RAMP.value: Proof.HOLDS,
}
OF_SOURCE: Final = {"wheel sensor": Proof.WHEEL, "ground radar": Proof.RADAR, "GPS": Proof.GPS}


def proofs_of_run(document: Mapping[str, Any], data: Mapping[str, Any] | None) -> list[str]:
    """Return the names of what a wet run proved.

    Parameters
    ----------
    document : mapping
        The wet-run file, as typed: it says which kind of instrument each speed source is.
    data : mapping or None
        What was found, as `wetrun.papers.wet_run_data`; None proves nothing.

    Returns
    -------
    list of str
        Names of `Proof`, in its order. A test that fails or does not decide anything proves nothing; the settings
        are a record of their own.
    """
    lines = [] if data is None else data.get("tests", [])
    by_part = {proof: [one for one in lines if one["part"] == part] for part, proof in OF_PART.items()}
    by_source = {
        OF_SOURCE[kind]: [
            one for one in lines if one["part"] == Part.COURSE.value and one["thing"] == f"speed by {name}"
        ]
        for name, kind in _sources(document)
        if kind in OF_SOURCE
    }
    found = {proof for proof, rows in (by_part | by_source).items() if _passes(rows)}
    return [proof.name for proof in Proof if proof in found]


def _sources(document: Mapping[str, Any]) -> Iterable[tuple[str, str]]:
    course = document.get("course")
    rows = course.get("source", []) if isinstance(course, dict) else []
    return ((str(row.get("name", "")), str(row.get("kind", ""))) for row in rows if isinstance(row, dict))


def _passes(rows: Iterable[Mapping[str, Any]]) -> bool:
    told = {row["verdict"] for row in rows if row["counts"]}
    return "pass" in told and "fail" not in told
