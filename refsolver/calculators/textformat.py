"""A calculator's own text format: what it is given, what it prints, how numbers are read.

The public names of :mod:`inputtext`, :mod:`outputtext` and :mod:`numbertext` in one place.
"""

from refsolver.calculators.inputtext import InputTemplate, Rendered, TemplateProblem, render_json
from refsolver.calculators.numbertext import NumberText, UnreadableNumber, read_number
from refsolver.calculators.outputtext import (
    Column,
    FixedColumns,
    Found,
    OutputPattern,
    PatternProblem,
    ResultTable,
    UnreadableOutput,
    Which,
    matches_in_echo,
)

__all__ = [
    "Column",
    "FixedColumns",
    "Found",
    "InputTemplate",
    "NumberText",
    "OutputPattern",
    "PatternProblem",
    "Rendered",
    "ResultTable",
    "TemplateProblem",
    "UnreadableNumber",
    "UnreadableOutput",
    "Which",
    "matches_in_echo",
    "read_number",
    "render_json",
]
