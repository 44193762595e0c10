"""The mapping of a made-up calculator of plane pulls, for tests that need some calculator."""

_FROM_UP = 'from = "+y"\ntoward = "+x"\nrange = "0..360"\n'


def inputs(
    unit: str = "kN",
    place: str = "pulls",
    *,
    cells: tuple[str, str] | None = None,
    from_up: bool = False,
    more: str = "",
) -> str:
    """Each pull by its size and its turn from +x towards +y, or from +y towards +x.

    They are fields of ``place``, or stand in two ranges of ``cells``; ``more`` is said of both.
    """
    size, turn = cells or (f"{place}[*].size", f"{place}[*].turn")
    return f"""
[[family.input]]
given = "forces[*].force"
take = "magnitude"
unit = "{unit}"
place = "{size}"
says = "size"
{more}
[[family.input]]
given = "forces[*].force"
take = "angle"
{_FROM_UP if from_up else ""}unit = "deg"
place = "{turn}"
says = "turn"
{more}
"""


def output(criterion: str, unit: str = "kN", place: str = "r", says: str = "r") -> str:
    """The size of the resultant."""
    return f"""
[[family.output]]
answer = "resultant"
take = "magnitude"
unit = "{unit}"
place = "{place}"
says = "{says}"
criterion = {criterion}
"""
