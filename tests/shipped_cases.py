"""The shipped catalogue, read once a process for all tests that only look at its cases."""

from __future__ import annotations

from functools import cache

from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.schema import Case

CATALOGUE = Catalogue()


@cache
def cases_of(family: str) -> tuple[Case, ...]:
    """The cases in the folder of a family, in the order of their ids."""
    return tuple(CATALOGUE.cases((family,)))
