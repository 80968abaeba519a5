"""How a product goes into the tank, as it is written: formulation, its label's word on the order, amount per volume."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, PlainValidator, WithJsonSchema

from wetrun.documents.entry import Entry
from wetrun.documents.fields import InSpray
from wetrun.documents.plain_fields import Words
from wetrun.documents.refusing import refuse
from wetrun.planning.formulation import Form, form_named
from wetrun.planning.mixing import Dose, DoseBase, LabelOrder, LabelPlace, Mixing
from wetrun.quantity import Kind, Typed

_FORMS = ", ".join(each.value for each in Form)


def _form(value: object) -> Form:
    form = form_named(value) if isinstance(value, str) else None
    if form is None:
        raise refuse("no formulation is called that", f"Write the letters of the label: {_FORMS}")
    return form


FormField = Annotated[
    Form,
    PlainValidator(_form),
    WithJsonSchema({"type": "string", "description": f"as the label says it: {_FORMS}", "examples": ["WG", "NIS"]}),
]


class LabelOrderEntry(Entry):
    """The label's own word on where a product goes in."""

    place: Literal["first", "last"] | None = None
    after: list[Words] = Field(default=[], max_length=50)
    before: list[Words] = Field(default=[], max_length=50)


class LabelMixEntry(Entry):
    """What a label allows per volume."""

    low: InSpray | None = None
    high: InSpray | None = None


class MixingEntry(Entry):
    """What loads have to know of a product, beside its rate per area."""

    form: FormField | None = None
    in_spray: InSpray | None = None
    in_carrier: InSpray | None = None
    label_mix: LabelMixEntry | None = None
    label_order: LabelOrderEntry | None = None

    def dose(self) -> Typed | None:
        """Return the amount per volume that was typed, if any."""
        return self.in_spray or self.in_carrier


def check_dose(entry: MixingEntry, rate: Typed | None) -> None:
    """Refuse a product that states its amount twice, or outside its label.

    Parameters
    ----------
    entry : MixingEntry
        The product.
    rate : Typed or None
        Its rate per area.

    Raises
    ------
    PydanticCustomError
        With the key inside the product.
    """
    given = [
        key for key, typed in (("rate", rate), ("in_spray", entry.in_spray), ("in_carrier", entry.in_carrier)) if typed
    ]
    if len(given) > 1:
        raise refuse(f"{' and '.join(given)} say the same thing", "Keep the one the label gives", at=given[1])
    if entry.label_mix is not None:
        _check_label_mix(entry.label_mix, entry.dose(), (given or [""])[0])


def _check_label_mix(label: LabelMixEntry, dose: Typed | None, key: str) -> None:
    for at, end in (("low", label.low), ("high", label.high)):
        if end is None:
            continue
        if dose is None:
            remedy = "Give in_spray or in_carrier, or leave label_mix out"
            raise refuse("there is no amount per volume to compare it with", remedy, at="label_mix")
        if is_dry(end) is not is_dry(dose):
            limit = f"one of {key} ({dose.text}) and label_mix.{at} ({end.text}) is a weight, the other a volume"
            raise refuse(limit, "Type both as the label does", at=f"label_mix.{at}")
        if dose.si_value < end.si_value if at == "low" else dose.si_value > end.si_value:
            limit = f"{dose.text} is {'below' if at == 'low' else 'above'} label_mix.{at} ({end.text})"
            raise refuse(limit, "Correct the amount; the label is the law", at=key)


def is_dry(typed: Typed) -> bool:
    """Return whether an amount per volume is a weight."""
    return typed.kind is Kind.DRY_IN_SPRAY


def mixing_of_entry(entry: MixingEntry, names: tuple[str, ...], density: Typed | None) -> Mixing:
    """Return the record of a product's mixing.

    Parameters
    ----------
    entry : MixingEntry
        As typed and accepted.
    names : tuple of str
        Products of the same tank.
    density : Typed or None
        Density of the product.

    Returns
    -------
    Mixing
        In SI.
    """
    return Mixing(
        form=entry.form,
        dose=_dose(entry),
        label=_label_order(entry.label_order, names),
        density_kgpm3=None if density is None else density.si_value,
    )


def _dose(entry: MixingEntry) -> Dose | None:
    typed, label = entry.dose(), entry.label_mix or LabelMixEntry()
    if typed is None:
        return None
    base = DoseBase.SPRAY if entry.in_spray else DoseBase.CARRIER
    low, high = (None if end is None else end.si_value for end in (label.low, label.high))
    if is_dry(typed):
        return Dose(base=base, mass_kgpm3=typed.si_value, low_kgpm3=low, high_kgpm3=high)
    return Dose(base=base, volume_frac=typed.si_value, low_frac=low, high_frac=high)


def _label_order(entry: LabelOrderEntry | None, names: tuple[str, ...]) -> LabelOrder:
    if entry is None:
        return LabelOrder()
    place = None if entry.place is None else LabelPlace(entry.place)
    after, before = (tuple(_meant(word, names) for word in words) for words in (entry.after, entry.before))
    return LabelOrder(place=place, after=after, before=before)


def _meant(word: str, names: tuple[str, ...]) -> str | Form:
    """A product of the tank by name, else a formulation; the pass has refused everything else."""
    return named_in_tank(word, names) or form_named(word) or word


def named_in_tank(word: str, names: tuple[str, ...]) -> str | None:
    """Return the product of a tank that a word names, whatever its case, or None."""
    return next((name for name in names if name.casefold() == word.casefold()), None)


def check_label_orders(products: tuple[tuple[str, MixingEntry], ...]) -> None:
    """Refuse a label's word on the order that names nothing, or the product itself.

    Parameters
    ----------
    products : tuple of (str, MixingEntry)
        Products of one tank with their names.

    Raises
    ------
    PydanticCustomError
        With the key inside the pass.
    """
    names = tuple(name for name, _ in products)
    for at, (name, entry) in enumerate(products, start=1):
        order = entry.label_order or LabelOrderEntry()
        for key, words in (("after", order.after), ("before", order.before)):
            for place, word in enumerate(words, start=1):
                key_in_pass = f"product[{at}].label_order.{key}[{place}]"
                if named_in_tank(word, names) == name:
                    raise refuse("a product cannot go in before or after itself", "Name another", at=key_in_pass)
                if named_in_tank(word, names) is None and form_named(word) is None:
                    remedy = f"Name a product of this pass, or a formulation: {_FORMS}"
                    raise refuse(
                        f"“{word}” is neither a product of this pass nor a formulation", remedy, at=key_in_pass
                    )
