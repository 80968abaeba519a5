"""Tips to suggest where one is typed by its ident."""

from __future__ import annotations

from itertools import islice
from typing import Final

from wetrun.machine.catalogue import catalogue
from wetrun.shop.answers.shared_files import tips_of
from wetrun.shop.records.models import Catalogue

MOST_OF_FILES: Final = 600


def tip_idents(branch_id: int) -> list[str]:
    """Return the idents of tips to suggest in a branch.

    Parameters
    ----------
    branch_id : int
        Key of the branch.

    Returns
    -------
    list of str
        Those of the branch's own tip files first, as far as a list is still of use; then the built-in ones.
    """
    files = Catalogue.objects.filter(branch=branch_id, replaced_at=None).order_by("name")
    own = islice((tip.ident for one in files for tip in tips_of(one)), MOST_OF_FILES)
    return list(dict.fromkeys((*own, *(tip.ident for tip in catalogue()))))
