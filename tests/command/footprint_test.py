"""The footprint report in its three forms, read back and re-added outside Deckle."""
import csv
import io
import json
import math
import re
import shutil
import struct
import unittest

import jsonschema

import support
from support import HERE, CommandTest, deckle, study_folder

SMALL = HERE / "small_study"
SCHEMA = json.loads((HERE / "footprint.schema.json").read_text("utf-8"))
BREAKOUTS = ("stage", "process", "user", "use", "factor", "gas", "scope")


def shipped():
    return [SMALL, *support.shipped()]


def all_breakouts():
    return [word for by in BREAKOUTS for word in ("--by", by)]


def csv_rows(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


class Json(CommandTest):
    def test_it_follows_its_schema(self):
        jsonschema.Draft7Validator.check_schema(SCHEMA)
        for study in shipped():
            outcome = deckle("footprint", study, "--format", "json", "--by", "stage")
            self.assert_done(outcome)
            jsonschema.validate(outcome.json(), SCHEMA)

    def test_the_schema_can_refuse(self):
        report = deckle("footprint", SMALL, "--format", "json").json()
        report["results"][0]["value"] = None
        with self.assertRaises(jsonschema.ValidationError):
            jsonschema.validate(report, SCHEMA)

    def test_contributions_add_up_in_every_breakout(self):
        """Euler's theorem on homogeneous functions of degree one: burden × derivative adds to the whole."""
        for study in shipped():
            report = deckle("footprint", study, "--format", "json", *all_breakouts()).json()
            for result in report["results"]:
                for by, rows in result["by"].items():
                    absolute = sum(abs(row["value"]) for row in rows)
                    total = math.fsum(row["value"] for row in rows)
                    self.assertLessEqual(abs(total - result["value"]), 1e-12 * absolute + 1e-300,
                                         f"{result['address']} by {by}")

    def test_shares_are_those_of_the_unrounded_values(self):
        for study in shipped():
            report = deckle("footprint", study, "--format", "json", "--by", "stage", "--by", "user").json()
            for result in report["results"]:
                for rows in result["by"].values():
                    shares = [row["share"] for row in rows]
                    if None in shares:
                        self.assertEqual(set(shares), {None})
                        continue
                    for row in rows:
                        self.assertAlmostEqual(row["share"] * result["value"], row["value"], delta=1e-12 * abs(result["value"]))
                    if rows:
                        self.assertAlmostEqual(math.fsum(shares), 1.0, delta=1e-11)

    def test_scopes_are_for_climate_alone(self):
        report = deckle("footprint", SMALL, "--format", "json", "--by", "scope").json()
        for result in report["results"]:
            expected = result["unit"] == "kg CO2e" and result["coverage"] != "not_covered"
            self.assertEqual("scope" in result["by"], expected, result["address"])
            names = [row["name"] for row in result["by"].get("scope", [])]
            self.assertEqual(names, sorted(names), "scopes stand in the order of their numbers")
        self.assert_refused(deckle("footprint", SMALL, "--by", "scope", "--indicator", "water_consumed"),
                            "water_consumed has no scopes", "[no-break-out]")

    def test_findings_are_those_of_check(self):
        """Of today; what check finds in the mills of scenarios belongs to those."""
        report = deckle("footprint", SMALL, "--format", "json").json()
        checked = deckle("check", SMALL, "--format", "json").json()
        today = [one for one in checked["findings"] if not one["message"].startswith("in scenario ")]
        self.assertLess(len(today), len(checked["findings"]))
        self.assertEqual([(one["code"], one["message"]) for one in report["findings"]],
                         [(one["code"], one["message"]) for one in today])
        self.assertTrue(report["findings"])

    def test_both_views_of_electricity(self):
        report = deckle("footprint", SMALL, "--format", "json", "--indicator", "climate").json()
        self.assertEqual(report["study"]["electricity"], "market")
        for result in report["results"]:
            self.assertEqual(result["value"], result["market"])
        power = next(r for r in report["results"] if r["of"] == "electricity")
        self.assertEqual((power["market"], power["location"]), (0.5, 0.2))  # as typed in factors.yaml

    def test_one_view_asked(self):
        report = deckle("footprint", SMALL, "--format", "json", "--electricity", "location").json()
        for result in report["results"]:
            self.assertTrue(result["address"].endswith(".location"))
            self.assertEqual(result["value"], result["location"])

    def test_numbers_are_the_shortest_that_read_back(self):
        """Python's repr is the shortest round trip too; both must read back to the same bits."""
        text = deckle("footprint", SMALL, "--format", "json").out
        for typed in re.findall(r'"value": (-?[0-9.e+-]+)', text):
            value = float(typed)
            self.assertEqual(struct.pack("d", float(repr(value))), struct.pack("d", value))
            digits = re.sub(r"e.*|[-.]", "", typed).strip("0")
            self.assertLessEqual(len(digits), len(re.sub(r"e.*|[-.]", "", repr(value)).strip("0")), typed)

    def test_whole_sheets(self):
        """by hand: floor(pi (115² − 40²) / (4 · 0.6) / 230) = 66"""
        count = math.floor(math.pi * (115**2 - 40**2) / (4 * 0.6) / 230)
        report = deckle("footprint", SMALL, "--format", "json", "--product", "towel").json()
        self.assertEqual({result["whole_count"] for result in report["results"]}, {count})

    def test_coverage_is_told_with_its_factor_and_uses(self):
        report = deckle("footprint", SMALL, "--format", "json", "--product", "sheet").json()
        gap = next(g for g in report["coverage"] if g["indicator"] == "climate_biogenic")
        self.assertEqual((gap["is"], gap["factor"]), ("in_another_line", "small.resin"))
        self.assertEqual(len(gap["uses"]), 1)
        self.assertIn("resin", gap["uses"][0])

    def test_same_study_same_bytes(self):
        words = ("footprint", support.shipped()[-1], "--format", "json", "--by", "factor")
        self.assertEqual(deckle(*words).out, deckle(*words).out)


class Csv(CommandTest):
    def test_it_says_what_json_says(self):
        words = ("footprint", SMALL, "--by", "stage")
        report = deckle(*words, "--format", "json").json()
        rows = csv_rows(deckle(*words, "--format", "csv").out)
        results = [row for row in rows if not row["by"]]
        self.assertEqual(len(results), len(report["results"]))
        for row, result in zip(results, report["results"]):
            self.assertEqual(row["address"], result["address"])
            self.assertEqual(row["value"], "" if result["value"] is None else row["value"])
            if result["value"] is not None:
                self.assertEqual(float(row["value"]), result["value"])
        contributions = [row for row in rows if row["by"]]
        self.assertEqual(len(contributions), sum(len(r["by"].get("stage", [])) for r in report["results"]))

    def test_lines_end_as_rfc_4180_wants(self):
        """RFC 4180, 2.1: lines are delimited by CRLF."""
        text = deckle("footprint", SMALL, "--format", "csv").out
        self.assertEqual(text.count("\n"), text.count("\r\n"))
        self.assertTrue(text.endswith("\r\n"))


class Text(CommandTest):
    def test_of_a_gap_fuels_power_and_heat_stand_first(self):
        """The through-air mill's gas states no water; chemicals that come before it by name do not push it off the line."""
        study = study_folder("demonstration")
        kinds = {one["address"]: one["kind"] for one in deckle("factors", study, "--format", "json").json()["factors"]}
        gaps = deckle("footprint", study, "--format", "json").json()["coverage"]
        for indicator in {gap["indicator"] for gap in gaps}:
            order = [kinds.get(gap["factor"]) not in ("fuel", "electricity", "heat") for gap in gaps
                     if gap["indicator"] == indicator]
            self.assertEqual(order, sorted(order), indicator)
        line = re.search(r"water_consumed[^:]*: not stated by ([^,]*),", " ".join(deckle("footprint", study).out.split())).group(1)
        self.assertTrue(line.startswith("fuels_eu."), line)

    def test_every_table_has_the_order_of_the_study(self):
        study = study_folder("demonstration")
        found = deckle("footprint", study, "--format", "json").json()["results"]
        order = {per: [one["of"] for one in found if one["per"] == per and one["indicator"] == "climate"] for per in ("t", "period")}
        self.assertEqual(order["period"], [one for one in order["t"] if one in order["period"]] + ["all"])

    def test_a_product_of_a_mill_says_its_id_once(self):
        text = " ".join(deckle("footprint", study_folder("demonstration"), "--product", "marrowen.tad_sheet").out.split())
        self.assertIn("marrowen.tad_sheet: Tissue machine: moulding fabric", text)

    def test_figures_have_three_significant_digits(self):
        """The climate of a tonne of base_sheet, 1117.286 kg CO2e, prints as 1120 (worked example, by hand)."""
        text = deckle("footprint", study_folder("worked_example")).out
        self.assertRegex(text, r"\nbase_sheet +t +1120 ")

    def test_columns_stand_at_the_decimal_point(self):
        text = deckle("footprint", SMALL, "--product", "towel", "--per", "t").out
        rows = re.findall(r"^[a-z_]+(?:, \w+\*?)?(?: \(memo\))?  +(?:kg CO2e|kg C|m3|MJ|kg) .*$", text, re.M)
        self.assertGreater(len(rows), 10)
        points = {self.point(row) for row in rows}
        self.assertEqual(len(points), 1, rows)

    @staticmethod
    def point(row):
        number = re.search(r"[≥≤≈]?-?([0-9.]+)$", row)
        dot = row.find(".", number.start(1))
        return dot if dot >= 0 else number.end(1)

    def test_the_headline_is_marked_and_the_other_stands_beside_it(self):
        text = deckle("footprint", SMALL).out
        self.assertRegex(text, r"market\* +location ")
        self.assertIn("market-based figures are the headline", text)
        other = deckle("footprint", SMALL, "--electricity", "location").out
        self.assertNotIn("market*", other)
        self.assertIn("location-based figures, as asked", other)

    def test_a_line_says_what_it_makes(self):
        """131 t/d gross, 96 % of the time, 4.6 % broke, 345 days: worked out here; packs of 8 rolls of the study."""
        words = ("footprint", study_folder("demonstration"), "--product", "fennaby_bath_line")
        makes = {(one["per"], one["what"]): one["value"] for one in deckle(*words, "--format", "json").json()["makes"]}
        net = 131 * 0.96 * (1 - 0.046)
        self.assertLess(abs(makes["day", "t"] / net - 1), 1e-12)
        self.assertLess(abs(makes["year", "t"] / (345 * net) - 1), 1e-12)
        self.assertLess(abs(makes["day", "roll"] / makes["day", "pack"] / 8 - 1), 1e-12)
        text = deckle(*words).out
        self.assertRegex(text, rf"\nmakes +unit +per day +per year\nt +{net:.1f} +41\u202f390\n")

    def test_one_factor_for_both_views_is_said(self):
        self.assertIn("one factor stands for both", deckle("footprint", study_folder("worked_example")).out)

    def test_a_line_of_which_nothing_is_stated_is_no_zero(self):
        """A resin without water: a dash, in a table whose total is at least so much."""
        study = self.changed_small("factors.yaml", ", water: {withdrawn: 40 L, consumed: 4 L, region: north}", "")
        text = deckle("footprint", study, "--product", "sheet", "--by", "user", "--indicator", "climate",
                      "--indicator", "water_consumed").out
        self.assertRegex(text, r"resin +≥?[0-9.]+ +[0-9.]+ +– +–")
        self.assertIn("Shares are of what is covered.", text)

    def test_water_that_passes_once_through_is_told_apart(self):
        """8 m3 of the 8 m3 from the river are for cooling, beside what others withdraw."""
        study = self.changed_small("mill.yaml", "takes_in: {river: 8 m3,", "takes_in: {river: {amount: 8 m3, purpose: cooling},")
        self.assertRegex(deckle("footprint", study, "--product", "sheet").out.replace("\n   ", ""),
                         r"Of the water withdrawn, taken for cooling: 8[0-9.]+ of [0-9.]+ m3 for a t of sheet")

    def test_scarcity_names_model_and_version(self):
        self.assertRegex(deckle("footprint", SMALL).out,
                         r"Water scarcity: model [^,]+, version [^,]+ \(dryness_of_regions\)")
        head = deckle("footprint", SMALL, "--format", "json").json()["study"]
        self.assertTrue(head["scarcity_model"] and head["scarcity_version"])

    def test_the_head_says_what_comes_with_a_tonne(self):
        self.assertIn("1000 kg of tissue with its core and packaging\n", deckle("footprint", SMALL).out)
        study = self.changed_small("products.yaml", "    core: {outside: 40 mm, board: board, mass: 5 g, counts_as: product}\n", "")
        self.assertIn("1000 kg of tissue with its core and packaging where it has them\n", deckle("footprint", study).out)

    def test_uptake_that_nothing_states_is_not_covered(self):
        """Climate less nothing known would be climate under another name."""
        rows = deckle("footprint", SMALL, "--product", "trim", "--format", "json").json()["results"]
        coverage = {row["indicator"]: row["coverage"] for row in rows if row["per"] == "t"}
        self.assertEqual(coverage["biogenic_carbon"], "not_covered")
        self.assertEqual(coverage["climate_with_uptake"], "not_covered")

    def test_electricity_says_which_factor_stands_for_a_view(self):
        study = self.changed_small("study.yaml", "  grid: {location: grid, residual: grid_residual}",
                             "  grid: {location: grid_residual}")
        text = deckle("footprint", study).out.replace("\n    ", " ")
        self.assertIn("market-based figures are the headline", text)
        self.assertIn("small.grid stands for the market-based view", text)
        head = deckle("footprint", study, "--format", "json").json()["study"]
        self.assertFalse(head["one_electricity_view"])
        self.assertEqual(head["electricity_stand_ins"],
                         [{"factor": "small.grid", "market": True, "location": False}])

    def test_marks_and_gaps(self):
        text = deckle("footprint", SMALL, "--product", "sheet").out
        self.assertRegex(text, r"climate_biogenic +kg CO2e +≥[0-9.]+")
        self.assertIn("≥ is at least", text)
        self.assertRegex(text, r"climate_biogenic, climate_land_use: given as one CO2e number.*small\.resin")

    def test_what_rests_on_something_not_stated_at_all_is_not_told(self):
        """A footprint less the uptake of carbon that nobody states is no figure."""
        text = deckle("footprint", SMALL, "--product", "trim").out
        self.assertNotIn("climate_with_uptake", text)
        self.assertIn("biogenic_carbon: not stated by vorrelby.converting.makes.trim", text)

    def test_a_missing_scarcity_model_is_said_once(self):
        text = deckle("footprint", study_folder("worked_example")).out
        self.assertEqual(text.count("water_scarcity"), 1)
        self.assertIn("water_scarcity: the study names no model", text)

    def test_a_mix_of_warming_potentials_is_reported(self):
        self.assertIn("MIX of sets", deckle("footprint", study_folder("demonstration")).out)
        self.assertNotIn("MIX", deckle("footprint", SMALL).out)

    def test_rounded_shares_that_miss_a_hundred_are_noted(self):
        text = deckle("footprint", study_folder("demonstration"), "--by", "stage", "--by", "factor").out
        noted = 0
        for table in re.split(r"\n\n", text):
            if "\ntotal " not in table:
                continue
            for place, indicator in enumerate(("climate", "water_consumed")):
                shares = self.shares(table, place)
                self.assertTrue(shares)
                missed = abs(sum(shares) - 1000) >= 1
                noted += missed
                self.assertEqual(f"\n{indicator}: the shares add to 100 %; as rounded here, to" in table, missed, table)
        self.assertGreater(noted, 0)

    @staticmethod
    def shares(table, place):
        """Tenths of a percent in the given pair of columns, of every row above the line."""
        rows = table.split("─")[0].splitlines()[4:]
        found = [re.findall(r"([≥≤≈]?-?[0-9.]+(?:e[+-]\d+)?) +(-?\d+\.\d)(?=\s|$)", row) for row in rows]
        return [round(float(pairs[place][1]) * 10) for pairs in found if len(pairs) > place]

    def test_whole_sheets_are_shown(self):
        text = deckle("footprint", SMALL).out
        self.assertRegex(text, r"\ntowel +66 ")
        self.assertIn("66 whole sheets a roll (66.1613 wound)", deckle("footprint", SMALL, "--product", "towel").out)

    def test_names_are_shown_not_obeyed(self):
        folder = self.scratch / "study"
        support.shutil.copytree(SMALL, folder)
        path = folder / "products.yaml"
        text = path.read_text("utf-8")
        path.write_text(text.replace("title: Kitchen towel, 2 plies", r'title: "A\e[31mB\nC\u202eD"'), "utf-8")
        out = deckle("footprint", folder, "--product", "towel").out
        self.assertIn(r"towel: A\x1b[31mB\nC\u202eD", out)
        report = deckle("footprint", folder, "--product", "towel", "--format", "json")
        self.assertNotIn("\x1b", report.out)

    def test_units_left_out_are_named(self):
        text = deckle("footprint", SMALL).out
        self.assertIn("Also per sheet, pack, case, m2", text)

    def test_questions_about_what_does_not_exist(self):
        self.assert_refused(deckle("footprint", SMALL, "--product", "towl"), "did you mean towel", "[unknown-product]")
        self.assert_refused(deckle("footprint", SMALL, "--per", "rol"), "did you mean roll", "[unknown-per]")
        self.assert_refused(deckle("footprint", SMALL, "--indicator", "climat"), "climate", "[unknown-indicator]")
        self.assert_refused(deckle("footprint", SMALL, "--product", "steam", "--per", "roll"), "[no-such-result]")
        self.assert_refused(deckle("footprint", SMALL, "--by", "user", "--process", "boilr"), "boiler", "[unknown-process]")
        near = deckle("footprint", SMALL, "--by", "user", "--process", "vorrelby.boilr")
        self.assert_refused(near, "did you mean vorrelby.boiler?")
        none = deckle("footprint", SMALL, "--by", "user", "--process", "qqqqqq")
        self.assertEqual(none.err.count("vorrelby.converting"), 1, none.err)  # it has two products

    def test_a_process_has_products_of_its_own(self):
        self.assert_refused(deckle("footprint", SMALL, "--by", "user", "--process", "machine", "--product", "towel"),
                            "leave --product and --per out")

    def test_users_of_another_process(self):
        text = deckle("footprint", SMALL, "--by", "user", "--process", "machine").out
        for name in ("yankee", "hood", "pulp", "electricity", "resin", "trim"):
            self.assertRegex(text, rf"\n{name} ")


if __name__ == "__main__":
    support.main()
