"""What the theme's pages lack for whoever works by keyboard or by ear: names of its margins, consoles that scroll."""

from __future__ import annotations

from pathlib import Path
from typing import Final

_INSTEAD: Final = {
    '<aside class="sidebar-drawer">': '<aside class="sidebar-drawer" aria-label="Search and all pages">',
    '<aside class="toc-drawer': '<aside aria-label="On this page" class="toc-drawer',
    "<pre>": '<pre tabindex="0">',
}


def open_up(site: Path) -> None:
    """Write into every page what it lacks.

    Parameters
    ----------
    site : Path
        As Sphinx made it.
    """
    for page in site.rglob("*.html"):
        text = page.read_text(encoding="utf-8")
        for lacking, whole in _INSTEAD.items():
            text = text.replace(lacking, whole)
        page.write_text(text, encoding="utf-8")
