"""What is linear in the loads: two sets of loads together, and all loads reversed.

Superposition: every load gets its own factor k; with k added to the stated loads the
answers are those of the stated loads and those of the k-fold loads together. Reversal:
action and reaction change places, so what pulled pushes. Also parts: a whole cut into
two heaps of rows has the sum of what each heap has.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.quantities.folding import times
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.quantities.leaves import Components, Polar
from refsolver.statics.contract import Family, Given
from refsolver.statics.givens import pattern_of, replaced, walk
from tests.statics.properties.claims import Answers, Claim, Identity
from tests.statics.properties.units_and_rows import named
from tests.statics.properties.values import Rescaled, added, changed

POSITIVE = (fmpq(1, 3), fmpq(5, 7), fmpq(2), fmpq(9, 4))
ANY = (*POSITIVE, fmpq(-3), fmpq(-1, 2), fmpq(-7, 5))


@attrs.frozen
class Loads:
    """``patterns`` of the loads, and the ``answers`` that are linear in all of them.

    ``when`` says of which givens that holds.
    """

    patterns: frozenset[str]
    answers: frozenset[str]
    when: Callable[[Any], bool] = lambda given: True


@attrs.frozen
class Reversal:
    """With every load of ``patterns`` reversed, what becomes of each answer.

    ``negated`` change sign, ``same`` do not; ``exchanged`` are the negative of another
    answer, ``swapped`` another one as it is; ``words`` change into others.
    """

    patterns: frozenset[str]
    negated: frozenset[str] = frozenset()
    same: frozenset[str] = frozenset()
    exchanged: Mapping[str, str] = {}
    swapped: Mapping[str, str] = {}
    words: Mapping[str, str] = {}


def _multiplied(leaf: Any, factor: fmpq) -> Any:
    if isinstance(leaf, Polar):
        return attrs.evolve(leaf, magnitude=times(factor, leaf.magnitude))
    if isinstance(leaf, Components):
        return Components(tuple(times(factor, x) for x in leaf.along))
    return times(factor, leaf)


def _loads_of(given: Any, patterns: frozenset[str]) -> dict[str, tuple[Any, Given]]:
    return {
        path: (leaf, field) for path, leaf, field in walk(given) if pattern_of(path) in patterns
    }


def _with_factors(given: Any, factors: Mapping[str, fmpq]) -> Any:
    found = {path: leaf for path, leaf, _ in walk(given)}
    return replaced(given, {path: _multiplied(found[path], k) for path, k in factors.items()})


def superposition(loads: Loads) -> Identity:
    """The identity of a family whose answers are linear in its loads."""

    def claim(owner: Family, given: Any, rng: random.Random) -> Claim | None:
        here = _loads_of(given, loads.patterns)
        if not here or not loads.when(given):
            return None
        factors = {
            path: rng.choice(ANY if field.sign == "any" else POSITIVE)
            for path, (_, field) in here.items()
        }
        try:
            second = _with_factors(given, factors)
            both = _with_factors(given, {path: k + 1 for path, k in factors.items()})
        except ValueError:  # not givens of the family any more
            return None

        def expect(first: Answers, other: Answers) -> Answers:
            return {
                name: added(owner.answers[name].kind, (first[name], other[name]))
                for name in loads.answers
                if not any(_refused(a[name]) for a in (first, other))
            }

        return Claim(both, [(owner, given), (owner, second)], expect)

    return Identity("superposition", claim)


def _refused(value: Value) -> bool:
    """Whether the answer, or an entry of its table, is refused (loads may not balance)."""
    entries = value.values() if isinstance(value, dict) else (value,)
    return any(isinstance(entry, NoAnswer) for entry in entries)


def reversal(reverse: Reversal) -> Identity:
    """The identity of a family whose loads may act the other way."""

    def claim(owner: Family, given: Any, rng: random.Random) -> Claim | None:
        here = _loads_of(given, reverse.patterns)
        if not here or any(field.sign != "any" for _, field in here.values()):
            return None

        def expect(before: Answers) -> Answers:
            kinds = owner.answers
            minus = Rescaled(lambda dimension: fmpq(-1))
            words = _Words(reverse.words)
            after = {n: changed(kinds[n].kind, before[n], minus) for n in reverse.negated}
            after |= {n: changed(kinds[n].kind, before[n], words) for n in reverse.same}
            after |= {
                n: changed(kinds[n].kind, before[other], minus)
                for n, other in reverse.exchanged.items()
            }
            return after | {n: before[other] for n, other in reverse.swapped.items()}

        return Claim(_with_factors(given, dict.fromkeys(here, fmpq(-1))), [(owner, given)], expect)

    return Identity("reversal", claim)


class _Words(Rescaled):
    def __init__(self, words: Mapping[str, str]) -> None:
        super().__init__(lambda dimension: fmpq(1))
        self.words = words

    def word(self, word: str) -> str:
        return self.words.get(word, word)


def parts(
    answers: frozenset[str],
    *tables: str,
    centres: Mapping[str, str] = {},
    radii: Mapping[str, str] = {},
) -> Identity:
    """A whole cut into two heaps of rows of these tables: ``answers`` add up.

    Tables of results hold the rows of both heaps. ``centres`` are the means of those of the
    heaps, weighed by another answer (moments of the heaps about any axis add), ``radii`` the
    root mean squares.
    """

    def claim(owner: Family, given: Any, rng: random.Random) -> Claim | None:
        given = named(given)
        heaps = [{t: [] for t in tables}, {t: [] for t in tables}]  # type: ignore[var-annotated]
        for table in tables:
            for row in getattr(given, table):
                rng.choice(heaps)[table].append(row)
        if not all(any(heap.values()) for heap in heaps):
            return None
        try:
            cut = [
                attrs.evolve(given, **{t: tuple(rows) for t, rows in heap.items()})
                for heap in heaps
            ]
        except ValueError:  # holes alone, say
            return None

        def expect(first: Answers, second: Answers) -> Answers:
            sums = {
                name: first[name] | second[name]
                if isinstance(first[name], dict)
                else added(owner.answers[name].kind, (first[name], second[name]))
                for name in answers
                if not any(isinstance(a[name], NoAnswer) for a in (first, second))
            }
            return sums | weighed((first, second), centres, radii)

        return Claim(given, [(owner, one) for one in cut], expect)

    return Identity("parts", claim)


def weighed(
    heaps: Sequence[Answers], centres: Mapping[str, str], radii: Mapping[str, str]
) -> Answers:
    """Common centres and radii of gyration of heaps, where the weights leave one."""
    found: dict[str, Value] = {}
    for name, weight in (*centres.items(), *radii.items()):
        if any(isinstance(heap[x], NoAnswer) for heap in heaps for x in (name, weight)):
            continue
        whole = sum(heap[weight] for heap in heaps)
        if not (whole > 0 or whole < 0):
            continue
        if name in radii:
            square = sum(h[name] * h[name] * h[weight] for h in heaps) / whole
            if square > 0:
                found[name] = square.sqrt()
        elif isinstance(heaps[0][name], tuple):
            places = zip(*(h[name] for h in heaps), strict=True)
            weights = [h[weight] for h in heaps]
            found[name] = tuple(
                sum(w * x for w, x in zip(weights, along, strict=True)) / whole for along in places
            )
        else:
            found[name] = sum(h[weight] * h[name] for h in heaps) / whole
    return found
