"""The page of quantities: what each is shown in, and every unit that may be typed for it."""

from __future__ import annotations

from tools.docs_site.markdown import code, table

from wetrun.quantity.kinds import Kind
from wetrun.quantity.spellings import spelled_of_shape, spellings_of_shape

_TOP = """# Quantities and units

Type a number with its unit: `40 psi`, `15 gal/ac`, `3 bar`. Capitals do not matter. A bare number takes the unit
printed at its field; its size never decides. What was typed is kept as typed; inside, everything is in SI. `gal` is the
US gallon of 231 cubic inches; imperial measure is spelled out (`imp gal`).

"""


def units_page() -> str:
    """Return the page."""
    kinds = table(
        ["quantity", "US shows", "SI shows", "for example", "usual units"],
        (
            [
                kind.value.words.removeprefix("a ").removeprefix("an "),
                code(kind.value.us),
                code(kind.value.si),
                code(kind.value.example),
                ", ".join(map(code, spellings_of_shape(kind.value.shape))) or "none: a plain number",
            ]
            for kind in Kind
        ),
    )
    measured = {kind.value.shape for kind in Kind}
    shapes = sorted(measured | {part for shape in measured for part in shape.split(" per ")})
    spelled = table(
        ["measures", "every spelling that is read"],
        ([shape, ", ".join(map(code, spelled_of_shape(shape)))] for shape in shapes if spelled_of_shape(shape)),
    )
    middle = "## Every spelling\n\nA quotient is two of these with `/` or “per” between them.\n\n"
    return f"{_TOP}{kinds}{middle}{spelled}"
