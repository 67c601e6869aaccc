"""deckle difference: parts against their integrals by scipy, triggers by the published rules, seals as studies."""
import csv
import io
import json
import re
import shutil
import unittest

import jsonschema
from scipy.integrate import quad

import support
from support import HERE, CommandTest, deckle, study_folder

SMALL = HERE / "small_study"
SCHEMA = json.loads((HERE / "difference.schema.json").read_text("utf-8"))
CLIMATE = "results.steam.GJ.climate"

STUDY = "study: tiny\ntitle: Tiny (invented)\ncharacterization: w\nfactors: [w.yaml, t.yaml]\nmills: m.yaml\n"
WEIGHTS = "characterization: w\ntitle: W\nsource: {title: Invented, year: 2026}\ngases: {co2_fossil: 1 kg}\n"
TABLE = """table: %(table)s
title: T
source: {title: Invented, year: 2026}
factors:
  gas: {title: Gas, kind: fuel, per: 1 GJ LHV, releases: {co2_fossil: %(gas)s kg}}
  oil: {title: Oil, kind: fuel, per: 1 GJ LHV, releases: {co2_fossil: 75 kg}}
"""
MILL = """mill: m
title: M
processes:
  boiler:
    stage: energy
    makes: {steam: {amount: %(steam)s GJ, kind: heat}}
    uses: {gas: %(use)s GJ LHV%(more)s}
"""


class Tiny(CommandTest):
    def study(self, name, gas="56", steam="1", use="1.1", more="", table="t"):
        values = {"gas": gas, "steam": steam, "use": use, "more": more, "table": table}
        for file, text in (("study.yaml", STUDY), ("w.yaml", WEIGHTS), ("t.yaml", TABLE % values),
                           ("m.yaml", MILL % values)):
            self.write(f"{name}/{file}", text)
        return self.scratch / name

    def difference(self, old, new, *more, result=CLIMATE):
        outcome = deckle("difference", old, new, "--result", result, "--format", "json", *more)
        self.assertIn(outcome.status, (0, 1), outcome.err)
        jsonschema.validate(outcome.json(), SCHEMA)
        found = outcome.json()["results"][0]
        total = sum(part["part"] for part in found["parts"]) + found["jumps"]
        self.assertAlmostEqual(total, found["change"], delta=1e-12 * abs(found["was"]))
        self.assertEqual(outcome.status, 1 if found["findings"] else 0)
        return found

    @staticmethod
    def parts(found):
        return {part["address"]: part["part"] for part in found["parts"]}


class Parts(Tiny):
    def test_one_input_takes_all(self):
        found = self.difference(self.study("old"), self.study("new", use="1.2"))
        self.assertAlmostEqual(found["change"], 0.1 * 56, delta=1e-9)
        self.assertEqual([(p["why"], p["address"]) for p in found["parts"]], [("input_changed", "m.boiler.uses.gas")])
        self.assertEqual(found["parts"][0]["was"], "1.1 GJ LHV")
        self.assertLess(abs(found["jumps"]), 1e-12)

    def test_a_product_is_shared_half_and_half(self):
        """Aumann and Shapley of x * f: each takes its step times the mean of the other."""
        found = self.difference(self.study("old"), self.study("new", use="1.4", gas="50"))
        parts = self.parts(found)
        self.assertAlmostEqual(parts["m.boiler.uses.gas"], 0.3 * 53, delta=1e-9)
        self.assertAlmostEqual(parts["t.gas.releases.co2_fossil"], -6 * 1.25, delta=1e-9)
        self.assertEqual({p["why"] for p in found["parts"]}, {"input_changed", "factor_revised"})

    def test_a_quotient_against_scipy(self):
        """x f / m along the line (x, f, m) = (1.1, 56, 1) + t (0.9, 14, 0.5): the integral of each derivative."""
        found = self.difference(self.study("old"), self.study("new", use="2", gas="70", steam="1.5"))
        x, f, m = (lambda t: 1.1 + 0.9 * t), (lambda t: 56 + 14 * t), (lambda t: 1 + 0.5 * t)
        expected = {"m.boiler.uses.gas": quad(lambda t: 0.9 * f(t) / m(t), 0, 1)[0],
                    "t.gas.releases.co2_fossil": quad(lambda t: 14 * x(t) / m(t), 0, 1)[0],
                    "m.boiler.makes.steam": quad(lambda t: -0.5 * x(t) * f(t) / m(t) ** 2, 0, 1)[0]}
        parts = self.parts(found)
        self.assertEqual(set(parts), set(expected))
        for address, value in expected.items():
            self.assertAlmostEqual(parts[address], value, delta=1e-9)

    def test_added_and_dropped(self):
        plain, more = self.study("plain"), self.study("more", more=", oil: 0.2 GJ LHV")
        added = self.difference(plain, more)
        self.assertAlmostEqual(sum(p["part"] for p in added["parts"] if p["why"] == "added"), 0.2 * 75, delta=1e-9)
        dropped = self.difference(more, plain)
        self.assertAlmostEqual(sum(p["part"] for p in dropped["parts"] if p["why"] == "dropped"), -0.2 * 75, delta=1e-9)

    def test_a_loop_with_several_changes_adds_up(self):
        """The worked example feeds its broke back; the change is what two footprints say."""
        new = self.copy_of("worked_example", mill__yaml=lambda text: text.replace("press_dryness: 42 %", "press_dryness: 41 %"),
                           factors__yaml=lambda text: text.replace("fossil: 410 kg", "fossil: 390 kg"))
        address = "results.base_sheet.t.climate"
        found = self.difference(study_folder("worked_example"), new, result=address)
        value = lambda study: next(r["value"] for r in deckle("footprint", study, "--format", "json").json()["results"]
                                   if r["address"] == address)
        self.assertEqual(found["change"], value(new) - value(study_folder("worked_example")))
        self.assertEqual(len(found["parts"]), 2)
        self.assertLess(abs(found["jumps"]), 1e-9 * abs(found["change"]))

    def test_processes_and_allocations_are_named(self):
        new = self.scratch / "new"
        shutil.copytree(SMALL, new)
        text = (new / "mill.yaml").read_text("utf-8")
        self.assertIn("allocation: mass", text)
        (new / "mill.yaml").write_text(text.replace("allocation: mass", "allocation: {tissue: 99 %, trim: 1 %}")
                                       + "  dryer:\n    stage: energy\n    makes: {air: {amount: 1 GJ, kind: heat}}\n    uses: {gas: 1 GJ LHV}\n", "utf-8")
        outcome = deckle("difference", SMALL, new, "--result", "results.tissue.t.climate", "--format", "json")
        self.assertIn(outcome.status, (0, 1), outcome.err)
        self.assertEqual(outcome.json()["heads"], ["allocation of vorrelby.converting: mass, now shares",
                                                   "process vorrelby.dryer: added"])

    def test_shares_that_are_typed_in_place_of_a_rule_are_method(self):
        """Energy gives 0.4 of 1.0 GJ to the steam, typed shares 30 %: from 0.4 x 61.6 / 0.4 to 0.3 x 61.6 / 0.4."""
        def engine(name, allocation):
            study = self.study(name)
            mill = MILL % {"steam": "0.4", "use": "1.1", "more": ""}
            mill = mill.replace("kind: heat}}", "kind: heat}, power: {amount: 0.6 GJ, kind: electricity}}\n    allocation: " + allocation)
            self.write(f"{name}/m.yaml", mill)
            return study
        found = self.difference(engine("old", "energy"), engine("new", "{steam: 30 %, power: 70 %}"))
        self.assertEqual([part["why"] for part in found["parts"]], ["method"])
        self.assertAlmostEqual(found["parts"][0]["part"], (0.3 - 0.4) * 1.1 * 56 / 0.4, delta=1e-9)

    def test_a_table_of_another_edition_is_a_revision(self):
        found = self.difference(self.study("old"), self.study("new", gas="57", table="t_2027"))
        (part,) = found["parts"]
        self.assertEqual((part["why"], part["address"], part["address_was"]),
                         ("factor_revised", "t_2027.gas.releases.co2_fossil", "t.gas.releases.co2_fossil"))
        self.assertAlmostEqual(part["part"], 1.1, delta=1e-9)

    def test_the_same_typed_otherwise_is_no_change(self):
        found = self.difference(self.study("old"), self.study("new", gas="56.0"))
        self.assertEqual((found["change"], found["parts"]), (0, []))

    def test_the_other_view_of_electricity_is_method(self):
        new = self.scratch / "new"
        shutil.copytree(SMALL, new)
        text = (new / "study.yaml").read_text("utf-8")
        (new / "study.yaml").write_text(text.replace("electricity: market", "electricity: location"), "utf-8")
        outcome = deckle("difference", SMALL, new, "--result", "results.sheet.t.climate", "--format", "json")
        found = outcome.json()["results"][0]
        self.assertIn("electricity: market, now location", outcome.json()["heads"])
        value = lambda study: next(r["value"] for r in deckle("footprint", study, "--format", "json").json()["results"]
                                   if r["address"] == "results.sheet.t.climate")
        self.assertAlmostEqual(found["change"], value(new) - value(SMALL), delta=1e-9)
        self.assertAlmostEqual(sum(p["part"] for p in found["parts"]) + found["jumps"], found["change"], delta=1e-9)


class Findings(Tiny):
    def codes(self, old, new, *more):
        return {one["code"] for one in self.difference(old, new, *more)["findings"]}

    def test_a_change_of_a_tenth(self):
        """PACT Methodology 3, checklists of April 2025: valid without a change of 10 % or more."""
        old = self.study("old", use="1")
        self.assertEqual(self.codes(old, self.study("a", use="1.0999")), set())
        self.assertEqual(self.codes(old, self.study("b", use="1.1001")), {"recalculation-due"})
        self.assertEqual(self.codes(old, self.study("c", use="0.8999")), {"recalculation-due"})

    def test_a_figure_of_more_than_three_years_ago(self):
        """PACT Methodology 3, checklists of April 2025: valid for at most three years."""
        old, new = self.study("old", use="1"), self.study("new", use="1.01")
        for year, codes in ((2028, set()), (2029, {"too-old"})):
            for study, period in ((old, "2025-01-01 .. 2025-12-31"), (new, f"{year}-01-01 .. {year}-12-31")):
                (study / "study.yaml").write_text(STUDY + f"period: {period}\n", "utf-8")
            self.assertEqual(self.codes(old, new), codes)

    def test_the_limit_of_a_verifier_with_and_without_sign(self):
        """ISO 14064-3:2019, 5.1.7 (from memory): the limit is agreed each time; parts that cancel still count."""
        old = self.study("old", use="1")
        new = self.study("new", use="1.06", gas="52.9")
        self.assertEqual(self.codes(old, new), set())
        self.assertEqual(self.codes(old, new, "--limit", "5 %"), {"parts-above-limit", "part-above-limit"})
        self.assertEqual(self.codes(old, new, "--limit", "15 %"), set())
        self.assertIn("change-above-limit", self.codes(old, self.study("b", use="1.06"), "--limit", "5 %"))

    def test_bad_limits(self):
        old = self.study("old")
        for typed in ("0 %", "-1 %", "200 %", "5 kg", "x"):
            with self.subTest(typed):
                self.assert_refused(deckle("difference", old, old, f"--limit={typed}"), "--limit")


class Sides(Tiny):
    def test_a_seal_is_as_good_as_its_study(self):
        seal = self.scratch / "a.seal"
        self.assert_done(deckle("seal", SMALL, "-o", seal))
        outcome = deckle("difference", seal, SMALL)
        self.assert_done(outcome)
        self.assertIn("Nothing that it rests on changed.", outcome.out)
        whole = seal.read_bytes().replace(b"electricity: 900 kWh/t", b"electricity: 901 kWh/t")
        seal.write_bytes(whole)
        self.assert_refused(deckle("difference", seal, SMALL), "[broken-seal]", "deckle verify")

    def test_every_form_says_the_same(self):
        old, new = self.study("old"), self.study("new", use="1.4", gas="50")
        found = self.difference(old, new)
        lines = list(csv.DictReader(io.StringIO(deckle("difference", old, new, "--result", CLIMATE, "--format", "csv").out)))
        self.assertEqual({l["address"]: float(l["part"]) for l in lines if l["address"]}, self.parts(found))
        self.assertEqual(float(lines[-1]["part"]), found["change"])
        text = deckle("difference", old, new, "--result", CLIMATE).out
        for word in ("inputs changed", "factors revised", "m.boiler.uses.gas", "1.4 GJ LHV", "Rule: "):
            self.assertIn(word, text)

    def test_parts_that_cancel_are_explained_where_there_are_any(self):
        more, less = self.study("old"), self.study("new", use="1.4", gas="50")
        self.assertIn("Parts of opposite sign cancel", deckle("difference", more, less, "--result", CLIMATE).out)
        alike = deckle("difference", more, self.study("up", use="1.4", gas="57"), "--result", CLIMATE).out
        self.assertNotIn("opposite sign", alike)

    def test_a_long_address_leaves_the_table_whole(self):
        """What was typed and what is stand together under their input, and the head stands once."""
        new = self.copy_of("worked_example", mill__yaml=lambda text: text.replace("press_dryness: 42 %", "press_dryness: 41 %"))
        text = deckle("difference", study_folder("worked_example"), new, "--result", "results.bath_3ply.t.climate").out
        self.assertEqual(len(re.findall(r"(?m)^input ", text)), 1)
        self.assertRegex(text, r"vellomere\.figures\.press_dryness [^\n]*\nwas 42 %[^\n]*, is 41 %\n")

    def test_a_result_that_one_side_lacks(self):
        for sides in ((self.study("old"), SMALL), (SMALL, self.study("old"))):
            self.assert_refused(deckle("difference", *sides, "--result", "results.towel.t.climate"), "[unknown-result]")


if __name__ == "__main__":
    support.main()
