"""The trace, recomputed outside Deckle: every line from its operands, every input from its file.

The steam properties are recomputed with python3-iapws (IAPWS-IF97), the rest with plain arithmetic.
"""
import json
import math
import re
import unittest
from decimal import Decimal

import jsonschema
from iapws import IAPWS97
from iapws.iapws97 import _TSat_P

import support
from support import HERE, CommandTest, deckle, study_folder

SMALL = HERE / "small_study"
SCHEMA = json.loads((HERE / "trace.schema.json").read_text("utf-8"))


def saturated(dryness, name):
    return lambda p: getattr(IAPWS97(P=p, x=dryness), name)


def steam(p, t):
    return IAPWS97(P=p, T=t)


SIMPLE = {
    "sum": lambda *a: sum(a),
    "product": lambda *a: math.prod(a),
    "quotient": lambda a, b: a / b,
    "sum_of_products": lambda *a: sum(a[i] * a[i + 1] for i in range(0, len(a), 2)),
    "negate": lambda a: -a,
    "power": lambda a, b: a**b,
    "square_root": math.sqrt,
    "exponential": math.exp,
    "logarithm": math.log,
    "minimum": min,
    "maximum": max,
    "whole": lambda a: math.floor(a * (1 + 1e-9)),
    "part": lambda b, *a: b + sum(a[i] * a[i + 1] for i in range(0, len(a), 2)),
    "steam_h": lambda p, t: steam(p, t).h,
    "steam_s": lambda p, t: steam(p, t).s,
    "liquid_h": saturated(0, "h"),
    "vapour_h": saturated(1, "h"),
    "liquid_s": saturated(0, "s"),
    "vapour_s": saturated(1, "s"),
    "boiling_t": _TSat_P,
}
STEAM = ("steam_h", "steam_s", "liquid_h", "vapour_h", "liquid_s", "vapour_s", "boiling_t")


def recomputed(node, nodes):
    operands = [nodes[k]["value"] for k in node["of"]]
    if node["operation"] == "convert":
        return float(Decimal(operands[0]) * Decimal(node["times"]) / Decimal(node["divided_by"]))
    return SIMPLE[node["operation"]](*operands)


class Json(CommandTest):
    def trace(self, study, address, *words):
        outcome = deckle("trace", study, address, "--format", "json", *words)
        self.assert_done(outcome)
        report = outcome.json()
        jsonschema.validate(report, SCHEMA)
        return report

    def assert_recomputes(self, study, address):
        nodes = self.trace(study, address)["nodes"]
        for number, node in enumerate(nodes):
            self.assertEqual(node["n"], number)
            if node["operation"] in ("input", "constant"):
                continue
            expected = recomputed(node, nodes)
            # IF97 gives h and s to about 1e-7 between implementations; sums lose a little to cancelling.
            scale = max([abs(expected), *(abs(nodes[k]["value"]) for k in node["of"] if node["operation"] == "sum")])
            tolerance = 1e-9 if node["operation"] in STEAM else 1e-12
            self.assertAlmostEqual(node["value"], expected, delta=tolerance * scale, msg=f"{address}: {node}")
        return nodes

    def test_every_line_can_be_recomputed(self):
        for study in (SMALL, *support.shipped()):
            report = deckle("footprint", study, "--format", "json", "--indicator", "climate",
                            "--indicator", "water_scarcity", "--indicator", "biogenic_carbon").json()
            covered = [r["address"] for r in report["results"] if r["value"] is not None]
            for address in covered[:: max(1, len(covered) // 12)]:
                with self.subTest(address):
                    self.assert_recomputes(study, address)

    def test_the_root_is_the_result(self):
        report = deckle("footprint", SMALL, "--format", "json").json()
        for result in report["results"][::40]:
            if result["value"] is not None:
                root = self.trace(SMALL, result["address"], "--depth", "1")["nodes"][0]
                self.assertEqual((root["value"], root["address"]), (result["value"], result["address"]))

    def test_the_root_of_a_result_has_the_coverage_that_its_footprint_states(self):
        for study in (SMALL, study_folder("worked_example")):
            results = deckle("footprint", study, "--format", "json").json()["results"]
            seen = {}
            for result in results:
                if seen.setdefault(result["coverage"], 0) == 6:
                    continue
                seen[result["coverage"]] += 1
                nodes = self.trace(study, result["address"], "--depth", "1")["nodes"]
                self.assertEqual(nodes[0]["coverage"], result["coverage"], result["address"])
                self.assertFalse(any("coverage" in node for node in nodes[1:]), result["address"])
            self.assertEqual(set(seen), {"complete", "at_least", "not_covered"})

    def test_other_numbers_have_no_coverage(self):
        nodes = self.trace(study_folder("worked_example"), "vellomere.figures.press_dryness")["nodes"]
        self.assertNotIn("coverage", nodes[0])

    def test_every_input_stands_where_it_says(self):
        for study in (SMALL, study_folder("demonstration")):
            of = "towel" if study == SMALL else "bath_2ply"
            seen = 0
            for node in self.trace(study, f"results.{of}.roll.climate")["nodes"]:
                if node["operation"] != "input":
                    continue
                at = node["at"]
                line = support.pathlib.Path(at["file"]).read_bytes().split(b"\n")[at["line"] - 1]
                found = line[at["column"] - 1:at["column"] - 1 + at["length"]].decode("utf-8")
                self.assertEqual(found.strip("\"'"), node["typed"], node)
                seen += 1
            self.assertGreater(seen, 20)

    def test_every_input_of_a_factor_has_its_source(self):
        for node in self.trace(SMALL, "results.towel.roll.climate")["nodes"]:
            if node["operation"] == "input" and node["address"].startswith(("small.", "weights.")):
                self.assertIn("Invented for the test, 2026", node["source"])

    def test_every_node_is_listed_once_and_reached(self):
        nodes = self.trace(study_folder("demonstration"), "results.bath_2ply.roll.climate")["nodes"]
        reached, open_nodes = {0}, [0]
        while open_nodes:
            for k in nodes[open_nodes.pop()]["of"]:
                if k not in reached:
                    reached.add(k)
                    open_nodes.append(k)
        self.assertEqual(reached, set(range(len(nodes))))

    def test_the_largest_terms_and_the_rest_add_up(self):
        whole = self.trace(SMALL, "results.sheet.t.climate")["nodes"]
        cut = self.trace(SMALL, "results.sheet.t.climate", "--largest", "2")["nodes"]
        for node in cut:
            if node["omitted"] == 0 or node["operation"] not in ("sum", "sum_of_products"):
                continue
            kept = recomputed(node, cut)
            self.assertAlmostEqual(kept + node["omitted_sum"], node["value"], delta=1e-12 * abs(node["value"]))
        self.assertTrue(any(node["omitted"] for node in cut))
        self.assertLess(len(cut), len(whole))

    def test_depth(self):
        nodes = self.trace(SMALL, "results.sheet.t.climate", "--depth", "1")["nodes"]
        self.assertEqual(len(nodes), 1 + len(nodes[0]["of"]))

    def test_an_input_names_the_results_that_rest_on_it(self):
        """Changing an input changes exactly the results that its trace names."""
        used_by = set(self.trace(SMALL, "products.towel.grammage")["used_by"])
        folder = self.scratch / "changed"
        support.shutil.copytree(SMALL, folder)
        products = folder / "products.yaml"
        text = products.read_text("utf-8")
        products.write_text(text.replace("grammage: 21 g/m2", "grammage: 22 g/m2"), "utf-8")
        before, after = (deckle("footprint", study, "--format", "json").json()["results"] for study in (SMALL, folder))
        changed = {b["address"] for b, a in zip(before, after) if b["value"] != a["value"]}
        self.assertEqual(changed - used_by, set())
        self.assertGreater(len(changed), 50)


class Text(CommandTest):
    def trace(self, study, address, *words):
        outcome = deckle("trace", study, address, *words)
        self.assert_done(outcome)
        return outcome.out

    def test_products_in_the_text_multiply_out(self):
        """Every "value unit  name  = a unit × b unit" line of the derivation."""
        number = r"-?[0-9.]+(?:e[+-]?\d+)?"
        pattern = re.compile(rf"^ *({number})[^=\n]*= ({number})(?: [^×÷=\n]*)? ([×÷]) ({number})(?: [^×÷=+\n]*)?$", re.M)
        text = self.trace(study_folder("worked_example"), "results.bath_3ply.roll.climate", "--depth", "250")
        text = re.sub(r"\n +(?==|\([a-z])", "  ", text)  # how it is made goes on below where the line is full
        plain = "\n".join(line for line in text.splitlines() if "[" not in line)  # without equations of loops
        found = pattern.findall(re.sub(r" \([a-zA-Z][^\n]*\)$", "", plain, flags=re.M))
        self.assertGreater(len(found), 100)
        for value, a, sign, b in found:
            expected = float(a) * float(b) if sign == "×" else float(a) / float(b)
            self.assertAlmostEqual(float(value), expected, delta=1e-13 * abs(expected), msg=(value, a, sign, b))

    def test_a_result_that_is_not_complete_says_so_at_its_head(self):
        """However little is shown below; in both views of electricity."""
        worked = study_folder("worked_example")
        least = ("--depth", "1", "--largest", "1")
        for view in ("", ".market", ".location"):
            head = self.trace(worked, "results.base_sheet.t.energy_renewable" + view, *least).splitlines()[1:4]
            self.assertRegex(head[0], r"^not covered: 0 MJ/t")
            self.assertIn("does not state it, see deckle footprint", "".join(head))
            head = self.trace(worked, "results.bath_3ply.roll.climate_biogenic" + view, *least).splitlines()[1:4]
            self.assertRegex(head[0], r"^≥ [0-9.]+ kg CO2e")
            self.assertIn("≥ is at least: a part is not covered, see deckle footprint.", "".join(head))
        self.assertRegex(self.trace(worked, "results.steam.GJ.climate", *least).splitlines()[1], r"^[0-9.]+ kg CO2e/GJ")

    def test_leaves_have_place_and_source(self):
        text = self.trace(study_folder("worked_example"), "results.steam.GJ.climate", "--depth", "250")
        self.assertRegex(text, r"56\.1 kg[^\n]* example\.natural_gas\.releases\.co2_fossil\n +\S+factors\.yaml:\d+:\d+")
        self.assertIn("source: 2006 IPCC Guidelines for National Greenhouse Gas Inventories", text)

    def test_a_number_shown_already_is_not_derived_again(self):
        text = self.trace(study_folder("worked_example"), "results.base_sheet.t.climate", "--depth", "250")
        place = r"example\.natural_gas\.releases\.co2_fossil\n"
        self.assertEqual(len(re.findall(place, text)), 1)
        self.assertIn("see above", text)

    def test_both_sides_of_the_equations_of_a_loop(self):
        """x = C x + b by substitution of the unknowns printed."""
        text = " ".join(self.trace(study_folder("worked_example"), "results.base_sheet.t.climate_fossil", "--depth", "250").split())
        equations = re.findall(r"([0-9.]+) \[(\S+)\] = ([0-9.]+) × ([0-9.]+) \[(\S+)\] \+ ([0-9.]+); right side ([0-9.]+)", text)
        self.assertEqual(len(equations), 2)
        unknown = {name: float(value) for value, name, *_ in equations}
        for value, name, coefficient, other_value, other, rest, right in equations:
            self.assertEqual(unknown[other], float(other_value))
            expected = float(coefficient) * unknown[other] + float(rest)
            self.assertAlmostEqual(float(value), expected, delta=1e-11)
            self.assertAlmostEqual(float(right), expected, delta=1e-11)

    def test_lines_keep_to_the_width(self):
        """Words that no space divides (addresses, locators) may go over it."""
        text = self.trace(study_folder("demonstration"), "results.bath_2ply.roll.climate", "--depth", "250")
        for line in text.splitlines():
            self.assertTrue(len(line) <= 100 or len(line.split()) == 1, line)

    def test_the_rest_of_a_sum(self):
        text = self.trace(SMALL, "results.sheet.t.climate_fossil", "--largest", "2")
        self.assertRegex(text, r"and 7 smaller terms, together [0-9.]+ kg CO2e")

    def test_depth(self):
        text = self.trace(SMALL, "results.towel.roll.climate", "--depth", "2")
        self.assertRegex(text, r"\.\.\. made of \d+ numbers, not shown \(--depth\)")

    def test_without_options_it_can_be_read_and_says_what_is_left_out(self):
        address = "results.bath_2ply.roll.climate"
        text = self.trace(study_folder("demonstration"), address)
        self.assertLess(len(text.splitlines()), 400)
        self.assertIn("--depth 250 shows all.", text)
        whole = self.trace(study_folder("demonstration"), address, "--depth", "250")
        self.assertGreater(len(whole.splitlines()), len(text.splitlines()))
        self.assertNotIn("not shown", whole)

    def test_every_leaf_has_its_place(self):
        """Inputs, numbers of a formula and what is not covered alike."""
        lines = self.trace(SMALL, "results.towel.roll.climate", "--depth", "250").splitlines()
        leaves = [i for i, line in enumerate(lines) if "number in a formula" in line or "not covered:" in line]
        self.assertGreater(len(leaves), 1)
        for i in leaves:
            if "see above" not in lines[i]:
                self.assertRegex("".join(lines[i + 1:i + 3]), r"\.yaml:\d+:\d+", lines[i])

    def test_shared_numbers_carry_the_names_of_the_product_asked_for(self):
        text = self.trace(study_folder("worked_example"), "results.bath_3ply_long.roll.climate", "--depth", "250")
        self.assertNotIn("products.bath_3ply.", text)

    def test_an_input(self):
        text = self.trace(SMALL, "vorrelby.figures.reel_dryness")
        self.assertRegex(text, r"^vorrelby\.figures\.reel_dryness\n95 %\n +\S+mill\.yaml:5:17, typed 95 % ± 1 points\n")
        self.assertIn("results.towel per t, roll, sheet, pack, case, m2, t_with_core, period: climate_fossil,", " ".join(text.split()))

    def test_unknown_addresses_name_the_nearest(self):
        self.assert_refused(deckle("trace", SMALL, "results.towel.roll.climat"), "results.towel.roll.climate", "[unknown-address]")
        self.assert_refused(deckle("trace", SMALL, "products.towel.gramage"), "products.towel.grammage")
        self.assert_refused(deckle("trace", SMALL, ".." * 4000), "[unknown-address]")

    def test_part_of_an_address_lists_what_lies_below(self):
        self.assert_refused(deckle("trace", SMALL, "results.towel.roll"), "below it: ", "climate_fossil, ")
        self.assert_refused(deckle("trace", SMALL, "small.resin"), "below it: ", "[unknown-address]")
        self.assert_refused(deckle("trace", SMALL, "vorrelby.machine"), "below it: ", "uses")
        self.assert_refused(deckle("trace", SMALL, "small.resin.releases.co2_fossil"), "of small.resin below it: ")
        self.assert_refused(deckle("trace", study_folder("demonstration"), "chemicals_eu.sodium_chloride.climate.total"),
                            "nothing in this study uses that factor")


if __name__ == "__main__":
    support.main()
