"""Two families that answer one question, and a family that answers one question twice.

A function marked :func:`twin` makes a claim of a case of its family, with the other case in
exact leaves, or returns None where the other family cannot be asked that.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from typing import Any

from flint import fmpq

from refsolver.arithmetic.exact import Constant, Turn
from refsolver.statics.contract import Family
from refsolver.statics.registry import family
from tests.statics.properties.claims import Answers, Claim, Identity

Make = Callable[[Family, Any, random.Random], Claim | None]

PI = Constant("pi")
ZERO, ONE, TWO = fmpq(0), fmpq(1), fmpq(2)
RIGHT = Turn(fmpq(1, 4))
TWINS: dict[str, list[Identity]] = {}


def twin(*names: str) -> Callable[[Make], Make]:
    """The claim belongs to these families; its name is that of the function."""

    def enter(make: Make) -> Make:
        identity = Identity(make.__name__.strip("_").replace("_", " "), make)
        for name in names:
            TWINS.setdefault(name, []).append(identity)
        return make

    return enter


def asked(name: str, **stated: Any) -> tuple[Family, Any]:
    """Another family and givens of it; ValueError where they do not hold."""
    owner = family(name)
    return owner, owner.givens(**stated)


def picked(answers: Answers, names: Mapping[str, str]) -> Answers:
    """What is called ``names[a]`` elsewhere, under the name ``a``."""
    return {here: answers[there] for here, there in names.items()}
