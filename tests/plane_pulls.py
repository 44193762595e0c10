"""The mapping of a made-up calculator of plane pulls, for tests that need some calculator."""

INPUTS = """
[[family.input]]
given = "forces[*].force"
take = "magnitude"
unit = "kN"
place = "pulls[*].size"
says = "size"

[[family.input]]
given = "forces[*].force"
take = "angle"
unit = "deg"
place = "pulls[*].turn"
says = "turn"
"""
