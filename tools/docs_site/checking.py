"""What the shop's policy would forbid, and what would not be there without internet: found before a browser does."""

from __future__ import annotations

from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Final

_FETCHED: Final = {"script": "src", "link": "href", "img": "src", "iframe": "src", "source": "src", "object": "data"}
_NOT_FETCHED: Final = {"next", "prev", "index", "search", "author", "copyright"}


def forbidden_in(site: Path) -> list[str]:
    """Return what stands in the pages that must not, a line for each thing.

    Parameters
    ----------
    site : Path
        The finished site.

    Returns
    -------
    list of str
        Scripts and styles written into a page, handlers, and whatever a page fetches from elsewhere or in vain.
    """
    return [f"{page.relative_to(site)}: {line}" for page in sorted(site.rglob("*.html")) for line in _lines(page, site)]


def _lines(page: Path, site: Path) -> Iterator[str]:
    seen = _Seen()
    seen.feed(page.read_text(encoding="utf-8"))
    yield from seen.wrong
    for address in seen.fetched:
        path = address.partition("?")[0].partition("#")[0]
        if "://" in path or path.startswith("//"):
            yield f"fetches {address} from elsewhere"
        elif not path.startswith("data:") and not (page.parent / path).resolve().is_file():
            yield f"fetches {address}, which is not in {site.name}"


class _Seen(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.wrong: list[str] = []
        self.fetched: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        where = f"line {self.getpos()[0]}: <{tag}>"
        if tag == "style" or (tag == "script" and "src" not in told):
            self.wrong.append(f"{where} stands in the page itself")
        self.wrong += [f"{where} has {name}=…" for name in told if name == "style" or name.startswith("on")]
        if tag in _FETCHED and _FETCHED[tag] in told and told.get("rel") not in _NOT_FETCHED:
            self.fetched.append(told[_FETCHED[tag]])
