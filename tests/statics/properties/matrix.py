"""Which kinds of identity each family has, and how many of its answers they speak of.

    python -m tests.statics.properties.matrix [PART OF A NAME ...]

One row a family: how many identities of each kind, its answers, and those of which an identity
beyond units and rows spoke on some drawn cases, the others by name.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator

from flint import ctx
from tabulate import tabulate

from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.contract import Family
from refsolver.statics.registry import families
from tests.statics.properties.claims import Answers, BeyondProof, Identity, drawn_case, solved
from tests.statics.properties.declared import STRETCHES, identities

CASES, TRIES = 5, 60
KINDS = ("units", "rows", "motion", "mirror", "superposition", "reversal", "parts", "stretch")
OWN = "of its own"
STRETCHED = {stretch.name for stretches in STRETCHES.values() for stretch in stretches}


def kind_of(identity: Identity) -> str:
    if identity.name in STRETCHED:
        return "stretch"
    return identity.name if identity.name in KINDS else OWN


def _has_a_value(value: Value) -> bool:
    if isinstance(value, dict):
        return any(map(_has_a_value, value.values()))
    return not isinstance(value, NoAnswer) and value != []


def _expected(owner: Family, identity: Identity) -> Iterator[Answers]:
    """What the identity claims of some cases."""
    rng = random.Random(f"{owner.name} {identity.name} matrix")
    left = CASES
    for _ in range(TRIES):
        claim = identity.claim(owner, drawn_case(owner, rng), rng)
        if claim is None:
            continue
        try:
            others = [solved(family, given) for family, given in claim.others]
        except BeyondProof:
            continue
        with ctx.workprec(2 * max((s.bits for s in others), default=100)):
            yield claim.expect(*(s.answers for s in others))
        left -= 1
        if not left:
            return


def spoken_of(owner: Family) -> set[str]:
    """Answers that an identity beyond units and rows gave a value for."""
    return {
        name
        for identity in identities(owner)
        if kind_of(identity) not in ("units", "rows")
        for expected in _expected(owner, identity)
        for name, value in expected.items()
        if _has_a_value(value)
    }


def row(owner: Family) -> list[object]:
    kinds = [kind_of(identity) for identity in identities(owner)]
    counts = [kinds.count(kind) or None for kind in (*KINDS, OWN)]
    left = sorted(set(owner.answers) - spoken_of(owner))
    return [owner.name, *counts, f"{len(owner.answers) - len(left)}/{len(owner.answers)}",
            ", ".join(left)]  # fmt: skip


def main(parts: list[str]) -> None:
    chosen = [f for name, f in families().items() if not parts or any(p in name for p in parts)]
    heads = ["family", *KINDS, OWN, "answers", "none for"]
    print(tabulate([row(owner) for owner in chosen], headers=heads))


if __name__ == "__main__":
    main(sys.argv[1:])
