"""What tests of papers share: the text of a PDF as a reader takes it in, and a pass by its name."""

from __future__ import annotations

import io

from pypdf import PdfReader

from wetrun.papers.typst_paper import BREAK


def text_of(pdf):
    """The text of every page in one line, without the marks where a long word may break."""
    pages = PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join((page.extract_text() or "").replace(BREAK, "").split()) for page in pages)


def pass_named(report, ident):
    """A pass of the proposed plan."""
    return next(one for one in report.plan.proposed.passes if one.planned.ident == ident)
