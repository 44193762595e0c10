"""Bodies put together from solids: plain, with densities, with specific weights."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs

from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import (
    DENSITY,
    FORCE,
    MASS,
    SPECIFIC_WEIGHT,
)
from refsolver.statics.chapters.centroids.solids import (
    SHAPES,
    dense,
    solid_tables,
    worded,
)
from refsolver.statics.contract import (
    many,
    point,
    quantity,
    text,
)
from refsolver.statics.naming import distinct_rows

__all__ = ["MassGivens", "MassLump", "SolidGivens", "WeightGivens", "WeightLump"]


def _checked(self: Any) -> None:
    if not any(getattr(self, a.name) for a in attrs.fields(type(self))):
        raise ValueError("a body needs at least one part")
    distinct_rows(*worded(self), (getattr(self, "lumps", ()), "point"))


def _givens(name: str, classes: Mapping[str, type], more: Mapping[str, Any]) -> Any:
    return attrs.make_class(
        name,
        {**solid_tables(classes), **more},
        frozen=True,
        class_body={"__attrs_post_init__": _checked, "__module__": __name__},
    )


def _lumps(of: type, says: str) -> Any:
    return many(of, says, minimum=0, default=())


@attrs.frozen
class MassLump:
    amount: Exact = quantity(MASS, "its mass", sign="positive")
    at: tuple[Exact, ...] = point("where its centre is", space=3)
    name: str = text("what it is called")


@attrs.frozen
class WeightLump:
    amount: Exact = quantity(FORCE, "its weight", sign="positive")
    at: tuple[Exact, ...] = point("where its centre is", space=3)
    name: str = text("what it is called")


_PLAIN = {table: cls for table, (cls, _, _) in SHAPES.items()}
_WITH_MASS = {t: dense(c, "Mass", DENSITY, "mass per volume") for t, c in _PLAIN.items()}
_WITH_WEIGHT = {
    t: dense(c, "Weight", SPECIFIC_WEIGHT, "weight per volume") for t, c in _PLAIN.items()
}
SolidGivens = _givens("SolidGivens", _PLAIN, {})
MassGivens = _givens(
    "MassGivens", _WITH_MASS, {"lumps": _lumps(MassLump, "parts of known mass at a point")}
)
WeightGivens = _givens(
    "WeightGivens", _WITH_WEIGHT, {"lumps": _lumps(WeightLump, "parts of known weight at a point")}
)
# Made classes are pickled by their names in this module.
for _made in (*_WITH_MASS.values(), *_WITH_WEIGHT.values()):
    _made.__module__ = __name__
    globals()[_made.__name__] = _made
