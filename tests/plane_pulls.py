"""The mapping of a made-up calculator of plane pulls, for tests that need some calculator."""


def inputs(unit: str = "kN", place: str = "pulls") -> str:
    """Each pull by its size and its turn from +x towards +y."""
    return f"""
[[family.input]]
given = "forces[*].force"
take = "magnitude"
unit = "{unit}"
place = "{place}[*].size"
says = "size"

[[family.input]]
given = "forces[*].force"
take = "angle"
unit = "deg"
place = "{place}[*].turn"
says = "turn"
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
