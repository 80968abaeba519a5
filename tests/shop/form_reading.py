"""Reads a form off a page as a browser would send it."""

from __future__ import annotations

from html.parser import HTMLParser

from django.http import QueryDict


class _Form(HTMLParser):
    """Collects names and values in the order of the page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.sent: list[tuple[str, str]] = []
        self.ids: list[str] = []
        self._area: tuple[str, list[str]] | None = None
        self._select: tuple[str, list[tuple[str, bool]]] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        if "id" in given:
            self.ids.append(given["id"])
        if tag == "input":
            self._input(given, is_checked=any(key == "checked" for key, _ in attrs))
        elif tag == "textarea":
            self._area = (given["name"], [])
        elif tag == "select":
            self._select = (given["name"], [])
        elif tag == "option" and self._select is not None:
            self._select[1].append((given.get("value", ""), any(key == "selected" for key, _ in attrs)))

    def _input(self, given: dict[str, str], *, is_checked: bool) -> None:
        if given.get("type") == "checkbox":
            if is_checked:
                self.sent.append((given["name"], given.get("value", "on")))
        elif "name" in given:
            # A box of one line loses its line ends.
            self.sent.append((given["name"], given.get("value", "").replace("\r", "").replace("\n", "")))

    def handle_data(self, data: str) -> None:
        if self._area is not None:
            self._area[1].append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea" and self._area is not None:
            name, pieces = self._area
            text = "".join(pieces).replace("\r\n", "\n").replace("\r", "\n").removeprefix("\n")
            self.sent.append((name, text.replace("\n", "\r\n")))
            self._area = None
        elif tag == "select" and self._select is not None:
            name, options = self._select
            chosen = [value for value, is_selected in options if is_selected] or [value for value, _ in options[:1]]
            self.sent.append((name, chosen[-1]))
            self._select = None


def sent_by(page: str) -> QueryDict:
    """What a browser sends of a page nobody touched."""
    form = _Form()
    form.feed(page)
    form.close()
    posted = QueryDict(mutable=True)
    for name, value in form.sent:
        posted.appendlist(name, value)
    return posted


def ids_of(page: str) -> list[str]:
    """Every id of a page, in its order."""
    form = _Form()
    form.feed(page)
    form.close()
    return form.ids
