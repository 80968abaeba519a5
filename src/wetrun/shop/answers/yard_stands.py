"""How far the tests of a wet run are: what is written, what was judged, what is wrong or asked."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from wetrun.proving.verdict import Verdict
from wetrun.shop.answers.run_document import Document
from wetrun.shop.answers.wet_run_tests import YardTest, yard_test_at


@dataclass(frozen=True, slots=True)
class YardStand:
    """How far one test is.

    Attributes
    ----------
    test : YardTest
        Which.
    far : str
        What is written of it; empty for nothing.
    verdict : str
        The worst verdict it has, empty if it has none.
    tally : str
        Its verdicts counted, in words.
    problems : int
        What is wrong in it.
    questions : int
        What is asked about its readings.
    """

    test: YardTest
    far: str
    verdict: str = ""
    tally: str = ""
    problems: int = 0
    questions: int = 0

    @property
    def standing(self) -> str:
        """Its mark: done where it is judged and nothing is asked, stops where something is wrong."""
        if self.problems or self.verdict == Verdict.FAIL.value:
            return "stops"
        if not self.far:
            return "open"
        return "done" if self.verdict in {"", Verdict.PASS.value} and not self.questions else "begun"


def yard_stands(
    tests: tuple[YardTest, ...], document: Document, data: Document | None, problems: list[dict[str, str]]
) -> Iterator[YardStand]:
    """Yield how far tests are.

    Parameters
    ----------
    tests : tuple of YardTest
        Which.
    document : mapping
        The run's, with its readings laid over.
    data : mapping or None
        Its result as plain data, if it was judged.
    problems : list of dict
        What keeps it from being judged, each with its key.

    Yields
    ------
    YardStand
        In the order of the tests.
    """
    wrong = Counter(test.key for one in problems if (test := yard_test_at(one["key"])) is not None)
    for test in tests:
        verdict, tally, questions = _judged(test, data or {})
        yield YardStand(test, test.far(document), verdict, tally, wrong[test.key], questions)


def _judged(test: YardTest, data: Document) -> tuple[str, str, int]:
    parts = {part.value for part in test.parts}
    verdicts = [one["verdict"] for one in data.get("tests", []) if one["part"] in parts and one["counts"]]
    count = Counter(verdict for verdict in verdicts if verdict)
    worst = next((each.value for each in (Verdict.FAIL, Verdict.UNDECIDED, Verdict.PASS) if count[each.value]), "")
    tally = ", ".join(f"{count[each.value]} {each.value}" for each in Verdict if count[each.value])
    tally = f"{test.verdict_of}: {tally}" if tally and test.verdict_of else tally
    return worst, tally, sum(one["part"] in parts for one in data.get("questions", []))
