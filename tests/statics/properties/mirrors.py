"""The same case seen from the other side: left and right change places."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from math import comb
from typing import Any

import attrs
from flint import arb, fmpq

from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import negated, total
from refsolver.quantities.folding import difference
from refsolver.quantities.kinds import NoAnswer, Piece, Value
from refsolver.statics.contract import Family
from tests.statics.properties.claims import Answers, Claim, Identity
from tests.statics.properties.motions import (
    Motion,
    Placed,
    moved_givens,
    opposite,
    turned_direction,
    turned_vector,
)
from tests.statics.properties.units_and_rows import named


def each(value: Value, change: Callable[[Any], Any]) -> Value:
    """The value, or every entry of a table, changed; refusals stay."""
    if isinstance(value, NoAnswer):
        return value
    if isinstance(value, dict):
        return {key: each(entry, change) for key, entry in value.items()}
    return change(value)


def mirrored_vector(v: Any) -> Any:
    return (-v[0], v[1])


def seen_from_behind(
    change: Callable[[Any], Any], answers: Callable[[Any, Answers], Answers]
) -> Identity:
    """``change`` turns the givens round; ``answers(given, before)`` what then comes out."""

    def claim(owner: Family, given: Any, rng: random.Random) -> Claim | None:
        given = named(given)
        try:
            other = change(given)
        except ValueError:
            return None
        return Claim(other, [(owner, given)], lambda before: answers(given, before))

    return Identity("mirror", claim)


def _from_the_other_support(given: Any, before: Answers) -> dict[str, Value]:
    """Of a place stated from the first support, y up, and of heights above it."""

    span, rise = evaluate(given.span), evaluate(given.rise)
    after = {}
    for name in ("lowest", "place", "knot"):
        if name in before:
            after[name] = each(before[name], lambda p: (span - p[0], p[1] - rise))
    if "heights" in before:
        after["heights"] = each(before["heights"], lambda h: h - rise)
    if "depths" in before:
        after["depths"] = each(before["depths"], lambda d: d + rise)
    return after


def _cable(given: Any) -> Any:
    changes = {
        "rise": negated(given.rise),
        "first": given.second,
        "second": given.first,
    }
    if getattr(given, "dip", None) is not None:
        changes["dip"] = total(given.dip, given.rise)
    if hasattr(given, "stations"):
        changes["stations"] = tuple(
            attrs.evolve(s, at=difference(given.span, s.at)) for s in given.stations
        )
    return attrs.evolve(given, **changes)


SAME_CABLE = (
    "horizontal", "greatest", "least", "sag", "length", "parameter", "tensions", "span",
)  # fmt: skip


def _cable_answers(given: Any, before: Answers) -> Answers:
    after = {name: before[name] for name in SAME_CABLE if name in before}
    after["inclinations"] = each(before["inclinations"], lambda x: -x)
    if "reactions" in before:
        after["reactions"] = each(before["reactions"], mirrored_vector)
    if "dip" in before:
        after["dip"] = each(before["dip"], lambda d: d + evaluate(given.rise))
    if hasattr(given, "span"):
        after |= _from_the_other_support(given, before)
    return after


LEVELS = {"first support": "second support", "second support": "first support", "chord": "chord"}


def _loaded_cable(given: Any) -> Any:
    loads = tuple(attrs.evolve(x, at=difference(given.span, x.at)) for x in given.loads)
    return attrs.evolve(
        given,
        loads=tuple(reversed(loads)),
        rise=negated(given.rise),
        first=given.second,
        second=given.first,
        depth_from=LEVELS[given.depth_from] if given.depth is not None else given.depth_from,
    )


def _loaded_cable_answers(given: Any, before: Answers) -> Answers:
    after = {name: before[name] for name in ("horizontal", "greatest", "length")}
    after["reactions"] = each(before["reactions"], mirrored_vector)
    return after | _from_the_other_support(given, before)


def _swapped(*pairs: tuple[str, str]) -> Callable[[Any], Any]:
    def change(given: Any) -> Any:
        changes = {a: getattr(given, b) for pair in pairs for a, b in (pair, pair[::-1])}
        return attrs.evolve(given, **changes)

    return change


def keys_swapped(table: Value, first: str, second: str) -> Value:
    if isinstance(table, NoAnswer):
        return table
    return {**table, first: table[second], second: table[first]}


def _pulley(given: Any) -> Any:
    return attrs.evolve(given, rise=negated(given.rise))


def _pulley_answers(given: Any, before: Answers) -> Answers:
    first, second = list(before["parts"]) if isinstance(before["parts"], dict) else ("", "")
    return {
        "tension": before["tension"],
        "inclination": before["inclination"],
        "parts": keys_swapped(before["parts"], first, second),
        **_from_the_other_support(given, before),
    }


def _counterweights(given: Any) -> Any:
    return attrs.evolve(given, left=given.right, right=given.left, rise=negated(given.rise))


def _counterweight_answers(given: Any, before: Answers) -> Answers:
    return {
        "left": each(before["right"], mirrored_vector),
        "right": each(before["left"], mirrored_vector),
        "between": before["between"],
        **_from_the_other_support(given, before),
    }


def _two_legs_answers(given: Any, before: Answers) -> Answers:
    tables = ("tensions", "lengths", "angles", "shares")
    return {
        "horizontal": before["horizontal"],
        **{name: keys_swapped(before[name], "left", "right") for name in tables},
    }


def _hanging(given: Any) -> Any:
    return attrs.evolve(
        given,
        left_leg=given.right_leg,
        right_leg=given.left_leg,
        along=difference(given.spacing, given.along),
    )


def _hanging_answers(given: Any, before: Answers) -> Answers:

    spacing = evaluate(given.spacing)
    return {
        "tensions": keys_swapped(before["tensions"], "left", "right"),
        "tilt": each(before["tilt"], lambda x: -x),
        "hook": each(before["hook"], lambda p: (spacing - p[0], p[1])),
    }


STATES = {
    "first goes down": "first goes up",
    "on the point of first going down": "on the point of first going up",
    "on the point of first going up": "on the point of first going down",
    "first goes up": "first goes down",
}


def _over_a_pulley(given: Any) -> Any:
    if given.second is None:
        raise ValueError("there is no second weight to change places with")
    return _swapped(
        ("first", "second"),
        ("first_incline", "second_incline"),
        ("first_friction", "second_friction"),
    )(given)


def _over_a_pulley_answers(given: Any, before: Answers) -> Answers:
    def other(choice: Any) -> Any:
        return attrs.evolve(choice, word=STATES.get(choice.word, choice.word))

    return {"state": each(before["state"], other)}


def _slider_crank(given: Any) -> Any:

    upside_down = Motion(((fmpq(1), fmpq(0)), (fmpq(0), fmpq(-1))), (fmpq(0), fmpq(0)))
    moved = moved_givens(given, upside_down, Placed(turning=frozenset({"couple", "offset"})))
    return attrs.evolve(moved, angle=opposite(given.angle))


def _slider_crank_answers(given: Any, before: Answers) -> Answers:
    same = {name: before[name] for name in ("slider", "force", "rod_force")}
    return {**same, "displacement": each(before["displacement"], lambda x: -x)}


def _beam(given: Any) -> Any:

    aside = Motion(((fmpq(-1), fmpq(0)), (fmpq(0), fmpq(1))), (fmpq(0), fmpq(0)))

    def there(row: Any) -> Any:
        changes: dict[str, Any] = {"at": difference(given.length, row.at)}
        if getattr(row, "direction", None) is not None:
            changes["direction"] = turned_direction(row.direction, aside)
        if hasattr(row, "force"):
            changes["force"] = turned_vector(row.force, aside)
        if hasattr(row, "moment"):
            changes["moment"] = negated(row.moment)
        return attrs.evolve(row, **changes)

    def spread(row: Any) -> Any:
        return attrs.evolve(
            row,
            start=difference(given.length, row.end),
            end=difference(given.length, row.start),
            intensities=tuple(reversed(row.intensities)),
            direction=turned_direction(row.direction, aside),
        )

    if given.hinges:
        raise ValueError("a load at a hinge would change the part it acts on")
    changes = {
        table: tuple(there(row) for row in getattr(given, table))
        for table in ("supports", "forces", "couples")
    }
    changes["line_loads"] = tuple(spread(row) for row in given.line_loads)
    if hasattr(given, "section"):
        changes["section"] = difference(given.length, given.section)
        changes["side"] = "right" if given.side == "left" else "left"
    return attrs.evolve(given, **changes)


def _beam_reactions(given: Any, before: Answers) -> Answers:
    return {
        "reactions": each(before["reactions"], mirrored_vector),
        "couples": each(before["couples"], lambda x: -x),
        "constraint": before["constraint"],
        "degree": before["degree"],
    }


def _turned_piece(piece: Piece, length: Any) -> Piece:
    """The same polynomial counted from the other end: u = span - (x - start)."""
    span, cs = piece.end - piece.start, piece.coefficients
    turned = tuple(
        sum((c * comb(j, k) * span ** (j - k) for j, c in enumerate(cs) if j >= k), arb(0))
        * (-1) ** k
        for k in range(len(cs))
    )
    return Piece(length - piece.end, length - piece.start, turned)


def _internal_forces(given: Any, before: Answers) -> Answers:
    length = evaluate(given.length)

    def turned(pieces: Any) -> Any:
        return tuple(_turned_piece(piece, length) for piece in reversed(pieces))

    def negative(pieces: Any) -> Any:
        return tuple(
            attrs.evolve(piece, coefficients=tuple(-c for c in piece.coefficients))
            for piece in pieces
        )

    return {
        "axial": each(before["axial"], turned),
        "shear": each(before["shear"], lambda pieces: negative(turned(pieces))),
        "moment": each(before["moment"], turned),
    }


def _section_forces(given: Any, before: Answers) -> Answers:
    return {
        "axial": before["axial"],
        "shear": each(before["shear"], lambda x: -x),
        "moment": before["moment"],
    }


def _counted_from_the_right(table: Value, change: Callable[[Any], Any]) -> Value:
    """A table keyed by numbers from the left, seen from behind."""
    if isinstance(table, NoAnswer):
        return table
    keys = list(table)
    return {key: each(table[other], change) for key, other in zip(keys, keys[::-1], strict=True)}


def _beam_extremes(given: Any, before: Answers) -> Answers:
    length = evaluate(given.length)

    def there(x: Any) -> Any:
        return length - x

    def negative(x: Any) -> Any:
        return -x

    after = {name: before[name] for name in ("greatest moment", "greatest shear")}
    for word, other in (("largest", "smallest"), ("smallest", "largest")):
        after[f"{word} moment"] = before[f"{word} moment"]
        after[f"{word} moment at"] = each(before[f"{word} moment at"], there)
        after[f"{word} shear"] = each(before[f"{other} shear"], negative)
        after[f"{word} shear at"] = each(before[f"{other} shear at"], there)
    for name in ("zero shear", "contraflexure"):
        after[name] = _counted_from_the_right(before[name], there)
    name = "moment at zero shear"
    after[name] = _counted_from_the_right(before[name], lambda x: x)
    return after


MIRRORS: Mapping[str, Identity] = {
    "cables/catenary": seen_from_behind(_cable, _cable_answers),
    "cables/catenary-span": seen_from_behind(_cable, _cable_answers),
    "cables/parabolic": seen_from_behind(_cable, _cable_answers),
    "cables/point-loads": seen_from_behind(_loaded_cable, _loaded_cable_answers),
    "particle-equilibrium/running-pulley": seen_from_behind(_pulley, _pulley_answers),
    "particle-equilibrium/two-counterweights": seen_from_behind(
        _counterweights, _counterweight_answers
    ),
    "rigging/two-legs": seen_from_behind(
        _swapped(("left_reach", "right_reach"), ("left_height", "right_height")),
        _two_legs_answers,
    ),
    "rigging/hanging-load": seen_from_behind(_hanging, _hanging_answers),
    "friction/blocks-over-a-pulley": seen_from_behind(_over_a_pulley, _over_a_pulley_answers),
    "virtual-work/slider-crank": seen_from_behind(_slider_crank, _slider_crank_answers),
    "beams/reactions": seen_from_behind(_beam, _beam_reactions),
    "beams/extremes": seen_from_behind(_beam, _beam_extremes),
    "beams/internal-forces": seen_from_behind(_beam, _internal_forces),
    "beams/section-forces": seen_from_behind(_beam, _section_forces),
    "lifting-machines/law": seen_from_behind(
        _swapped(("first", "second"), ("first_effort", "second_effort")),
        lambda given, before: before,
    ),
}
