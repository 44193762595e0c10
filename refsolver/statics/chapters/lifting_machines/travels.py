"""How far load and effort of a machine travel, each wheel, pulley and nut moved once."""

from __future__ import annotations

from typing import Any

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.statics.contract import Residual

__all__ = ["travel_residual"]


def travel_residual(given: Any, ratio: Number, ar: Arithmetic) -> Residual:
    """The velocity ratio against both travels, the gears walked from the machine outward."""
    effort, load = _travels(given, ar)
    for gear in given.gears:
        effort, load = effort * gear.driven, load * gear.driver
    return Residual("travels of effort and load", ratio * load - effort, ar.size(effort))


def _travels(given: Any, ar: Arithmetic) -> tuple[Number, Number]:
    """Travel of the effort (at the machine's own handle, rope or lever) and of the load."""
    one, kind = ar.bring(fmpq(1)), given.kind
    if kind.startswith("pulleys"):
        return _ropes(kind, given.pulleys, one), one
    if kind == "gears alone":
        return one, one
    if kind == "stated ratio":
        return ar.bring(given.velocity_ratio), one
    load_arm, turn = ar.bring(given.load_arm), 2 * ar.pi()
    effort_arm = load_arm if given.effort_arm is None else ar.bring(given.effort_arm)
    if kind == "arms":
        return effort_arm / 8, load_arm / 8
    if kind == "screw":
        return turn * effort_arm, load_arm
    smaller = ar.bring(given.smaller)
    if kind == "differential screw":
        return turn * effort_arm, load_arm - smaller
    wound, unwound = turn * load_arm, turn * smaller
    return turn * effort_arm, (wound - unwound) / 2


def _ropes(kind: str, pulleys: int, one: Number) -> Number:
    """Rope hauled in while the load rises by one, pulley after pulley from the load."""
    if kind == "pulleys, second order":  # the parts of one rope, each as much shorter
        return sum((one for _ in range(pulleys - 1)), one)
    hauled = 0 * one if kind == "pulleys, third order" else one
    for _ in range(pulleys):
        hauled = 2 * hauled
        if kind == "pulleys, third order":  # this rope is made fast to the load that rises
            hauled = hauled + one
    return hauled
