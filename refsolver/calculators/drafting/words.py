"""Reading labels: the words that tell a quantity, an axis, or how an angle is counted."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache

import attrs

from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH, MOMENT, Dimension

__all__ = ["AngleWords", "angle_words", "axis_in", "hinted_dimension", "kinds_of", "tokens"]


def _listed(text: str) -> frozenset[str]:
    return frozenset(text.split())


_PLAIN = _listed(
    "the a an of and or to in on at by with its it is are as for from each one this that where "
    "what which how no not along about it's value values given input output data enter"
)

_KINDS = {
    "force": _listed(
        "force pull load weight tension thrust push effort reaction magnitude size w p f t "
        "fx fy fz px py pz rx ry rz ra rb rc"
    ),
    "angle": _listed("angle direction inclination bearing azimuth incline tilt turn"),
    "slope": _listed("slope incline inclination ramp gradient batter"),
    "length": _listed(
        "length span distance position location place offset arm reach height width radius "
        "spacing lever diameter x y z l d r h"
    ),
    "moment": _listed("moment torque couple m mx my mz ma mb mmax"),
    "whole": _listed("resultant total sum net overall combined"),
}
"""Words that the trade uses for one another (common practice, no source)."""

_DIMENSIONS = {"angle": ANGLE, "moment": MOMENT, "force": FORCE, "length": LENGTH}


@lru_cache(maxsize=4096)
def tokens(text: str) -> frozenset[str]:
    """The words of a text that carry meaning, in the singular and in lower case."""
    found = re.findall(r"[a-zµμ]+", text.lower().replace("_", " "))
    return frozenset(_singular(word) for word in found if word not in _PLAIN)


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


@lru_cache(maxsize=4096)
def kinds_of(words: frozenset[str]) -> frozenset[str]:
    """The kinds of quantity that the words speak of."""
    return frozenset(kind for kind, members in _KINDS.items() if words & members)


@lru_cache(maxsize=4096)
def hinted_dimension(words: frozenset[str]) -> Dimension | None:
    """The dimension that a label's words suggest where no unit is stated; longer words first."""
    for least in (2, 1):
        long = frozenset(word for word in words if len(word) >= least)
        for kind, dimension in _DIMENSIONS.items():
            if long & _KINDS[kind]:
                return dimension
    return None


_AXES = (
    ("-y", r"\b(down|downward|downwards|south|southing)\b"),
    ("-x", r"\b(left|leftward|leftwards|west|westing)\b"),
    (
        "+x",
        r"\b(x|horizontal|horizontally|across|right|sideways|level|east|easting)\b|\br?[a-z]x\b",
    ),
    (
        "+y",
        r"\b(y|vertical|vertically|up|upward|upwards|upright|north|northing)\b|"
        r"\b(?!by\b|my\b)r?[a-z]y\b",
    ),
    ("+z", r"\b(z)\b|\br?[a-z]z\b"),
)


@lru_cache(maxsize=4096)
def axis_in(label: str) -> tuple[str, str] | None:
    """The axis that a label names, and the word it rests on."""
    plain = label.lower().replace("_", " ")
    for axis, pattern in _AXES:
        match = re.search(pattern, plain)
        if match is not None:
            return axis, match[0]
    return None


@attrs.frozen
class AngleWords:
    """How an angle is counted, as far as words tell; each part with the words it rests on."""

    start: tuple[str, str] | None = None
    toward: tuple[str, str] | None = None
    range: tuple[str, str] | None = None


_STARTS = (
    ("-y", r"from (the |straight )?(downward|down)( vertical)?\b"),
    ("+y", r"(from|to|off|with|against) (the |straight )?(vertical|plumb( line)?|up|upright|"
           r"\+?y([ -]axis)?|(grid |true )?n(orth)?)\b"),
    ("-x", r"from (the )?(left|-x([ -]axis)?|west)\b"),
    ("+x", r"(from|to|off|with|above) (the )?(horizontal|level|right|\+?x([ -]axis)?|east)\b"),
)  # fmt: skip
_AGAINST = r"counter[ -]?clockwise|anti[ -]?clockwise|\bccw\b"
_WITH = r"clockwise|\bcw\b"
_QUARTER = {"+x": "+y", "+y": "-x", "-x": "-y", "-y": "+x"}
_RANGES = (
    ("0..360", r"0\s*(°|deg)?\s*(to|-|–|\.\.+|…)\s*360"),
    ("-180..180", r"[-−–]\s*180\s*(°|deg)?\s*(to|\.\.+|…)\s*\+?\s*180|±\s*180|\+/-\s*180"),
)


def angle_words(texts: Sequence[str]) -> AngleWords:
    """What the texts, the nearest first, say of an angle's axis, sense and range."""
    start = _first(_STARTS, texts)
    turns = _first((("against", _AGAINST), ("with", _WITH)), texts)
    toward = None
    if start is not None and turns is not None:
        quarter = _QUARTER[start[0]]
        toward = (quarter if turns[0] == "against" else _opposite(quarter), turns[1])
    elif start is not None and start[1].startswith("above"):
        toward = ("+y", start[1])
    bearing = _first((("+y", r"\bbearings?\b"),), texts)
    if bearing is not None and (start is None or start[0] == "+y"):
        # Bearings turn clockwise from north (common practice, no source): a guess like the others.
        start = start or bearing
        toward = toward or ("+x", bearing[1])
    return AngleWords(start, toward, _first(_RANGES, texts))


def _opposite(axis: str) -> str:
    return ("-" if axis[0] == "+" else "+") + axis[1]


def _first(patterns: Sequence[tuple[str, str]], texts: Sequence[str]) -> tuple[str, str] | None:
    return next(_found(patterns, texts), None)


def _found(patterns: Sequence[tuple[str, str]], texts: Sequence[str]) -> Iterator[tuple[str, str]]:
    for text in texts:
        for meaning, pattern in patterns:
            match = re.search(pattern, text.lower())
            if match is not None:
                yield meaning, match[0]
