"""deckle sensitivity: derivatives recomputed by changing the files, shares re-added, forms, refusals."""
import csv
import io
import json
import re
import unittest

import jsonschema

import support
from support import HERE, CommandTest, deckle, study_folder

SMALL = HERE / "small_study"
SCHEMA = json.loads((HERE / "sensitivity.schema.json").read_text("utf-8"))
DEMONSTRATION = "results.bath_2ply.t.climate"


def sensitivity(study, result, *more):
    return deckle("sensitivity", study, result, *more)


def report(study, result, *more):
    return sensitivity(study, result, "--format", "json", *more).json()


def by_address(found):
    return {one["address"]: one for one in found["inputs"]}


class Figures(CommandTest):
    def test_it_follows_its_schema(self):
        jsonschema.Draft7Validator.check_schema(SCHEMA)
        for study, result in ((SMALL, "results.towel.t.climate"), (SMALL, "results.towel.roll.cost"),
                              (study_folder("worked_example"), "results.base_sheet.t.water_consumed"),
                              (study_folder("demonstration"), DEMONSTRATION)):
            outcome = sensitivity(study, result, "--format", "json")
            self.assert_done(outcome)
            jsonschema.validate(outcome.json(), SCHEMA)
        with_indices = report(study_folder("demonstration"), DEMONSTRATION, "--sobol", "128")
        jsonschema.validate(with_indices, SCHEMA)
        with_indices["sobol"]["rows"] = 1
        with self.assertRaises(jsonschema.ValidationError):
            jsonschema.validate(with_indices, SCHEMA)

    def test_a_derivative_is_what_a_change_of_the_file_brings(self):
        """Climate is linear in the CO2 of a factor: any change of the file gives the derivative exactly."""
        before = report(study_folder("worked_example"), "results.base_sheet.t.climate")
        gas = by_address(before)["example.natural_gas.releases.co2_fossil"]
        changed = self.copy_of("worked_example", factors__yaml=lambda text: re.sub(
            r"(natural_gas:(?:.*\n)*?.*co2_fossil: )[0-9.]+", r"\g<1>60.1", text, count=1))
        after = report(changed, "results.base_sheet.t.climate")
        moved = by_address(after)["example.natural_gas.releases.co2_fossil"]["value"] - gas["value"]
        self.assertNotEqual(moved, 0)
        brought = after["result"]["value"] - before["result"]["value"]
        self.assertAlmostEqual(brought / moved, gas["derivative"], delta=1e-9 * abs(gas["derivative"]))

    def test_shares_and_the_uncertainty_come_from_derivatives_and_deviations(self):
        found = report(study_folder("demonstration"), DEMONSTRATION)
        parts = [(one["derivative"] * one["deviation"]) ** 2 for one in found["inputs"]]
        self.assertAlmostEqual(sum(parts) ** 0.5, found["standard_uncertainty"], delta=1e-12 * found["standard_uncertainty"])
        for one, part in zip(found["inputs"], parts):
            self.assertAlmostEqual(one["share"], part / sum(parts), delta=1e-12)
        self.assertEqual(found["with_spread"], sum(1 for part in parts if part > 0))
        self.assertEqual(found["inputs_in_all"], len(found["inputs"]))

    def test_elasticities_say_per_cent_for_per_cent(self):
        found = report(SMALL, "results.towel.t.climate")
        for one in found["inputs"]:
            typed = one["value"] - (273.15 if "degC" in one["typed"] else 0)
            self.assertAlmostEqual(one["elasticity"] * found["result"]["value"], one["derivative"] * typed,
                                   delta=1e-9 * abs(found["result"]["value"]))

    def test_ranks(self):
        keys = {"share": lambda one: one["share"], "elasticity": lambda one: abs(one["elasticity"]),
                "swing": lambda one: 0 if "why" in one["swing"] else abs(one["swing"]["at_to"] - one["swing"]["at_from"])}
        for rank, key in keys.items():
            values = [key(one) for one in report(SMALL, "results.towel.t.climate", "--rank", rank)["inputs"]]
            self.assertEqual(values, sorted(values, reverse=True), rank)

    def test_a_roll_is_answered_on_the_unrounded_count_and_says_so(self):
        found = report(SMALL, "results.towel.roll.climate")
        self.assertEqual(found["result"]["address"], "results.towel.roll_unrounded.climate")
        self.assertTrue(found["result"]["unrounded"])
        text = sensitivity(SMALL, "results.towel.roll.climate").out
        self.assertIn("On the unrounded count, in place of results.towel.roll.climate.", text)

    def test_a_year_is_answered_on_the_unrounded_count_too(self):
        """On whole sheets a thickness would change it in jumps, and its derivative be nothing."""
        found = report(SMALL, "results.towel.period.climate")
        self.assertEqual(found["result"]["address"], "results.towel.period_unrounded.climate")
        thickness = by_address(found)["products.towel.roll.wound_thickness"]
        self.assertFalse(thickness["stepped"])
        self.assertLess(thickness["derivative"], 0)
        self.assertGreater(thickness["swing"]["at_from"], thickness["swing"]["at_to"])

    def test_the_same_seed_the_same_indices(self):
        one, same, other = (report(study_folder("demonstration"), DEMONSTRATION, "--sobol", "256", "--seed", seed)["sobol"]
                            for seed in ("7", "7", "8"))
        self.assertEqual(one, same)
        self.assertNotEqual(one["mean"], other["mean"])
        self.assertEqual(one["runs"], 256 * (len(one["inputs"]) + 2))

    def test_indices_of_a_nearly_linear_figure_are_the_first_order_shares(self):
        """Spreads of a few per cent: what is not linear is small (JCGM 100, 5.1.2)."""
        found = report(study_folder("demonstration"), DEMONSTRATION, "--sobol", "8192")
        shares = {one["address"]: one["share"] for one in found["inputs"]}
        for one in found["sobol"]["inputs"][:5]:
            self.assertAlmostEqual(one["total"], shares[one["addresses"][0]], delta=0.05)
        deviation = found["sobol"]["standard_deviation"]
        self.assertAlmostEqual(deviation, found["standard_uncertainty"], delta=0.1 * deviation)


class Forms(CommandTest):
    def test_csv_holds_what_json_holds(self):
        found = report(SMALL, "results.towel.t.climate")
        rows = list(csv.DictReader(io.StringIO(sensitivity(SMALL, "results.towel.t.climate", "--format", "csv").out, newline="")))
        self.assertEqual([row["address"] for row in rows], [one["address"] for one in found["inputs"]])
        for row, one in zip(rows, found["inputs"]):
            self.assertEqual(float(row["derivative"]), one["derivative"])
            self.assertEqual(float(row["share"]), one["share"])
            self.assertEqual(float(row["at_to"]), one["swing"]["at_to"])

    def test_text_shows_twenty_or_as_many_as_asked(self):
        def shown(*more):
            return int(re.search(r"^(\d+) inputs, ranked by", sensitivity(SMALL, "results.towel.t.climate", *more).out,
                                 re.M).group(1))
        self.assertEqual(shown(), 20)
        self.assertEqual(shown("--largest", "3"), 3)
        self.assertEqual(len(report(SMALL, "results.towel.t.climate", "--largest", "3")["inputs"]), 3)

    def test_what_was_typed_is_never_cut(self):
        """The last column, put together again from the lines that it goes on in."""
        found = report(study_folder("demonstration"), DEMONSTRATION)["inputs"]
        text = sensitivity(study_folder("demonstration"), DEMONSTRATION, "--largest", "9999").out
        shown = " ".join(text.split())
        self.assertNotIn("…", text)
        for one in found:
            if len(one["typed"]) <= 44:
                self.assertIn(" ".join(one["typed"].split()), shown)

    def test_it_fits_a_hundred_columns(self):
        text = sensitivity(study_folder("demonstration"), DEMONSTRATION, "--sobol", "64").out
        for line in text.splitlines():
            self.assertLessEqual(len(line), 100, line)


class Refusals(CommandTest):
    def test_unknown_result(self):
        self.assert_refused(sensitivity(SMALL, "results.towel.t.climat"), "did you mean results.towel.t.climate", "[unknown-result]")

    def test_what_is_not_covered(self):
        self.assert_refused(sensitivity(study_folder("demonstration"), "results.marrowen.engine_power.MWh.water_consumed"),
                            "not covered", "[not-covered]")

    def test_usage(self):
        result = "results.towel.t.climate"
        self.assert_refused(sensitivity(SMALL, result, "--sobol", "63"), "64 rows", "[usage]")
        self.assert_refused(sensitivity(SMALL, result, "--seed", "3"), "--sobol", "[usage]")
        self.assert_refused(sensitivity(SMALL, result, "--step", "0 %"), "above 0", "[usage]")
        self.assert_refused(sensitivity(SMALL, result, "--step", "5 kg"), "[wrong-unit]")
        self.assert_refused(sensitivity(SMALL, result, "--rank", "shares"), "did you mean share?", "[usage]")

    def test_a_figure_without_any_spread_has_no_indices(self):
        self.assert_refused(sensitivity(SMALL, "results.steam.GJ.climate", "--sobol", "64"), "has a spread", "[no-spread]",
                            status=3)

    def test_a_spread_that_cancels_moves_nothing(self):
        """Dryness at the reel stands above and below the line: the roll's figure keeps its value but for rounding."""
        roll = "results.towel.roll.climate"
        self.assert_refused(sensitivity(SMALL, roll, "--sobol", "256"), "but for rounding", "[no-variance]", status=3)
        found = report(SMALL, roll)
        self.assertEqual(found["standard_uncertainty"], 0)
        self.assertEqual({one["share"] for one in found["inputs"]}, {0})
        self.assertIn("1 of them with a spread; to first order nothing with one moves it", " ".join(sensitivity(SMALL, roll).out.split()))


if __name__ == "__main__":
    support.main()
