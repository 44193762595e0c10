"""A worker process that holds one workbook in LibreOffice Calc.

Run by path under the system's own Python, where this project is not installed, with the
soffice program and a private folder as arguments. It imports its neighbour ``worker_loop``
by the folder both lie in.
"""
# mypy: ignore-errors

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

from worker_loop import OWN, Refused, claim_stdout, serve, write_line

RESTART_EXIT = 81
STARTS = 3
CONNECT_EVERY = 0.05

VALUE, DATETIME, STRING, FORMULA = 1, 2, 4, 16
CONTENTS = VALUE | DATETIME | STRING | FORMULA
LOGICAL_FORMAT = 1024
NO_UPDATE = 0
NEVER_EXECUTE = 0

ERROR_CODES = {
    503: "#NUM!",
    519: "#VALUE!",
    524: "#REF!",
    525: "#NAME?",
    532: "#DIV/0!",
    32767: "#N/A",
}
"""Error numbers of LibreOffice Calc (its help, "Error Codes in LibreOffice Calc") that have
a standard word; the others keep the program's own, such as ``Err:502``."""

FILTERS = {
    ".xlsx": "Calc MS Excel 2007 XML",
    ".xlsm": "Calc MS Excel 2007 VBA XML",
    ".ods": "calc8",
    ".xls": "MS Excel 97",
}
"""The import filter by the kind of workbook: left to itself the program opens a damaged
workbook as a text file, or as an empty workbook, and says nothing."""

SETTINGS = (
    ("Office.Calc/Formula/Load", "OOXMLRecalcMode", 0),
    ("Office.Calc/Formula/Load", "ODFRecalcMode", 0),
    ("Office.Calc/Content/Update", "Link", 2),
    ("Office.Common/Security/Scripting", "MacroSecurityLevel", 3),
    ("Office.Common/Security/Scripting", "DisableMacrosExecution", "true"),
    ("Office.Common/Security/Scripting", "BlockUntrustedRefererLinks", "true"),
    ("Office.Common/Misc", "UseLocking", "false"),
    ("Setup/L10N", "ooLocale", "en-US"),
    ("Setup/L10N", "ooSetupSystemLocale", "en-US"),
)
"""The private profile: always recalculate on loading, no links, no macros, English."""


def write_profile(profile):
    items = "".join(
        f'<item oor:path="/org.openoffice.{path}"><prop oor:name="{name}" oor:op="fuse">'
        f"<value>{value}</value></prop></item>\n"
        for path, name, value in SETTINGS
    )
    user = profile / "user"
    user.mkdir(parents=True)
    (user / "registrymodifications.xcu").write_text(
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<oor:items xmlns:oor="http://openoffice.org/2001/registry" '
        'xmlns:xs="http://www.w3.org/2001/XMLSchema" '
        'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">\n' + items + "</oor:items>\n",
        encoding="utf-8",
    )


class Office:
    """A running LibreOffice with a profile of its own, and the way to talk to it.

    Profile and pipe are those of this worker alone. A program that was killed may take a
    while to go: until then its pipe still takes connections, and another program with its
    profile would find it there, hand over to it and end.
    """

    def __init__(self, soffice, folder):
        self.soffice = soffice
        for left in folder.glob("profile-*"):
            shutil.rmtree(left, ignore_errors=True)
        self.profile = folder / f"profile-{os.getpid()}"
        self.pipe = f"{folder.name}-{os.getpid()}"
        write_profile(self.profile)
        self.context = self._start()
        self.desktop = self.create("com.sun.star.frame.Desktop")

    def _start(self):
        for _ in range(STARTS):
            self.process = subprocess.Popen(
                [
                    self.soffice,
                    f"-env:UserInstallation={self.profile.as_uri()}",
                    "--headless",
                    "--norestore",
                    "--nologo",
                    "--nodefault",
                    "--nofirststartwizard",
                    f"--accept=pipe,name={self.pipe};urp;StarOffice.ComponentContext",
                ],
                stdin=subprocess.DEVNULL,
            )
            context = self._connect()
            if context is not None:
                return context
        raise RuntimeError(f"{self.soffice} asked to be started again {STARTS} times")

    def _connect(self):
        """The context of the program just started; None where it asks for another start."""
        local = uno.getComponentContext()
        resolver = local.ServiceManager.createInstanceWithContext(
            "com.sun.star.bridge.UnoUrlResolver", local
        )
        while True:
            try:
                return resolver.resolve(
                    f"uno:pipe,name={self.pipe};urp;StarOffice.ComponentContext"
                )
            except uno.getClass("com.sun.star.connection.NoConnectException"):
                ended = self.process.poll()
                if ended == RESTART_EXIT:
                    return None
                if ended is not None:
                    raise RuntimeError(f"{self.soffice} ended with {ended}") from None
                time.sleep(CONNECT_EVERY)

    def create(self, service):
        return self.context.ServiceManager.createInstanceWithContext(service, self.context)

    def has_calc(self):
        return self.create("com.sun.star.comp.Calc.SpreadsheetDocument") is not None

    def identity(self):
        provider = self.create("com.sun.star.configuration.ConfigurationProvider")
        product = provider.createInstanceWithArguments(
            "com.sun.star.configuration.ConfigurationAccess",
            (_property("nodepath", "/org.openoffice.Setup/Product"),),
        )
        return f"{product.ooName} Calc {product.ooSetupVersionAboutBox}"

    def load(self, path):
        return self.desktop.loadComponentFromURL(
            uno.systemPathToFileUrl(path),
            "_blank",
            0,
            (
                _property("Hidden", True),
                _property("FilterName", FILTERS[Path(path).suffix]),
                _property("MacroExecutionMode", NEVER_EXECUTE),
                _property("UpdateDocMode", NO_UPDATE),
            ),
        )

    def close(self):
        try:
            self.desktop.terminate()
            self.process.wait(10)
        except Exception:  # it may be gone already; the group's end takes what is left
            self.process.kill()


class Block:
    """A rectangle of cells fetched once, and where its cells stand in a list."""

    def __init__(self, sheet, left, top, right, bottom, places):
        self.range = sheet.getCellRangeByPosition(left, top, right, bottom)
        self.places = places
        """Rows of indices into the list of cells."""


class Plan:
    """A list of cells, their objects fetched once, gathered into blocks."""

    def __init__(self, sheets, cells):
        self.cells = cells
        self._sheets = sheets
        self._objects = [None] * len(cells)
        self.blocks = [
            Block(sheets[sheet], left, top, right, bottom, places)
            for sheet, left, top, right, bottom, places in rectangles(cells)
        ]

    def object(self, index):
        if self._objects[index] is None:
            sheet, row, column = self.cells[index]
            self._objects[index] = self._sheets[sheet].getCellByPosition(column - 1, row - 1)
        return self._objects[index]


def rectangles(cells):
    """Cover the cells, and nothing else, with few rectangles (bounds from 0)."""
    place = {}
    for index, cell in enumerate(cells):
        place.setdefault(tuple(cell), index)
    runs = {}
    for sheet, row, column in sorted(place, key=lambda c: (c[0], c[2], c[1])):
        last = runs.get((sheet, column))
        if last and last[-1][1] == row - 1:
            last[-1][1] = row
        else:
            runs.setdefault((sheet, column), []).append([row, row])
    wide = []
    open_runs = {}
    for (sheet, column), spans in sorted(runs.items()):
        for top, bottom in spans:
            key = (sheet, top, bottom)
            if key in open_runs and open_runs[key][4] == column - 1:
                open_runs[key][4] = column
            else:
                open_runs[key] = [sheet, top, column, bottom, column]
                wide.append(open_runs[key])
    return [
        (
            sheet,
            left - 1,
            top - 1,
            right - 1,
            bottom - 1,
            [
                [place[sheet, row, column] for column in range(left, right + 1)]
                for row in range(top, bottom + 1)
            ],
        )
        for sheet, top, left, bottom, right in wide
    ]


class OfficeBook:
    """One workbook in LibreOffice Calc; see ``worker_loop`` for what each method does."""

    def __init__(self, office):
        self.office = office
        self.document = None
        self.path = ""
        self.sheets = {}
        self.own = {}
        self.logical = {}

    def open(self, path):
        self._let_go()
        self.path = path
        document = self.office.load(path)
        if document is None:
            raise Refused("it cannot open this workbook (damaged, or protected by a password)")
        self.document = document
        if not document.supportsService("com.sun.star.sheet.SpreadsheetDocument"):
            self._let_go()
            raise Refused("it does not see a workbook in this file")
        document.enableAutomaticCalculation(False)
        document.calculateAll()
        sheets = document.Sheets
        self.sheets = {name: sheets.getByName(name) for name in sheets.ElementNames}
        return {"sheets": list(sheets.ElementNames)}

    def plan(self, cells):
        for sheet, _, _ in cells:
            if sheet not in self.sheets:
                raise Refused(f"the workbook has no sheet {sheet!r}")
        return Plan(self.sheets, cells)

    def put(self, plan, values):
        self._remember(plan)
        values = [
            self.own[tuple(cell)] if value == OWN else value
            for cell, value in zip(plan.cells, values, strict=True)
        ]
        for block in plan.blocks:
            block.range.setDataArray(
                tuple(tuple(_in_block(values[index]) for index in row) for row in block.places)
            )
        for index, value in enumerate(values):
            if not isinstance(value, float) and value is not None:
                self._put_special(plan.object(index), value)

    def _remember(self, plan):
        for index, cell in enumerate(plan.cells):
            if tuple(cell) not in self.own:
                self._refuse_locked(cell, plan.object(index))
                self.own[tuple(cell)] = self._contents(plan.object(index))

    def _refuse_locked(self, cell, fetched):
        if self.sheets[cell[0]].isProtected() and fetched.CellProtection.IsLocked:
            raise Refused(
                f"the cell in row {cell[1]}, column {cell[2]} of the protected sheet "
                f"{cell[0]!r} is locked: nobody can type into it"
            )

    def _contents(self, cell):
        """What the cell holds now: a value, or a formula as a one-element tuple."""
        kind = cell.Type.value
        if kind == "FORMULA":
            if cell.getArrayFormula():
                raise Refused("it cannot set a cell that an array formula fills")
            return (cell.getFormula(),)
        return {"EMPTY": None, "VALUE": cell.getValue(), "TEXT": cell.getString()}[kind]

    def _put_special(self, cell, value):
        """Set a text, a boolean or a formula without changing the cell's number format.

        A text that looks like a number would otherwise turn the format into ``@`` for good.
        """
        number_format = cell.NumberFormat
        if isinstance(value, bool):
            cell.setFormula("=TRUE()" if value else "=FALSE()")
        elif isinstance(value, str):
            cell.setString(value)
        else:
            cell.setFormula(value[0])
        if isinstance(value, str) and cell.NumberFormat != number_format:
            cell.NumberFormat = number_format

    def recalculate(self):
        self.document.calculate()

    def read(self, plan, shown):
        return self._values(plan), [plan.object(index).getString() for index in range(shown)]

    def _values(self, plan):
        answer = [None] * len(plan.cells)
        for block in plan.blocks:
            for data, places in zip(block.range.getDataArray(), block.places, strict=True):
                for value, index in zip(data, places, strict=True):
                    answer[index] = self._value(value, plan, index)
        return self._with_repeats(plan, answer)

    def _with_repeats(self, plan, answer):
        """A cell asked twice stands in a block once only."""
        first = {}
        for index, cell in enumerate(plan.cells):
            answer[index] = answer[first.setdefault(tuple(cell), index)]
        return answer

    def _value(self, value, plan, index):
        if isinstance(value, float):
            return self._truth(value, plan, index) if value in (0.0, 1.0) else value
        if value:
            return value
        cell = plan.object(index)
        if value is None:
            error = cell.getError()
            return [ERROR_CODES.get(error, f"Err:{error}")]
        return None if cell.Type.value == "EMPTY" else ""

    def _truth(self, value, plan, index):
        """A boolean is a number with a logical format here; tell the two apart by it."""
        key = plan.object(index).NumberFormat
        if key not in self.logical:
            kind = self.document.NumberFormats.getByKey(key).Type
            self.logical[key] = bool(kind & LOGICAL_FORMAT)
        return bool(value) if self.logical[key] else value

    def restore(self):
        if self.own:
            plan = Plan(self.sheets, list(self.own))
            self.put(plan, [OWN] * len(plan.cells))
            self.own = {}

    def renewed(self):
        """With iterative calculation a circular reference goes on from where it was."""
        if not self.document.IsIterationEnabled:
            return False
        self.open(self.path)
        return True

    def export(self, path):
        self.document.storeToURL(
            uno.systemPathToFileUrl(path), (_property("FilterName", FILTERS[".xlsx"]),)
        )

    def _let_go(self):
        if self.document is not None:
            self.document.close(True)
        self.document, self.sheets, self.own, self.logical = None, {}, {}, {}

    def close(self):
        try:
            self._let_go()
        except Exception:  # the program may be gone already
            self.document = None
        self.office.close()


def _in_block(value):
    """A number, or an empty text, which blanks a cell (None would become #N/A)."""
    return value if isinstance(value, float) else ""


def _property(name, value):
    pair = PropertyValue()
    pair.Name, pair.Value = name, value
    return pair


def main():
    global uno, PropertyValue
    answers = claim_stdout()
    try:
        import uno
        from com.sun.star.beans import PropertyValue
    except ImportError:
        write_line(answers, {"absent": f"{sys.executable} cannot talk to LibreOffice"})
        return
    office = Office(sys.argv[1], Path(sys.argv[2]))
    if not office.has_calc():
        write_line(answers, {"absent": "LibreOffice is installed without Calc"})
        office.close()
        return
    write_line(answers, {"identity": office.identity()})
    serve(OfficeBook(office), answers)


if __name__ == "__main__":
    main()
