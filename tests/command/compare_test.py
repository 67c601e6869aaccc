"""deckle compare: its figures are the footprint's; index, differences and steps are worked out again here; forms, refusals."""
import csv
import io
import json
import unittest

import jsonschema

import support
from support import HERE, CommandTest, deckle, study_folder

SMALL = HERE / "small_study"

SCHEMA = json.loads((HERE / "compare.schema.json").read_text("utf-8"))
SWITCH = ("--scenario", "today", "--scenario", "heat_recovery", "--scenario", "electrode_boiler")


def demonstration():
    return study_folder("demonstration")


def compare(*words):
    return deckle("compare", demonstration(), "--format", "json", *words).json()


def footprints(*words):
    found = deckle("footprint", demonstration(), "--format", "json", *words).json()
    return {one["address"]: one["value"] for one in found["results"]}


def three_digits(value):
    """As people read it: groups of three, from five digits before the decimal sign."""
    rounded = float(f"{value:.3g}")
    return f"{rounded:,.0f}".replace(",", " " if abs(rounded) >= 10000 else "")


def figure(row, indicator="climate"):
    return next(one for one in row["figures"] if one["indicator"] == indicator)


class Figures(CommandTest):
    def test_forms(self):
        for words in ((), ("--equal", "absorbed_water", "--product", "kitchen_towel", "--product", "kitchen_towel_tad"), SWITCH, ("--equal", "day", "--product", "fennaby_bath_line", "--product", "sundrel_line"),
                      ("--equal", "day", "--product", "fennaby_bath_line", "--reference", "sundrel_line", "--reference", "fennaby_bath_line"), ("--equal", "roll_diameter", "--product", "bath_2ply")):
            with self.subTest(words):
                jsonschema.validate(compare(*words), SCHEMA)

    def test_figures_are_those_of_the_footprint(self):
        ours = footprints("--product", "bath_2ply", "--per", "t_unrounded", "--indicator", "climate", "--indicator", "water_consumed")
        row = compare("--product", "bath_2ply")["rows"][0]
        for indicator in ("climate", "water_consumed"):
            one = figure(row, indicator)
            self.assertEqual(one["value"], ours[one["address"]])

    def test_index_and_difference_against_the_reference(self):
        rows = compare("--product", "bath_2ply", "--product", "bath_3ply", "--reference", "bath_3ply")["rows"]
        base = figure(next(row for row in rows if row["is_reference"]))
        self.assertEqual((base["index"], base["difference"]), (100, 0))
        other = figure(next(row for row in rows if not row["is_reference"]))
        self.assertNotEqual(other["value"], base["value"])
        self.assertAlmostEqual(other["index"], 100 * other["value"] / base["value"], delta=1e-10)
        self.assertAlmostEqual(other["difference"], other["value"] - base["value"], delta=1e-9)

    def test_the_mean_of_several_rows_counts_100(self):
        rows = compare("--product", "bath_2ply", "--product", "bath_3ply", "--product", "bath_value",
                       "--reference", "bath_2ply", "--reference", "bath_3ply")["rows"]
        mean = sum(figure(row)["value"] for row in rows if row["is_reference"]) / 2
        for row in rows:
            self.assertAlmostEqual(figure(row)["index"], 100 * figure(row)["value"] / mean, delta=1e-10)

    def test_references_need_not_be_among_the_products_and_their_mean_is_a_row(self):
        words = ("--product", "bath_value", "--reference", "bath_2ply", "--reference", "bath_3ply@heat_recovery")
        found = compare(*words)
        self.assertEqual([(row["of"], row["scenario"]) for row in found["rows"]],
                         [("bath_value", "today"), ("bath_2ply", "today"), ("bath_3ply", "heat_recovery")])
        mean = sum(figure(row)["value"] for row in found["rows"] if row["is_reference"]) / 2
        self.assertAlmostEqual(figure(found["reference_mean"])["value"], mean, delta=1e-9)
        self.assertEqual(figure(found["reference_mean"])["index"], 100)
        text = deckle("compare", demonstration(), *words).out
        self.assertRegex(text, r"\nmean of the references +[\d\u202f]+ +100\.0")
        self.assertIn("the plain mean of the references", text)
        lines = [line for line in csv.DictReader(io.StringIO(deckle("compare", demonstration(), "--format", "csv", *words).out))
                 if line["of"] == "reference_mean" and line["indicator"] == "climate"]
        self.assertEqual(float(lines[0]["value"]), figure(found["reference_mean"])["value"])

    def test_csv_has_the_same_figures(self):
        rows = list(csv.DictReader(io.StringIO(deckle("compare", demonstration(), "--format", "csv", *SWITCH).out)))
        expected = [(row["scenario"], one["address"], one["value"]) for row in compare(*SWITCH)["rows"] for one in row["figures"]
                    if one["value"] is not None]
        found = [(row["scenario"], row["address"], float(row["value"])) for row in rows if row["value"]]
        self.assertEqual(found, expected)


class Small(CommandTest):
    def test_a_study_without_prices_has_no_columns_of_cost(self):
        words = ("--scenario", "today", "--scenario", "electric_hood", "--product", "towel", "--equal", "t")
        self.assertIn("change of cost", deckle("compare", SMALL, *words).out)
        text = deckle("compare", self.changed_small("study.yaml", "prices: list_2025\n", ""), *words).out
        self.assertIn("change of", text)
        self.assertNotIn("change of cost", text)
        self.assertIn("The study has no prices", " ".join(text.split()))

    def test_rolls_of_one_diameter_and_other_widths_are_told_apart(self):
        study = self.changed_small("products.yaml", "  towel_long:\n", "  wide:\n    like: towel\n    sheet: {length: 230 mm, width: 264 mm}\n  towel_long:\n")
        text = deckle("compare", study, "--product", "towel", "--product", "wide", "--equal", "roll_diameter").out
        self.assertRegex(text, r"\nwide +115\.0 +230\.0 +264\.0 ")
        self.assertIn("differ in width and area", " ".join(text.split()))

    def test_a_length_has_its_unit_and_an_equivalent_its_title(self):
        line = "line: {machine: {of: towel, gross: 90 t/d, days: 345}}\nequivalents:\n  road: {title: way by car, of: climate, amount: 6 km/kg CO2e, source: handbook}\n"
        study = self.changed_small("study.yaml", "exempted:", line + "exempted:")
        text = deckle("compare", study, "--product", "machine", "--equal", "day").out
        self.assertRegex(text, r"\n +way by car +more than\n +km +reference\n")
        makes = next(one for one in deckle("footprint", study, "--product", "machine", "--format", "json").json()["makes"] if one["what"] == "road" and one["per"] == "day")
        self.assertEqual((makes["title"], makes["unit"]), ("way by car", "km"))


class Steps(CommandTest):
    def test_a_step_is_the_change_from_the_row_it_stands_on(self):
        rows = compare(*SWITCH)["rows"]
        self.assertEqual([row["scenario"] for row in rows], ["today", "heat_recovery", "electrode_boiler"])
        self.assertIsNone(rows[0]["step"])
        self.assertEqual([row["step"]["against"] for row in rows[1:]], ["today", "heat_recovery"])
        self.assertEqual([row["brings_along"] for row in rows], [[], ["drier_sheet"], ["heat_pump"]])
        for before, after in zip(rows, rows[1:]):
            change = figure(after)["value"] - figure(before)["value"]
            self.assertAlmostEqual(after["step"]["climate"], change, delta=1e-9 * abs(figure(before)["value"]))

    def test_scopes_add_up_to_climate(self):
        for row in compare(*SWITCH)["rows"]:
            total = figure(row)["value"]
            self.assertAlmostEqual(sum(row["climate_by_scope"]["location"]), total, delta=1e-9 * abs(total))

    def test_cost_of_a_tonne_avoided(self):
        """Change of cost over tonnes of CO2e avoided (definition); none where nothing is avoided."""
        seen = 0
        for row in compare(*SWITCH)["rows"]:
            step = row["step"]
            if step is None or step["cost"] is None or step["cost_per_t_avoided"] is None:
                continue
            self.assertLess(step["climate"], 0)
            self.assertAlmostEqual(step["cost_per_t_avoided"], step["cost"] / (-step["climate"] / 1000), delta=1e-6 * abs(step["cost_per_t_avoided"]))
            seen += 1
        self.assertGreater(seen, 0)


class Apart(CommandTest):
    WORDS = ("--scenario", "today", "--scenario", "heat_pump", "--scenario", "hydrogen_hood")

    def test_what_does_not_stand_on_one_another_is_not_to_be_added(self):
        rows = compare(*self.WORDS)["rows"]
        self.assertEqual([row["not_to_be_added_to"] for row in rows], [[], [], ["heat_pump"]])
        text = deckle("compare", demonstration(), *self.WORDS).out
        self.assertIn("hydrogen_hood is not counted on top of heat_pump: their changes are not to be added.", text)
        for row in compare(*SWITCH)["rows"]:  # each on the one before
            self.assertEqual(row["not_to_be_added_to"], [])

    def test_in_any_order(self):
        """hydrogen_hood stands on drier_sheet: counted both against today, it brings the drier sheet along."""
        before, after = ["today", "drier_sheet", "hydrogen_hood"], ["today", "hydrogen_hood", "drier_sheet"]
        apart = {}
        for order in before, after:
            rows = compare(*[word for one in order for word in ("--scenario", one)])["rows"]
            apart[order[-1]] = [row["not_to_be_added_to"] for row in rows]
        self.assertEqual(apart["hydrogen_hood"], [[], [], []])
        self.assertEqual(apart["drier_sheet"], [[], [], ["hydrogen_hood"]])


class Changes(CommandTest):
    def test_every_indicator_asked_for_has_its_change(self):
        """Of the row named beside it: the difference of two rows of the footprint."""
        rows = compare(*SWITCH)["rows"]
        for before, after in zip(rows, rows[1:]):
            for one in after["step"]["changes"]:
                values = [figure(row, one["indicator"])["value"] for row in (before, after)]
                self.assertAlmostEqual(one["value"], values[1] - values[0], delta=1e-9 * values[0])

    def test_the_text_tells_them_at_three_digits(self):
        text = " ".join(deckle("compare", demonstration(), *SWITCH).out.split())
        for one in compare(*SWITCH)["rows"][1]["step"]["changes"]:
            self.assertIn(three_digits(one["value"]), text)
        self.assertIn("≈ of water consumed leaves out what is not covered and used in another amount", text)

    def test_the_view_that_a_tonne_avoided_is_counted_in(self):
        words = [word for one in ("today", "heat_pump", "electrode_boiler", "contracted_power") for word in ("--scenario", one)]
        for view, lines in (
                ("location", ["electrode_boiler: avoided in the location-based view alone; --electricity market shows the other view.",
                              "contracted_power: nothing is avoided in the location-based view; --electricity market shows the other view."]),
                ("market", ["contracted_power: avoided in the market-based view alone; --electricity location shows the other view.",
                            "electrode_boiler: nothing is avoided in the market-based view; --electricity location shows the other view."])):
            text = " ".join(deckle("compare", demonstration(), "--electricity", view, *words).out.split())
            for line in lines:
                self.assertIn(line, text)
            self.assertIn(f"{view}-based", text)


class Words(CommandTest):
    def test_under_other_rules_nothing_counts_100(self):
        def text(*scenarios):
            words = [word for one in ("today", *scenarios) for word in ("--scenario", one)]
            return " ".join(deckle("compare", demonstration(), "--other-rules", *words).out.split())

        allocation, view = text("other_allocation"), text("other_electricity")
        for one in allocation, view:
            self.assertNotIn("Indices", one)
            self.assertNotIn("-0.0", one)
        self.assertIn("Electricity: location-based.", allocation)
        self.assertIn("Electricity: by each row's rules.", view)
        self.assertIn("Shared among products (today):", allocation)

    def test_one_row_bears_the_name_of_its_product(self):
        line = next(one["of"] for one in deckle("footprint", demonstration(), "--format", "json").json()["makes"] if one["per"] == "day")
        text = deckle("compare", demonstration(), "--product", line, "--equal", "day").out
        self.assertIn(f"\n{line} (reference)", text)
        self.assertNotIn("today", text)

    def test_the_caution_stands_in_json_too(self):
        caution = compare(*SWITCH)["caution"]
        self.assertIn(caution, " ".join(deckle("compare", demonstration(), *SWITCH).out.split()))
        options = ("--product", "bath_2ply", "--format", "json")
        self.assertIsNone(deckle("footprint", demonstration(), *options).json()["caution"])
        self.assertEqual(deckle("footprint", demonstration(), "--scenario", "heat_pump", *options).json()["caution"], caution)


class Costs(CommandTest):
    def test_power_costs_what_is_bought_in_either_view(self):
        """The wind farm's 97 EUR/MWh in place of the grid's 71 at the margin, for the same power (invented prices)."""
        words = ("--scenario", "electrode_boiler", "--scenario", "contracted_power")
        location, market = (compare(*words, "--electricity", view)["rows"][1]["step"] for view in ("location", "market"))
        self.assertGreater(location["cost"], 0)
        self.assertEqual(location["cost"], market["cost"])

    def test_alternatives_are_counted_against_the_reference(self):
        rows = compare("--scenario", "electrode_boiler", "--scenario", "contracted_power", "--scenario", "biomass_boiler")["rows"]
        self.assertEqual([row["step"] and row["step"]["against"] for row in rows], [None, "electrode_boiler", "electrode_boiler"])
        self.assertEqual(rows[2]["step"]["in_place_of"], ["electrode_boiler"])


class Refusals(CommandTest):
    def refused(self, code, *words):
        self.assert_refused(deckle("compare", demonstration(), *words), f"[{code}]")

    def test_unlike_rules(self):
        self.refused("unlike-rules", "--scenario", "today", "--scenario", "other_allocation")
        side_by_side = compare("--other-rules", "--scenario", "today", "--scenario", "other_allocation")
        self.assertTrue(side_by_side["rules_differ"])
        for row in side_by_side["rows"]:
            self.assertIsNone(figure(row)["index"])
        self.assertEqual(len(side_by_side["rules_differ"]), len(set(side_by_side["rules_differ"])))
        today, other = side_by_side["rows"]
        self.assertIsNone(figure(today)["percent_apart"])
        self.assertAlmostEqual(figure(other)["percent_apart"], 100 * (figure(other)["value"] / figure(today)["value"] - 1), delta=1e-9)
        text = deckle("compare", demonstration(), "--other-rules", "--scenario", "today", "--scenario", "other_allocation").out
        self.assertIn("from the first row of the same product", " ".join(text.split()))

    def test_unknown_names(self):
        self.refused("unknown-scenario", "--scenario", "heat_pumpp")
        self.refused("unknown-reference", "--product", "bath_2ply", "--reference", "bath_9ply")
        self.refused("no-such-result", "--product", "bath_2ply", "--equal", "day")

    def test_a_product_that_a_function_lacks(self):
        study = self.changed_small("study.yaml", "output: {", "functions: {shelf: {title: A shelf, flows: {towel: 40 roll}}}\noutput: {")
        self.assert_refused(deckle("compare", study, "--product", "towel", "--product", "towel_long", "--equal", "shelf"),
                            "add towel_long to the flows of the function shelf", "[no-such-result]")


if __name__ == "__main__":
    support.main()
