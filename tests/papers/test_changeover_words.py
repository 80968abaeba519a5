"""The changeovers of a season on screen and paper: every reason in words, one line where nothing was typed."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date

import pytest
from pypdf import PdfReader

from wetrun.papers.changeover_words import UNTYPED, better_words, changeover_data, residue_words
from wetrun.papers.extras import Extras
from wetrun.papers.papers import Paper, plan_pdf
from wetrun.papers.reader import Reader
from wetrun.planning.pass_order import Outlook, pass_order
from wetrun.planning.passes import Product
from wetrun.planning.residue import Reason, Residue
from wetrun.quantity import System


def typed(season, **risky_on):
    """The season with what was typed of its products' residues, and crops that differ."""
    crops = {"Post herbicide": "soybeans", "UAN top-dress": "corn", "Late cover": "corn"}
    passes = tuple(
        replace(
            one,
            crop=crops[one.ident],
            products=tuple(replace(p, risky_on=risky_on.get(p.name.split()[0].lower())) for p in one.products),
        )
        for one in season.passes
    )
    return replace(season, passes=passes)


@pytest.mark.parametrize("reason", Reason)
def test_every_reason_has_words_that_name_product_and_pass(reason):
    residue = Residue(name="Longhold", left_by="Burndown", reason=reason, meant="corn", words="Rinse well.")
    said = residue_words(residue, "corn")
    assert "Burndown" in said
    assert reason is Reason.NO_PRODUCT or "Longhold" in said
    assert ("Rinse well." in said) is (reason is not Reason.NOT_TYPED)
    assert "prove nothing" not in said
    assert "3 passes back" in residue_words(replace(residue, passes_back=3), "corn")
    assert len({residue_words(replace(residue, reason=each), "corn") for each in Reason}) == len(Reason)


@pytest.mark.parametrize(
    ("tolerated_frac", "words"), [(1e-4, "tolerated: 0.01 % of its rate"), (0.0, "tolerated: none")]
)
def test_a_tolerated_carry_over_is_told_with_the_crop_it_goes_for(tolerated_frac, words):
    residue = Residue(name="P", left_by="A", reason=Reason.CROP, meant="corn", tolerated_frac=tolerated_frac)
    assert residue_words(residue, "corn").endswith(words)
    assert "tolerated" not in residue_words(replace(residue, reason=Reason.ALWAYS), "corn")


def test_where_nothing_was_typed_one_line_says_so(report):
    found = changeover_data(report.order, report.plan.proposed)
    assert found == {"opening": UNTYPED, "rows": [], "after": []}


def test_a_single_pass_has_no_changeover_and_no_line(season, make_report):
    alone = make_report(replace(season, passes=season.passes[:1]))
    assert changeover_data(alone.order, alone.plan.proposed)["opening"] == ""


def test_the_paper_shows_needs_doubts_and_the_better_order(season, make_report):
    changed = typed(season, fieldclear=("corn",))
    late = changed.passes[-1]
    passes = (*changed.passes[:-1], replace(late, products=late.products[:1]))
    report = make_report(replace(changed, passes=passes))
    found = changeover_data(report.order, report.plan.proposed)
    assert found["opening"].startswith("Changeovers this order needs: ")
    pdf = plan_pdf(report, Reader(System.US), Paper.LETTER, Extras())
    pages = PdfReader(io.BytesIO(pdf)).pages
    text = " ".join(" ".join((page.extract_text() or "").split()) for page in pages)
    assert found["opening"] in text
    assert "Fieldclear 4, left by Post herbicide, is risky on corn" in text
    assert "if nothing is bound" in text


def test_a_better_order_says_what_moves_what_it_saves_and_what_it_does_to_the_tips(season, make_report):
    nitrogen, post, late = "UAN top-dress", "Post herbicide", "Late cover"
    carried = Product(name="Fieldclear 4", risky_on=("corn",), forbidden_carriers=("UAN 32",))
    days = {
        nitrogen: (date(2027, 5, 1), date(2027, 6, 10)),
        post: (date(2027, 5, 20), date(2027, 6, 20)),
        late: (date(2027, 8, 1), date(2027, 9, 1)),
    }
    passes = tuple(
        replace(
            one,
            first_day=days[one.ident][0],
            last_day=days[one.ident][1],
            products={post: (carried,), nitrogen: ()}.get(one.ident, (Product(name="Canopy", risky_on=()),)),
        )
        for one in typed(season).passes
    )
    report = make_report(replace(season, passes=passes))
    assert report.order.outlook is Outlook.BETTER
    said = " ".join(better_words(report.order, report.plan.proposed))
    assert "Post herbicide, UAN top-dress then Late cover needs 1 instead of 2." in said
    assert "What moves: Post herbicide goes before UAN top-dress." in said
    assert "Post herbicide 20 May 2027 (no days of work were typed for it)" in said
    assert "Tip-set changes, with the sets proposed: " in said
    assert "A suggestion only" in said
    assert [one.planned.ident for one in report.plan.proposed.passes] == [nitrogen, post, late], (
        "the plan is left alone"
    )
    better = report.order.better
    assert better is not None
    assert "in doubt" not in said, "nothing in the better order is in doubt"
    doubtful = replace(report.order, better=replace(better, most=better.needed + 1))
    said = " ".join(better_words(doubtful, report.plan.proposed))
    assert "If all that is in doubt is risky it needs 2, the order as planned 2." in said


def test_a_search_that_stopped_and_an_order_that_alone_fits_say_so(season, report):
    planned = typed(season, fieldclear=("corn",)).passes
    order, option = pass_order(planned), report.plan.proposed
    (said,) = better_words(replace(order, outlook=Outlook.NOT_SEARCHED), option)
    assert "too many ways" in said
    post, nitrogen, late = planned
    late_label = tuple(replace(p, first_day=date(2027, 6, 15)) for p in nitrogen.products) or (
        Product(name="Inhibitor", first_day=date(2027, 6, 15)),
    )
    waits = replace(nitrogen, last_day=date(2027, 6, 20), products=late_label)
    brief = replace(post, first_day=date(2027, 5, 20), last_day=date(2027, 5, 30))
    found = pass_order((waits, brief, late))
    assert found.outlook is Outlook.ONLY_THIS_FITS
    said = " ".join(better_words(found, option))
    assert "does not fit its days: Post herbicide would begin too late. This one does: Post herbicide, UAN" in said


def test_days_that_cannot_be_kept_name_the_pass(season, report):
    planned = typed(season, fieldclear=("corn",)).passes
    brief = tuple(replace(one, first_day=date(2027, 6, 1), last_day=date(2027, 6, 3), work_days=2) for one in planned)
    order = pass_order(brief)
    assert order.outlook is Outlook.NOTHING_FITS
    assert order.written.late is not None
    (said,) = better_words(order, report.plan.proposed)
    assert f"{order.written.late.ident} would begin too late" in said
