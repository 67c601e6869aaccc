"""deckle workbook: recalculated by LibreOffice it gives the engine's figures; hostile texts; limits; whole files."""
import os
import re
import resource
import subprocess
import sys
import unittest
from xml.etree import ElementTree

import spreadsheet
import support
from support import HERE, CommandTest, deckle, study_folder

SMALL = HERE / "small_study"
TOLERANCE = 1e-9  # relative: what an auditor can hold against both
BREAKOUTS = {"stage": "stage", "scope": "scope", "gas": "gas", "process": "process", "input": "factor"}
needs_office = unittest.skipIf(spreadsheet.OFFICE is None, "LibreOffice is not installed (Debian package libreoffice-calc-nogui)")


def footprint(study, *more):
    outcome = deckle("footprint", study, "--format", "json", *more)
    assert outcome.status == 0, outcome.err
    return outcome.json()["results"]


class Recalculated(CommandTest):
    """Comparisons of sheets with the engine's JSON."""

    def workbook(self, study, *more, name="study.xlsx"):
        path = self.scratch / name
        self.assert_done(deckle("workbook", study, "-o", path, *more))
        return path

    def assert_close(self, found, expected, where):
        self.assertLessEqual(abs(float(found) - expected), TOLERANCE * abs(expected), f"{where}: {found}, engine {expected}")

    def assert_results(self, sheet, results, address=lambda result: result["address"]):
        """Every result of the engine stands in the sheet with its value, and no other does."""
        self.assertEqual(sheet[0][6], "value (live)")
        rows = {row[0]: row for row in sheet[1:]}
        self.assertEqual(len(rows), len(sheet) - 1)
        self.assertEqual(set(rows), {address(result) for result in results})
        for result in results:
            row = rows[address(result)]
            if result["coverage"] == "not_covered":
                self.assertEqual(row[5:12], ["not covered"] + [""] * 6)
                continue
            for column, key in ((6, "value"), (10, "market"), (11, "location")):
                self.assert_close(row[column], result[key], f"{row[0]} {key}")

    def tables(self, sheet):
        """{(title, by, unit, per): {column: {group: value}}} of the break-out."""
        found = {}
        for number, row in enumerate(sheet):
            head = re.fullmatch(r"(.*) by (\w+) \[(.*) per (.*)\]", row[0]) if row and row[0] else None
            if head is None:
                continue
            columns = [text for text in sheet[number + 1][1:] if text]
            table = found[head.groups()] = {column: {} for column in columns}
            for line in sheet[number + 2:]:
                for column, value in zip(columns, line[1:]):
                    table[column][line[0]] = float(value)
                if line[0] == "the result less this sum":
                    break
        return found

    def assert_breakouts(self, sheet, study, scenario=None):
        """Groups of the engine with their values; what the engine does not name is zero."""
        tables = self.tables(sheet)
        self.assertGreater(len(tables), 3)
        titles = {}
        more = ["--scenario", scenario] if scenario else []
        for result in footprint(study, *more, "--by", "stage", "--by", "gas", "--by", "process", "--by", "factor"):
            titles[(result["of"], result["per"], result["indicator"])] = result
        for result in footprint(study, *more, "--by", "scope", "--indicator", "climate"):
            titles[(result["of"], result["per"], "climate")]["by"].update(result["by"])
        compared = 0
        for (title, by, unit, per), table in tables.items():
            indicator = "climate" if title.startswith("climate") else "water_consumed"
            for product, groups in table.items():
                engine = titles[(product, per, indicator)]
                self.assertEqual(unit, engine["unit"])
                expected = {one["name"] or "(none)": one["value"] for one in engine["by"][BREAKOUTS[by]]}
                size = sum(map(abs, expected.values()))
                self.assertLessEqual(abs(groups.pop("the result less this sum")), TOLERANCE * size)
                self.assertLessEqual(abs(groups.pop("sum") - engine["value"]), TOLERANCE * size)
                self.assertLessEqual(set(expected), set(groups))
                for group, value in groups.items():
                    self.assertLessEqual(abs(value - expected.get(group, 0.0)), TOLERANCE * size, f"{product} {title} {group}")
                    compared += 1
        self.assertGreater(compared, 30)


@needs_office
class SpreadsheetProgram(Recalculated):
    def test_every_shipped_study(self):
        """All results and break-outs from spoilt files; with scenarios too."""
        studies = {name: study_folder(name) for name in ("worked_example", "demonstration")}
        studies["small_study"] = SMALL
        paths = {name: self.workbook(study, name=f"{name}.xlsx") for name, study in studies.items()}
        scenarios = ("--scenario", "heat_pump", "--scenario", "contracted_power", "--product", "bath_2ply")
        with_scenarios = self.workbook(studies["demonstration"], *scenarios, name="scenarios.xlsx")
        market = self.workbook(studies["demonstration"], "--electricity", "market", "--product", "bath_2ply", name="market.xlsx")
        found = spreadsheet.recalculated([*paths.values(), with_scenarios, market])
        for name, study in studies.items():
            with self.subTest(name):
                book = found[paths[name]]
                self.assert_results(book["Results"], footprint(study))
                self.assert_breakouts(book["Breakout"], study)
                said = {row[0]: row[1] for row in book["How to read"]}
                self.assertLess(float(said["Largest difference"]), TOLERANCE)
                self.assertEqual(said["That is"], "every result equals the engine's")
                self.assertFalse([row for sheet in book.values() for row in sheet if any(
                    re.match("#|Err:", cell) for cell in row)])
        self.assert_results(found[with_scenarios]["Results"], footprint(studies["demonstration"], *scenarios))
        results = footprint(studies["demonstration"], "--electricity", "market", "--product", "bath_2ply")
        self.assert_results(found[market]["Results"], results)

    def changed(self, name, shares):
        """A study with a scenario that scales inputs, and its workbook with the same cells changed."""
        lines = "".join(f"      - {{scale: {address}, by: {share}, reason: a test}}\n" for address, share in shares.items())
        folder = self.copy_of(name, study__yaml=lambda text: re.sub(r"\n(scenarios: .*)?$", "\nscenarios: [changed.yaml]\n", re.sub(
            r"\nscenarios: .*", "", text).replace("../../factors", str(support.SOURCE / "factors")), count=1))
        self.write(f"{name}/changed.yaml", f"scenarios:\n  changed:\n    title: Changed\n    changes:\n{lines}")
        path = self.workbook(folder, name=f"{name}.xlsx")
        files = spreadsheet.members(path)
        spreadsheet.change_inputs(files, {address: lambda value, share=share: value * share for address, share in shares.items()})
        spreadsheet.write(path, files)
        return folder, path

    def assert_follows(self, folder, book):
        results = footprint(folder, "--scenario", "changed")
        self.assert_results(book["Results"], results, lambda result: result["address"].replace("@changed", ""))
        self.assert_breakouts(book["Breakout"], folder, "changed")
        said = {row[0]: row[1] for row in book["How to read"]}
        self.assertTrue(said["That is"].startswith("not the engine's results"))

    def test_a_changed_cell_changes_what_the_engine_changes(self):
        """A scenario that scales an amount is the engine's way to the same change. Amounts, a coefficient of a loop,
        the moisture of a sheet, factors, products."""
        worked = {"vellomere.figures.press_dryness": 1.05, "vellomere.converting.makes.broke": 1.5,
                  "vellomere.tissue_machine.uses.natural_gas": 0.8, "products.bath_3ply.grammage": 1.04,
                  "vellomere.tissue_machine.uses.bleached_pulp.freight.1.distance": 0.3}
        demonstration = {"fennaby.bath_machine.uses.hood_burners": 0.9, "fennaby.gas_boilers.uses.pipeline_gas": 1.02,
                         "products.bath_2ply.grammage": 1.03, "marrowen.tissue_machine.uses.through_air_fans": 0.85}
        books = {name: self.changed(name, shares) for name, shares in
                 (("worked_example", worked), ("demonstration", demonstration))}
        found = spreadsheet.recalculated([path for _, path in books.values()])
        for name, (folder, path) in books.items():
            with self.subTest(name):
                self.assert_follows(folder, found[path])


if __name__ == "__main__":
    support.main()
