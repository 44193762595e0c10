"""Proven reference values for engineering statics, put to a calculator under test.

The public interface, loaded when it is first asked for:

- :func:`solve_case`: the proven answers of a case, by id or file;
- :func:`prove`: proven values of chosen views of a family's answers;
- :func:`family`, :func:`families`: what can be asked;
- :class:`Catalogue`: the cases that come along;
- :func:`read_calculator_file`, :func:`run_check`: a check without the command line;
- :func:`read_record`: a record from its file; its ``to_frame()`` gives the findings as a
  pandas data frame.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from refsolver._version import __version__

if TYPE_CHECKING:
    from refsolver.calculators.file import read_calculator_file
    from refsolver.catalogue.catalogue import Catalogue
    from refsolver.reporting.record import read_record
    from refsolver.runs.check import run_check
    from refsolver.runs.solving import solve_case
    from refsolver.statics.prover import prove
    from refsolver.statics.registry import families, family

__all__ = [
    "Catalogue",
    "__version__",
    "families",
    "family",
    "prove",
    "read_calculator_file",
    "read_record",
    "run_check",
    "solve_case",
]

_HOME = {
    "Catalogue": "refsolver.catalogue.catalogue",
    "families": "refsolver.statics.registry",
    "family": "refsolver.statics.registry",
    "prove": "refsolver.statics.prover",
    "read_calculator_file": "refsolver.calculators.file",
    "read_record": "refsolver.reporting.record",
    "run_check": "refsolver.runs.check",
    "solve_case": "refsolver.runs.solving",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'refsolver' has no attribute {name!r}")
    return getattr(importlib.import_module(_HOME[name]), name)
