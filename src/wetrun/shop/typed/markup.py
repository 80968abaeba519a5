"""The markup of one box with its label, unit, help and what is wrong with it.

Written here and not in a template: a season has thousands of boxes, and a page has to come at once. Whatever is put
between marks goes through `_e`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import escape
from typing import TYPE_CHECKING, Final

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from wetrun.shop.typed.choices import Choice, Several, YesNo
from wetrun.shop.typed.faces import Say
from wetrun.shop.typed.takes import DayText

if TYPE_CHECKING:
    from wetrun.shop.typed.nodes import Field

_DAY: Final = re.compile(r"(?!0000)[0-9]{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01])")
_LONG: Final = 60


class Spoken:
    """The words of a sheet as markup, each put into the reader's language once."""

    __slots__ = ("_known", "needed")

    def __init__(self) -> None:
        self.needed = f' <span class="sheet-needed">{_e(_("needed"))}</span>'
        self._known: dict[int, tuple[Say, str, str]] = {}

    def label_and_help(self, say: Say) -> tuple[str, str]:
        """Return label and help of a key."""
        known = self._known.get(id(say))
        if known is None:
            known = self._known[id(say)] = (say, _e(say.label), _e(say.help))
        return known[1:]


def _e(text: object) -> str:
    return escape(str(text))


def field_html(field: Field) -> SafeString:
    """Return a field as markup.

    Parameters
    ----------
    field : Field
        A box of a sheet.

    Returns
    -------
    SafeString
        A ``div`` with label, box, unit, help and problems, tied together for a reader who hears the page.
    """
    label, help_words = field.place.ground.spoken.label_and_help(field.say)
    notes = dict(_notes(field, help_words))
    wrong = " sheet-wrong" if field.problems else ""
    boxes = _boxes(field, label, _attributes(field, notes))
    return SafeString(f'<div class="sheet-field{wrong}">{boxes}{"".join(notes.values())}</div>\n')


def _notes(field: Field, help_words: str) -> Iterator[tuple[str, str]]:
    """What stands beside a box, by the id of each."""
    if help_words:
        ident = f"{field.ident}-help"
        yield ident, f'<p class="sheet-help" id="{ident}">{help_words}</p>'
    if other := field.in_other_units:
        ident, words = f"{field.ident}-also", _("that is %(amount)s") % {"amount": other}
        yield ident, f'<p class="sheet-also" id="{ident}">{_e(words)}</p>'
    if field.problems:
        ident, each = f"{field.ident}-wrong", "".join(f"<li>{_e(problem)}</li>" for problem in field.problems)
        yield ident, f'<ul class="sheet-errors" id="{ident}">{each}</ul>'


def _attributes(field: Field, notes: dict[str, str]) -> str:
    described = [f"{field.ident}-unit", *notes] if field.unit else list(notes)
    found = f' aria-describedby="{_e(" ".join(described))}"' if described else ""
    if field.is_focused:
        found += " autofocus"
    if field.problems:
        found += ' aria-invalid="true"'
    if field.is_needed and isinstance(field.take, YesNo | Choice | Several) is False:
        found += ' aria-required="true"'
    return found


def _boxes(field: Field, label: str, attributes: str) -> str:
    take = field.take
    if isinstance(take, YesNo) and take.usual:
        return _tick(field, label, attributes)
    if isinstance(take, Several):
        return _ticks(field, take, label, attributes)
    box = _select(field, attributes) if isinstance(take, Choice | YesNo) else _text_box(field, attributes)
    needed = field.place.ground.spoken.needed if field.is_needed else ""
    unit = f'<span class="sheet-unit" id="{_e(field.ident)}-unit">{_e(field.unit)}</span>' if field.unit else ""
    return f'<label for="{_e(field.ident)}">{label}{needed}</label><div class="sheet-box">{box}{unit}</div>'


def _text_box(field: Field, attributes: str) -> str:
    take, text = field.take, field.text
    named = f'id="{_e(field.ident)}" name="{_e(field.name)}"'
    if take.is_long or len(text) > _LONG:
        rows = min(max(2, text.count("\n") + 2, 1 + len(text) // _LONG), 20)
        # A browser eats one line end right behind the tag.
        return f'<textarea {named} rows="{rows}"{attributes}>\n{_e(text)}</textarea>'
    kind = "date" if isinstance(take, DayText) and (not text or _DAY.fullmatch(text)) else "text"
    mode = f' inputmode="{take.inputmode}"' if take.inputmode else ""
    suggestions = f' list="{_e(field.offer)}"' if field.offer else ""
    return f'<input {named} type="{kind}" value="{_e(text)}" autocomplete="off"{mode}{suggestions}{attributes}>'


def _tick(field: Field, label: str, attributes: str) -> str:
    """A box to tick; the hidden one before it says that the page had it, ticked or not."""
    name, ident = _e(field.name), _e(field.ident)
    checked = " checked" if field.text == "yes" else ""
    return (
        f'<input type="hidden" name="{name}" value="no"><label class="sheet-tick" for="{ident}">'
        f'<input id="{ident}" name="{name}" type="checkbox" value="yes"{checked}{attributes}> {label}</label>'
    )


def _ticks(field: Field, take: Several, label: str, attributes: str) -> str:
    name, ident, chosen = _e(field.name), _e(field.ident), field.text.split("\n")
    boxes = "".join(
        f'<label class="sheet-tick" for="{ident}-{at}"><input id="{ident}-{at}" name="{name}" type="checkbox" '
        f'value="{_e(word)}"{" checked" if word in chosen else ""}> {_e(_word(field, word))}</label>'
        for at, word in enumerate(take.options)
    )
    return (
        f'<fieldset class="sheet-several" id="{ident}"{attributes}><legend>{label}</legend>'
        f'<input type="hidden" name="{name}" value="">{boxes}</fieldset>'
    )


def _select(field: Field, attributes: str) -> str:
    options = "".join(
        f'<option value="{_e(value)}"{" selected" if value == field.text else ""}>{_e(words)}</option>'
        for value, words in _options(field)
    )
    return f'<select id="{_e(field.ident)}" name="{_e(field.name)}"{attributes}>{options}</select>'


def _options(field: Field) -> Iterator[tuple[str, str]]:
    """A blank first where nothing need be chosen; last what stands there though it is no option."""
    take = field.take
    words = ("yes", "no") if isinstance(take, YesNo) else take.options if isinstance(take, Choice) else ()
    if not take.usual:
        yield "", _("choose one") if field.is_needed else _("not said")
    for word in words:
        yield word, _word(field, word)
    if field.text not in words and (field.text or take.usual):
        yield field.text, field.text or _("nothing")


def _word(field: Field, word: str) -> str:
    usual = {"yes": _("yes"), "no": _("no")}.get(word, word) if isinstance(field.take, YesNo) else word
    return str(field.say.choices.get(word, usual))
