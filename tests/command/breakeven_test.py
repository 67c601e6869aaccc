"""deckle breakeven: every equality put back into the files and read off the footprint, forms, refusals."""
import csv
import io
import json
import re
import shutil
import unittest

import jsonschema

import support
from support import HERE, CommandTest, deckle, study_folder

SMALL = HERE / "small_study"
SCHEMA = json.loads((HERE / "breakeven.schema.json").read_text("utf-8"))
GRID = "small.grid_residual.climate.fossil"


def breakeven(study, result, *more):
    return deckle("breakeven", study, result, *more)


def report(study, result, *more):
    return breakeven(study, result, "--format", "json", *more).json()


def footprint(study, product, per="t"):
    found = deckle("footprint", study, "--format", "json", "--product", product, "--per", per, "--indicator", "climate").json()
    return found["results"][0]["value"]


class PutBack(CommandTest):
    def changed(self, name, pattern, value):
        folder = self.scratch / "study"
        folder.mkdir(exist_ok=True)
        for path in SMALL.iterdir():
            text = path.read_text("utf-8")
            if path.name == name:
                new = re.sub(pattern, rf"\g<1>{value!r} ", text, count=1)
                self.assertNotEqual(text, new)
                text = new
            (folder / path.name).write_text(text, "utf-8")
        return folder

    def test_a_value(self):
        found = report(SMALL, "results.sheet.t.climate", "--equal-to", "1200 kg CO2e", "--input", GRID)
        self.assertEqual(len(found["equalities"]), 1)
        at = found["equalities"][0]["at"]
        folder = self.changed("factors.yaml", r"(grid_residual:(?:.*\n)*?.*fossil: )[0-9.]+ ", at)
        self.assertAlmostEqual(footprint(folder, "sheet"), 1200, delta=1e-9)

    def test_two_results(self):
        """Towel and long towel differ in winding alone; per roll they meet where the long one is as long."""
        found = report(SMALL, "results.towel_long.roll.climate", "--equal-to", "results.towel.roll.climate",
                       "--input", "products.towel_long.roll.diameter", "--from", "60 mm", "--to", "200 mm")
        self.assertEqual(len(found["equalities"]), 1)
        self.assertAlmostEqual(found["equalities"][0]["at"], 115, delta=1e-9)  # the diameter of the other

    def test_where_it_lies_and_whether_both_move_is_said(self):
        one = breakeven(SMALL, "results.sheet.t.climate", "--equal-to", "1200 kg CO2e", "--input", GRID).out
        self.assertIn("equal at 0.2569 kg CO2e/kWh, below its value now\n", one)
        self.assertNotIn("Both results", one)
        both = ("results.bath_2ply.t.climate", "--equal-to", "results.bath_textured_3ply.t.climate", "--input",
                "invented_energy.northern_grid.climate.fossil")  # both mills buy from that grid
        text = breakeven(study_folder("demonstration"), *both).out
        self.assertIn(", above its value now\n", text)
        self.assertIn("Both results rest on this input", text)
        self.assertTrue(report(study_folder("demonstration"), *both)["both_rest"])
        self.assertFalse(report(SMALL, "results.sheet.t.climate", "--equal-to", "1200 kg CO2e", "--input", GRID)["both_rest"])

    def test_an_index(self):
        found = report(SMALL, "results.tissue.t.climate", "--index", "110", "--against", "results.sheet.t.climate",
                       "--input", "vorrelby.converting.uses.electricity", "--from", "0 kWh", "--to", "2000 kWh")
        at = found["equalities"][0]["at"]
        folder = self.changed("mill.yaml", r"(uses: \{sheet: 1 t, electricity: )120 ", at)
        self.assertAlmostEqual(footprint(folder, "tissue") / footprint(folder, "sheet"), 1.10, delta=1e-12)

    def test_a_line(self):
        found = report(SMALL, "results.sheet.t.climate", "--equal-to", "1200 kg CO2e", "--input", GRID, "--input",
                       "small.pulp.climate.fossil")
        steps = found["line"]["steps"]
        self.assertEqual(len(steps), 21)
        ends = [(one["value"], one["equalities"][0]["at"]) for one in steps if one["equalities"]]
        self.assertGreater(len(ends), 5)
        # both inputs are linear burdens: the points lie on one straight line
        (x0, y0), (x1, y1) = ends[0], ends[-1]
        for x, y in ends:
            self.assertAlmostEqual(y, y0 + (y1 - y0) * (x - x0) / (x1 - x0), delta=1e-9)


class Forms(CommandTest):
    QUESTION = ("results.sheet.t.climate", "--equal-to", "1200 kg CO2e", "--input", GRID)

    def test_results_of_unlike_units_are_told_apart(self):
        """Whether a count is rounded is no other unit."""
        options = ("--input", "products.towel_long.roll.diameter", "--from", "60 mm", "--to", "200 mm")
        found = breakeven(SMALL, "results.towel.m2.climate", "--equal-to", "results.towel_long.roll.climate", *options)
        self.assertIn("These are not results of one function: results.towel.m2_unrounded.climate is per m2, "
                      "results.towel_long.roll_unrounded.climate per roll.", " ".join(found.out.split()))
        nowhere = breakeven(SMALL, "results.towel.m2.climate", "--equal-to", "results.towel_long.roll.climate",
                            "--input", "vorrelby.converting.uses.electricity")
        self.assert_refused(nowhere, "these are not results of one function", "[no-equality]", status=3)
        alike = report(SMALL, "results.towel_long.roll.climate", "--equal-to", "results.towel.roll.climate",
                       "--input", "products.towel_long.roll.diameter", "--to", "200 mm")
        self.assertIsNone(alike["unlike_pers"])

    def test_what_counts_things_is_a_whole_number(self):
        """At 2 plies the footprint is the file's own."""
        found = report(SMALL, "results.towel.roll.climate", "--equal-to", "0.24 kg CO2e", "--input", "products.towel.plies")
        one = found["equalities"][0]
        self.assertEqual([at["at"] for at in one["whole"]], [2, 3])
        self.assertEqual(one["whole"][0]["sides"]["result"], found["result"]["value"])
        self.assertGreater(one["whole"][1]["sides"]["result"], 0.24)
        text = breakeven(SMALL, "results.towel.roll.climate", "--equal-to", "0.24 kg CO2e", "--input", "products.towel.plies").out
        self.assertIn("it counts whole things: at 2.000, 0.2249 against 0.2400 kg CO2e", text)
        other = report(SMALL, "results.towel.roll.climate", "--equal-to", "0.24 kg CO2e", "--input", "products.towel.grammage")
        self.assertEqual(other["equalities"][0]["whole"], [])

    def test_a_line_that_holds_for_a_stretch(self):
        """Without gas to shift the two scenarios are one and the same, whatever the grid emits."""
        study = study_folder("demonstration")
        words = ("results@electrode_boiler.all.period.climate", "--equal-to", "results@heat_pump.all.period.climate",
                 "--input", "invented_energy.northern_grid.climate.fossil", "--input", "fennaby.gas_boilers.uses.pipeline_gas")
        first = report(study, *words)["line"]["steps"][0]
        self.assertEqual([first["value"], first["equalities"][0]["kind"]], [0, "stretch"])
        text = breakeven(study, *words).out
        high = f'{first["equalities"][0]["high"]:.4g}'
        self.assertRegex(text, rf"\n *0 +0 to {high}")
        self.assertIn("to: equal all the way between the two.", text)

    def test_a_name_with_words_left_out(self):
        study = study_folder("demonstration")
        for typed, meant in (("invented_prices.pipeline_gas", "invented_prices.invented_energy.pipeline_gas"),
                             ("scenarios.heat_pump.changes.1.efficiency.to", "scenarios.heat_pump.changes.1.shifts.efficiency.to")):
            self.assert_refused(breakeven(study, "results@heat_pump.all.period.climate", "--equal-to", "1 kg CO2e", "--input", typed),
                                f"did you mean {meant}", "unknown-input")

    def test_it_follows_its_schema(self):
        jsonschema.Draft7Validator.check_schema(SCHEMA)
        for question in (self.QUESTION, (*self.QUESTION, "--input", "small.pulp.climate.fossil"),
                         ("results.towel.period.climate", "--equal-to", "1500 t CO2e", "--input",
                          "products.towel.roll.wound_thickness")):
            outcome = breakeven(SMALL, *question, "--format", "json")
            self.assert_done(outcome)
            jsonschema.validate(outcome.json(), SCHEMA)
        broken = report(SMALL, *self.QUESTION)
        broken["equalities"][0]["kind"] = "perhaps"
        with self.assertRaises(jsonschema.ValidationError):
            jsonschema.validate(broken, SCHEMA)

    def test_csv_holds_what_json_holds(self):
        found = report(SMALL, *self.QUESTION)
        rows = list(csv.DictReader(io.StringIO(breakeven(SMALL, *self.QUESTION, "--format", "csv").out, newline="")))
        self.assertEqual([float(row["at"]) for row in rows], [one["at"] for one in found["equalities"]])

    def test_text_says_which_range_and_both_sides(self):
        text = " ".join(breakeven(SMALL, *self.QUESTION).out.split())
        for part in ("results.sheet.t.climate = 1200 kg CO2e", f"Along {GRID}, now", "--from and --to choose another range",
                     "equal at", "against 1200 kg CO2e"):
            self.assertIn(part, text)

    def test_a_published_range_that_is_left_is_named(self):
        """Drives of 100,000 MWh for some 60,000 t: far above any published figure."""
        found = report(study_folder("demonstration"), "results.bath_2ply.t.climate", "--equal-to", "1800 kg CO2e", "--input",
                       "fennaby.bath_machine.uses.drives", "--to", "400000 MWh")
        codes = {one["code"] for one in found["equalities"][0]["findings"]}
        self.assertIn("range-electricity", codes)
        text = breakeven(study_folder("demonstration"), "results.bath_2ply.t.climate", "--equal-to", "1800 kg CO2e", "--input",
                         "fennaby.bath_machine.uses.drives", "--to", "400000 MWh").out
        self.assertIn("outside a published range: ", text)
        rows = list(csv.DictReader(io.StringIO(breakeven(
            study_folder("demonstration"), "results.bath_2ply.t.climate", "--equal-to", "1800 kg CO2e", "--input",
            "fennaby.bath_machine.uses.drives", "--to", "400000 MWh", "--format", "csv").out, newline="")))
        self.assertIn("range-electricity", rows[0]["outside_ranges"].split())

    def test_what_lies_inside_or_has_no_range_is_said_too(self):
        demonstration = study_folder("demonstration")
        power = ("--input", "fennaby.bath_machine.uses.drives")
        now = footprint(demonstration, "bath_2ply", "t_unrounded")
        near = breakeven(demonstration, "results.bath_2ply.t.climate", "--equal-to", f"{now * 1.001!r} kg CO2e", *power)
        self.assertIn("inside the published ranges that it moves within: electricity", near.out)
        grid = breakeven(demonstration, "results.bath_2ply.t.climate", "--equal-to", f"{now * 1.001!r} kg CO2e", "--input",
                         "invented_energy.northern_grid.climate.fossil")
        self.assertIn("no published range is known for what moves with it", grid.out)


class OfScenarios(CommandTest):
    CAUTION = "Caution: these figures compare footprints and are no design."
    NOTE = "demand on steam of fennaby changes"

    def study(self):
        folder = self.scratch / "study"
        shutil.copytree(study_folder("demonstration"), folder)
        for path in folder.rglob("scenarios.yaml"):  # the drier sheet's steam on the mix as a whole
            text = path.read_text("utf-8")
            path.write_text(re.sub(r"(?m)^ *- \{meet_change_of: steam, with: boiler_steam, in: fennaby, reason: the turbine runs on\}\n", "", text, count=1), "utf-8")
        study = folder / "study.yaml"
        study.write_text(study.read_text("utf-8").replace("../../factors/", f"{study_folder('demonstration').parents[1]}/factors/"), "utf-8")
        return folder

    def test_caution_and_what_building_noticed_stand_once(self):
        study = self.study()
        for today, scenario in (
                (("breakeven", "results.bath_2ply.t.climate", "--equal-to", "1800 kg CO2e"), ("breakeven", "results@drier_sheet.bath_2ply.t.climate", "--equal-to", "1800 kg CO2e")),
                (("sensitivity", "results.bath_2ply.t.climate"), ("sensitivity", "results@drier_sheet.bath_2ply.t.climate")),
                (("uncertainty", "--draws", "500"), ("uncertainty", "--draws", "500", "--scenario", "today", "--against", "drier_sheet"))):
            with self.subTest(today[0]):
                along = ("--input", "invented_energy.northern_grid.climate.fossil", "--to", "5 kg CO2e/kWh") if today[0] == "breakeven" else ()
                plain = " ".join(deckle(today[0], study, *today[1:], *along).out.split())
                self.assertNotIn(self.CAUTION, plain)
                text = " ".join(deckle(scenario[0], study, *scenario[1:], *along).out.split())
                self.assertEqual(text.count(self.CAUTION), 1)
                self.assertEqual(text.count(self.NOTE), 1)


class Refusals(CommandTest):
    def test_a_range_without_an_answer(self):
        outcome = breakeven(SMALL, "results.sheet.t.climate", "--equal-to", "10 kg CO2e", "--input", GRID)
        self.assert_refused(outcome, "meets its mark nowhere", "which this input cannot be", "[no-equality]", status=3)

    def test_an_input_that_does_not_matter(self):
        outcome = breakeven(SMALL, "results.steam.GJ.climate", "--equal-to", "70 kg CO2e", "--input", "products.towel.grammage")
        self.assert_refused(outcome, "does not rest on products.towel.grammage", "[does-not-rest-on]", status=3)

    def test_names_and_values(self):
        result = "results.sheet.t.climate"
        value = ("--equal-to", "1200 kg CO2e")
        for words, code in (((result, *value, "--input", "small.grid.climate.fosil"), "unknown-input"),
                            ((result, *value, "--input", "vorrelby.figures.evaporated"), "not-an-input"),
                            ((result, "--equal-to", "900 m3", "--input", GRID), "wrong-unit"),
                            ((result, "--equal-to", "900", "--input", GRID), "missing-unit"),
                            ((result, "--equal-to", "900 kgs", "--input", GRID), "unknown-unit"),
                            ((result, "--equal-to", "results.towel.t.fibre", "--input", GRID), "unlike-results"),
                            ((result, *value, "--input", GRID, "--from", "2 kg CO2e/kWh", "--to", "1 kg CO2e/kWh"), "bad-range"),
                            ((result, *value, "--input", GRID, "--from", "1 kg"), "wrong-unit"),
                            ((result, "--index", "x", "--against", "results.tissue.t.climate", "--input", GRID), "bad-index")):
            with self.subTest(code):
                self.assert_refused(breakeven(SMALL, *words), f"[{code}]")

    def test_usage(self):
        result = "results.sheet.t.climate"
        for words in ((), ("--input", GRID), ("--equal-to", "1 kg CO2e"), ("--input", GRID, "--index", "93"),
                      ("--input", GRID, "--equal-to", "1 kg CO2e", "--index", "93", "--against", result),
                      ("--input", GRID, "--input", GRID, "--equal-to", "1 kg CO2e", "--from", "0 kg CO2e/kWh"),
                      ("--input", GRID, "--input", GRID, "--input", GRID, "--equal-to", "1 kg CO2e")):
            with self.subTest(words):
                self.assert_refused(breakeven(SMALL, result, *words), "[usage]")


if __name__ == "__main__":
    support.main()
