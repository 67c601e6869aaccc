"""What declarations say of the studies behind them, against hand arithmetic on the invented figures of own_study.py."""
import copy
import json
import shutil
import unittest
from decimal import Decimal

import support
from own_study import OWN, PULP, SECOND, OwnCase, without_fossil
from support import HERE, deckle

EXAMPLE = json.loads((HERE / "footprint_example.json").read_text("utf-8"))


class Core(OwnCase):
    """The worked example's roll: a core of 4.4 g of board of 0.75 kg CO2e a kilogram, which counts as product."""

    def declared(self, unit, counts="product"):
        products = OWN["study.yaml"].split("disclosure:")[1].replace("sheet: {", f"bath_3ply: {{unit: {unit}, ")
        study = self.copy_of("worked_example", mill__yaml=without_fossil,
                             study__yaml=lambda text: text + "disclosure:" + products,
                             products__yaml=lambda text: text.replace("counts_as: product", f"counts_as: {counts} "))
        study = study.rename(study.with_name(f"{unit}_{counts}"))
        return deckle("disclose", study).json()["pcf"]

    def test_a_piece_and_a_kilogram_are_of_the_same_product(self):
        piece, kilogram = self.declared("piece"), self.declared("kilogram")
        mass = Decimal(piece["productMassPerDeclaredUnit"])
        for name in ("pcfExcludingBiogenicUptake", "fossilGhgEmissions", "biogenicCarbonContent", "packagingGhgEmissions"):
            self.assertLess(abs(Decimal(piece[name]) / mass - Decimal(kilogram[name])), Decimal("0.00001"), name)

    def test_a_core_that_is_product_is_no_packaging(self):
        product, packaging = self.declared("piece"), self.declared("piece", "packaging")
        self.assertEqual(Decimal(packaging["packagingGhgEmissions"]) - Decimal(product["packagingGhgEmissions"]), Decimal("0.0033"))
        self.assertEqual(Decimal(product["productMassPerDeclaredUnit"]) - Decimal(packaging["productMassPerDeclaredUnit"]), Decimal("0.0044"))
        self.assertEqual(product["pcfExcludingBiogenicUptake"], packaging["pcfExcludingBiogenicUptake"])


class OptionalLines(OwnCase):
    """The supplier's pulp beside a second one, of which either states what the other does not."""

    SECOND_PULP = ("  wood: {title: Second pulp, kind: fibre, per: 1 t, fibre: 0.9 t, dryness: 90 %, region: europe, STATES"
                   "climate: {fossil: 300 kg, biogenic: 0 kg, land_use: 0 kg, MORE"
                   "characterization: ar6_100}}\n  clay:")

    def two(self, more="", states="", mill="", power=""):
        return self.own(
            f__yaml=lambda t: t.replace("  clay:", self.SECOND_PULP.replace("MORE", more).replace("STATES", states)) + power,
            m__yaml=lambda t: t.replace("uses: {", "uses: {wood: {amount: 1 t, amount_is: metered}, ") + mill)

    def coverage(self, study):
        rows = deckle("footprint", study, "--product", "sheet", "--format", "json").json()["results"]
        return {row["indicator"]: row["coverage"] for row in rows if row["per"] == "t"}

    def test_what_one_pulp_states_is_asked_of_the_other(self):
        study = self.two(more="aircraft: 2 kg, land_management_fossil: 3 kg, ")
        found = self.coverage(study)
        for line in ("aircraft", "land_management_fossil", "climate_land_management"):  # the last of the supplier's alone
            self.assertEqual(found[line], "at_least", line)
        self.assertEqual(found["climate"], "complete")
        text = deckle("footprint", study, "--product", "sheet").out
        self.assertRegex(text, r"\naircraft[^\n]*≥2\.00")
        outcome = deckle("disclose", study).json()
        self.assertIn("At least, since some factors do not state them: ", outcome["comment"])
        for line in ("aircraft", "fossil part of land management", "recurring land management"):
            self.assertIn(line, outcome["comment"].split("At least")[1].split(". ")[0])

    def test_what_both_state_or_neither_is_complete(self):
        study = self.two(more="land_management: 3 kg, ")
        self.assertEqual(self.coverage(study)["climate_land_management"], "complete")
        self.assertNotIn("At least", deckle("disclose", study).json()["comment"])

    def test_carbon_that_nobody_states_is_no_zero(self):
        unstated = self.own(m__yaml=lambda t: t.replace("biogenic: 0.444 kg/kg of fibre, ", ""))
        self.assert_refused(deckle("disclose", unstated), "[no-biogenic-carbon]", "m.yaml")
        none = self.own(m__yaml=lambda t: t.replace("biogenic: 0.444 ", "biogenic: 0 "))
        self.assertEqual(deckle("disclose", none).json()["pcf"]["biogenicCO2Uptake"], "0.000000")

    def test_carbon_is_asked_of_the_sheet_of_each_ply(self):
        """Of the small study's roll, whose core holds carbon, too; that its potentials are no report's is told besides."""
        def towel(mill, products=lambda text: text):
            study = self.scratch / f"towel{len(list(self.scratch.iterdir()))}"
            shutil.copytree(HERE / "small_study", study)
            for name, change in (("mill.yaml", mill), ("products.yaml", products), ("study.yaml", lambda text: text + "disclosure:" + (
                    OWN["study.yaml"].split("disclosure:")[1].replace("sheet:", "towel:")))):
                (study / name).write_text(change((study / name).read_text("utf-8")), "utf-8")
            return deckle("disclose", study).err
        unstated = towel(lambda t: t.replace("carbon: {biogenic: 0.444 kg/kg of fibre}", "carbon: {fossil: 0 kg/kg of fibre}"))
        self.assertIn("how much biogenic carbon tissue holds", unstated)
        self.assertNotIn("fossil carbon", unstated)
        two = towel(lambda t: t.replace("composition: sheet", "composition: {fibre: 95 %, moisture: 5 %}, carbon: {biogenic: 0.444 kg/kg of fibre, fossil: 0 kg/kg of fibre}"),
                    lambda t: t.replace("from: tissue\n    plies: 2\n    grammage: 21 g/m2", "plies:\n      - {from: tissue, grammage: 21 g/m2}\n      - {from: sheet, grammage: 21 g/m2}"))
        self.assertIn("how much fossil carbon sheet holds", two)
        self.assertNotIn("biogenic carbon", two)

    def test_a_line_known_in_part_of_which_nothing_is_known_is_left_out(self):
        """The second edition's file tells fossil emissions alone; the clay has neither of the others."""
        pcf = deckle("disclose", self.own(SECOND)).json()["pcf"]
        for name in ("landUseChangeGhgEmissions", "biogenicNonCO2Emissions"):
            self.assertNotIn(name, pcf)
        self.assertEqual(pcf["fossilGhgEmissions"], "0.520000")  # 0.41 and 0.11, by hand

    def test_footprints_out_of_date_are_told(self):
        old = {**PULP, "pcf": {**PULP["pcf"], "referencePeriodStart": "2022-01-01T00:00:00Z", "referencePeriodEnd": "2023-01-01T00:00:00Z"},
               "created": "2023-02-01T00:00:00Z", "validityPeriodStart": "2023-02-01T00:00:00Z", "validityPeriodEnd": "2024-01-01T00:00:00Z"}
        self.assertIn("[factor-expired]", deckle("disclose", self.own(old)).err)
        self.assertIn("[supplier-deprecated]", deckle("disclose", self.own({**PULP, "status": "Deprecated"})).err)
        # without a validity three years from 2025-01-01, the end of its reference period (PACT, V-09)
        for year, outdated in (("2027", False), ("2028", True)):
            later = self.own(study__yaml=lambda t: t.replace("2025-01-01 .. 2025-12-31", f"{year}-01-01 .. {year}-12-31"))
            self.assertEqual("[factor-expired]" in deckle("disclose", later).err, outdated, year)
        fresh = deckle("disclose", self.own()).err
        self.assertNotIn("[factor-expired]", fresh)
        self.assertNotIn("[supplier-deprecated]", fresh)

    def test_discharges_are_asked_of_fibre_and_of_the_mill(self):
        """Clay and electricity state none, of whom nobody expects any."""
        def lines(study):
            text = self.section(study, "Data sheet per tonne")
            rows = [[cell.strip() for cell in line.strip("|").split(" | ")] for line in text.splitlines() if line.startswith("|")]
            return {row[0].split()[0]: row for row in rows}
        one = self.two(states="discharges: {aox: 0.1 kg}, ")
        self.assertEqual(self.coverage(one)["aox"], "at_least")
        self.assertEqual(lines(one)["AOX"][4:], ["≥ 0.100", "the mill; Bleached pulp"])
        gaps = {line["factor"]: line["uses"] for line in deckle("footprint", one, "--product", "sheet", "--format", "json").json()[
            "coverage"] if line["indicator"] == "aox"}
        self.assertEqual(gaps, {"the mill": [], "t.pulp": ["m.machine: pulp"]})
        made = self.two(states="discharges: {aox: 0.1 kg}, ", mill="    discharges: {aox: 0.2 kg}\n")
        self.assertEqual(lines(made)["AOX"][4:], ["≥ 0.300", "Bleached pulp"])
        self.assertEqual(self.coverage(made)["aox"], "at_least")


class BoughtPower(OwnCase):
    def test_it_is_the_amount_bought_in_each_view(self):
        """500 kWh by contract and 200 of the mill's own plant: 500 bought, whatever the view and the tables say."""
        power = "".join(f"  {name}: {{title: {name}, kind: electricity, per: 1 kWh, region: austria, {states}climate: {{fossil: "
                        f"{fossil} kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar6_100}}}}\n"
                        for name, states, fossil in (("wind", "", 0), ("mix", "discharges: {bought_power: 1 kWh}, ", 0.3), ("residual", "", 0.5)))
        bought = ("uses: {wind as contract: {amount: 500 kWh, amount_is: metered, supply: {contract: {grid: mix, certificate: "
                  "{kind: GO, cancelled_for: 2025, market: AT, document: x}}}}, wind as own: {amount: 200 kWh, amount_is: "
                  "metered, supply: {own: {}}}, ")
        for view in ("market", "location"):
            study = self.own(f__yaml=lambda t: t + power, m__yaml=lambda t: t.replace("uses: {", bought),
                             study__yaml=lambda t: t.replace("mills:", f"electricity: {view}\ngrids: {{mix: {{location: mix, residual: residual}}}}\nmills:"))
            rows = deckle("footprint", study, "--product", "sheet", "--format", "json")
            self.assertEqual(rows.status, 0, rows.err)
            found = {row["indicator"]: row for row in rows.json()["results"] if row["per"] == "t"}
            self.assertEqual(found["bought_power"]["value"], 500.0)
            self.assertIn("| electricity bought | kWh | 500 | not stated | ≥ 500 | Bleached pulp |",
                          self.section(study, "Data sheet per tonne"))


class Potentials(OwnCase):
    def test_those_that_figures_rest_on_are_named(self):
        """All CO2e came inside factors of AR4; the study's own set, of AR6, weighs nothing."""
        pulp = copy.deepcopy(PULP)
        pulp["pcf"]["ipccCharacterizationFactors"] = ["AR4"]
        study = self.own(pulp, f__yaml=lambda t: t.replace("characterization: ar6_100", "characterization: ar4_100"))
        self.assertEqual(deckle("footprint", study, "--format", "json").json()["study"]["gwp_sets"], ["ar4_100"])
        text = " ".join(deckle("footprint", study).out.split())
        self.assertIn("Warming potentials: ar4_100; no figure rests on the study's own, ar6_100: all CO2e came inside factors.", text)
        self.assertEqual(deckle("disclose", study).json()["pcf"]["ipccCharacterizationFactors"], ["AR4"])

    def test_a_mill_that_releases_gases_weighs_them_with_the_studys_set(self):
        pulp = copy.deepcopy(PULP)
        pulp["pcf"]["ipccCharacterizationFactors"] = ["AR4"]
        study = self.own(pulp, f__yaml=lambda t: t.replace("characterization: ar6_100", "characterization: ar4_100"),
                         m__yaml=lambda t: t + "    releases: {ch4_fossil: 1 kg}\n")
        self.assertEqual(deckle("footprint", study, "--format", "json").json()["study"]["gwp_sets"], ["ar6_100", "ar4_100"])
        self.assertEqual(deckle("disclose", study).json()["pcf"]["ipccCharacterizationFactors"], ["AR6", "AR4"])


class SupplierFiles(OwnCase):
    def test_a_faulty_file_is_told_alone(self):
        """Its factor and table have no source, which the file would bring."""
        pulp = copy.deepcopy(PULP)
        pulp["pcf"]["pcfExcludingBiogenicUptake"] = "0.5"
        outcome = deckle("footprint", self.own(pulp, f__yaml=lambda t: t.replace("source: {title: Invented, year: 2026}\n", "")))
        self.assert_refused(outcome, "[V-12]")
        self.assertNotIn("pulp has no source", outcome.err)

    def test_the_suppliers_ratings_rate_its_part(self):
        """The pulp weighs 0.33 of 0.44, rated 2; the clay 0.11, unknown: 5. (0.33 x 2 + 0.11 x 5) / 0.44 = 2.75."""
        pulp = copy.deepcopy(PULP)
        pulp["pcf"]["dqi"] = {"technologicalDQR": "2", "geographicalDQR": "2", "temporalDQR": "2"}
        rated = deckle("disclose", self.own(pulp)).json()["pcf"]["dqi"]
        self.assertEqual(rated["technologicalDQR"], "2.75")
        typed = self.own(pulp, f__yaml=lambda t: t.replace("factor_from:", "data_quality: {technology: 4}, factor_from:"))
        self.assertEqual(deckle("disclose", typed).json()["pcf"]["dqi"]["technologicalDQR"], "4.25")


    def test_a_footprint_is_named_itself_and_a_table_by_its_edition(self):
        table = self.own(f__yaml=lambda t: t.replace("year: 2026}", "year: 2026, edition: '4.1'}"))
        self.assertEqual(deckle("disclose", table).json()["pcf"]["secondaryEmissionFactorSources"], [
            {"name": "Product footprint of Bleached pulp, Pulp works (invented)", "version": PULP["id"]},
            {"name": "T", "version": "4.1"}])


class ReportContents(OwnCase):
    """What the inventory report of the GHG Protocol Product Standard asks for under its headings, of figures by hand."""

    def test_gate_to_gate_is_what_the_own_processes_release(self):
        """A tonne: 50 kg of a process and 56 of a gigajoule burned are the mill's own; 30 of bought power are not."""
        added = ("  gas: {title: Gas, kind: fuel, per: 1 GJ LHV, region: austria, releases: {co2_fossil: 56 kg}}\n"
                 "  mix: {title: Mix, kind: electricity, per: 1 kWh, region: austria, climate: {fossil: 0.3 kg, biogenic: 0 kg, "
                 "land_use: 0 kg, characterization: ar6_100}}\n")
        study = self.own(f__yaml=lambda t: t + added, m__yaml=lambda t: t.replace("uses: {", "uses: {gas: 1 GJ LHV, mix: 100 kWh, ") +
                         "    releases: {co2_fossil: 50 kg}\n",
                         study__yaml=lambda t: t.replace("mills:", "electricity: location\ngrids: {mix: {location: mix, residual: mix}}\nmills:"))
        self.assertIn("Cradle to gate 0.576 kg CO2e; of these the company's own processes release 0.106.",
                      self.section(study, "Cradle to gate and gate to gate"))

    def test_what_is_left_out_stands_with_reason_and_bound(self):
        section = self.section(self.own(study__yaml=lambda t: t + (
            "exempted: [{what: Travel of staff, why: No part of making it, highest_plausible: 1.5 %}, "
            "{what: Printing plates, why: Used for years, highest_plausible: 0.4 %}]\n")), "Left out")
        self.assertIn("| Travel of staff | No part of making it | 1.5 % |", section)
        self.assertIn("| Printing plates | Used for years | 0.4 % |", section)
        self.assertIn("In all at most 1.9 % of the footprint.", section)

    def test_significant_processes_with_their_shares(self):
        """The pulp's 0.33 of 0.44 are three quarters, of them 62.5 % primary as its supplier states."""
        section = self.section(self.own(), "Significant processes")
        self.assertIn("The 2 largest of 2 parts.", section)
        rows = [[cell.strip() for cell in line.strip("|").split(" | ")] for line in section.splitlines() if line.startswith("| The")]
        self.assertEqual([row[:6] for row in rows], [
            ["The machine: pulp", "Bleached pulp", "0.330", "75.0", "metered", "62.5"],
            ["The machine: clay", "Clay", "0.110", "25.0", "metered", "0.0"]])

    TOLD = ("    version: '2'\n    earlier_report: version 1, of 2025\n    changes: the pulp is another\n"
            "  report: {limitations: Climate alone., improvements: Meters for clay.}\n")

    def test_date_version_and_earlier_report(self):
        told = self.own(study__yaml=lambda t: t.replace("products: {sheet: {ids: [\"urn:gtin:04012345000016\"]}}\n",
                        "products:\n   sheet:\n    ids: [\"urn:gtin:04012345000016\"]\n" + self.TOLD))
        section = self.section(told, "Date, version and earlier report")
        for line in ("Made on 2026-02-10, version 2, by deckle", "Earlier report: version 1, of 2025", "Changes since: the pulp is another"):
            self.assertIn("\n" + line, section)
        self.assertIn("Of this study: Climate alone.", self.section(told, "Limitations and limits of use"))
        self.assertIn("Meters for clay.", self.section(told, "Efforts to improve data"))
        silent = self.section(self.own(), "Date, version and earlier report")
        for line in ("version not stated, by deckle", "Earlier report: not stated", "Changes since: not stated"):
            self.assertIn(line, silent)

    def test_limits_of_use(self):
        text = deckle("disclose", self.own(), "--format", "markdown").out
        caution = text.split("\n## ")[0]
        for words in ("not verified", "under different rules must not be compared", "no full product inventory"):
            self.assertIn(words, caution)
        self.assertIn("One impact only: climate.", self.section(self.own(), "Limitations and limits of use"))

    def test_where_a_study_is_silent_its_report_says_so(self):
        study = self.own()
        for heading in ("Goal of the study", "How data were collected", "Efforts to improve data", "Recycling",
                        "Timing of emissions and removals", "Assumptions and choices of value", "Interpretation and conclusions",
                        "Use and end-of-life profile", "Reductions and recalculation", "Cut-off criteria", "Rules followed"):
            self.assertRegex(self.section(study, heading), r"\n\nnot stated\n", heading)


class LeftOut(OwnCase):
    """0.44 kg CO2e a kilogram: 4.4 kg of a tonne are 1 %, and so are 4.4 g of a kilogram."""

    def left_out(self, highest):
        study = self.own(study__yaml=lambda t: t + f"exempted: [{{what: a, why: small, highest_plausible: {highest}}}]\n"
                         "rules: {id: own, version: '1', cut_off: 3 %}\n")
        return study, deckle("disclose", study)

    def test_co2e_per_unit(self):
        for highest in ("1 %", "4.4 kg CO2e/t", "4.4 g CO2e/kg"):
            self.assertEqual(self.left_out(highest)[1].json()["pcf"]["exemptedEmissionsPercent"], "1.00")

    def test_per_something_without_results(self):
        study, outcome = self.left_out("1 kg CO2e/roll")
        self.assert_refused(outcome, "[not-added-up]")
        found = deckle("check", study).out
        self.assertIn("[exemption-not-added-up]", found)
        self.assertNotIn("[exemption-without-rules]", found)

    def test_per_roll(self):
        """The worked example's roll: 0.129587 kg CO2e, of which 0.00129587 kg are 1 % (by hand)."""
        products = OWN["study.yaml"].split("disclosure:")[1].replace("sheet:", "bath_3ply:")
        study = self.copy_of("worked_example", mill__yaml=without_fossil, study__yaml=lambda t: t + "disclosure:" + products +
                             "exempted: [{what: a, why: small, highest_plausible: 0.00129587 kg CO2e/roll}]\n")
        self.assertEqual(deckle("disclose", study).json()["pcf"]["exemptedEmissionsPercent"], "1.00")


class Ratings(OwnCase):
    """Technology of 1 and 2 is for primary data, and time goes by the end of the data (How-to Guide V3)."""

    def found(self, beside):
        study = self.own(f__yaml=lambda t: t.replace("kind: chemical,", f"kind: chemical, {beside},"))
        by_check = [one["message"] for one in deckle("check", study, "--format", "json").json()["findings"]
                    if one["code"] == "rating-contradicted"]
        self.assertEqual("[rating-contradicted]" in deckle("disclose", study).err, bool(by_check))
        return by_check

    def test_what_stands_beside_a_rating_contradicts_it(self):
        for beside, words in (("data_quality: {technology: 1}, primary_share: 0 %", "technology 1"),
                              ("data_quality: {technology: 2}", "technology 2"),
                              ("data_quality: {time: 1}, reference_period: 2015-01-01 .. 2015-12-31", "time 1")):
            messages = self.found(beside)
            self.assertEqual(len(messages), 1, beside)
            self.assertIn(words, messages[0])

    def test_ratings_that_fit_are_none(self):
        for beside in ("data_quality: {technology: 1}, primary_share: 100 %", "data_quality: {technology: 3}",
                       "data_quality: {time: 5}, reference_period: 2015-01-01 .. 2015-12-31",
                       "data_quality: {time: 1}, reference_period: 2024-01-01 .. 2024-12-31"):
            self.assertEqual(self.found(beside), [], beside)


class CheckedFiles(OwnCase):
    def problems(self, *footprints):
        paths = [self.write(f"{i}.json", json.dumps(one)) for i, one in enumerate(footprints)]
        return sorted((p["code"], p["severity"]) for p in deckle("disclose", "--check", *paths, "--format", "json").json()["problems"])

    def example(self, pcf=(), **more):
        one = copy.deepcopy(EXAMPLE)
        one["pcf"].update(pcf)
        one.update(more)
        return one

    def test_forms_and_lists(self):
        twice = [EXAMPLE["precedingPfIds"][0], EXAMPLE["precedingPfIds"][0].upper()]
        for code, severity, one in (
            ("property-form", "error", self.example({"aircraftGhgEmissions": "-0"})),
            ("property-form", "error", self.example({"landManagementBiogenicCO2Removals": "+0"})),
            ("property-list", "error", self.example(precedingPfIds=twice)),
            ("V-17", "finding", self.example({"exemptedEmissionsDescription": "  "})),
            ("V-05", "finding", self.example({"declaredUnitAmount": "1000", "productMassPerDeclaredUnit": "1000"})),
        ):
            self.assertEqual(self.problems(one), [(code, severity)])
        self.assertEqual(self.problems(self.example({"aircraftGhgEmissions": "+0"})), [])  # a form of what is not negative

    def test_what_files_say_of_each_other_goes_by_no_order(self):
        old = self.example(status="Deprecated")
        self.assertEqual(self.problems(old, EXAMPLE), self.problems(EXAMPLE, old))
        other = self.example(id=EXAMPLE["precedingPfIds"][0], precedingPfIds=[EXAMPLE["id"]], status="Deprecated")
        first = self.example(status="Deprecated")
        self.assertEqual(self.problems(first, other), [("V-11", "error")] * 2)
        late = self.example(id=EXAMPLE["precedingPfIds"][0], precedingPfIds=["00000000-0000-4000-8000-000000000000"],
                            status="Deprecated", created="2027-02-10T00:00:00Z")
        for pair in ((EXAMPLE, late), (late, EXAMPLE)):
            self.assertEqual(self.problems(*pair), [("V-10", "error")])


if __name__ == "__main__":
    support.main()
