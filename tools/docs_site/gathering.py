"""What Sphinx reads: the pages of docs/, those written from the program, and the shop's own colours and letters."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from tools.docs_site.commands_page import commands_page
from tools.docs_site.errors_page import errors_page
from tools.docs_site.files_pages import files_pages
from tools.docs_site.sources_page import sources_page
from tools.docs_site.units_page import units_page

ROOT: Final = Path(__file__).resolve().parents[2]
DOCS: Final = ROOT / "docs"
_SHOP: Final = ROOT / "src" / "wetrun" / "shop" / "static"
_COPIED: Final = {
    ROOT / "GLOSSARY.md": "glossary.md",
    ROOT / "CHANGELOG.md": "changes.md",
    _SHOP / "tokens.css": "_static/tokens.css",
    _SHOP / "mark.svg": "_static/mark.svg",
    ROOT / "src/wetrun/papers/fonts/Lato-Regular.ttf": "_static/fonts/Lato-Regular.ttf",
    ROOT / "src/wetrun/papers/fonts/Lato-Bold.ttf": "_static/fonts/Lato-Bold.ttf",
}


def gather(into: Path) -> None:
    """Lay out everything Sphinx reads.

    Parameters
    ----------
    into : Path
        A folder that is not there yet.
    """
    shutil.copytree(DOCS, into, ignore=shutil.ignore_patterns("__pycache__", "schema"))
    for path, name in _COPIED.items():
        (into / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, into / name)
    for name, text in reference_pages().items():
        page = into / "reference" / name
        page.parent.mkdir(parents=True, exist_ok=True)
        page.write_text(text, encoding="utf-8")


def reference_pages() -> dict[str, str]:
    """Return the pages that are written from the program, by their path inside docs/reference."""
    return {
        "commands.md": commands_page(),
        "units.md": units_page(),
        "errors.md": errors_page(),
        "sources.md": sources_page(),
        **files_pages(),
    }


def fingerprint() -> str:
    """Return a hash of all that the site is made from: the reference is as new as the whole program."""
    digest = hashlib.sha256()
    for path in sorted(_made_from()):
        digest.update(str(path.relative_to(ROOT)).encode() + b"\0" + hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()


def _made_from() -> Iterator[Path]:
    yield from _COPIED
    yield from (path for path in DOCS.rglob("*") if path.is_file() and "__pycache__" not in path.parts)
    yield from (ROOT / "tools" / "docs_site").glob("*.py")
    rooms = (ROOT / "src" / "wetrun" / room for room in ("cli", "documents", "quantity", "shop/serving"))
    yield from (path for room in rooms for path in room.rglob("*.py"))
    yield from (ROOT / "src" / "wetrun" / name for name in ("sources.py", "errors.py", "__init__.py"))
