"""Files of others: every rule and form of the published data model, each defect a change of one example in one place.

EXAMPLE is invented and obeys every rule; the schema is written from the model (make_footprint_schema.py) and run by
python3-jsonschema.
"""
import copy
import json
import uuid

import jsonschema

import support
from make_footprint_schema import FOOTPRINT
from support import HERE, CommandTest, deckle

EXAMPLE = json.loads((HERE / "footprint_example.json").read_text("utf-8"))


class Checked(CommandTest):
    """Files of others: defects of the published schema and examples, and every rule between properties."""

    def check(self, *footprints):
        paths = [self.write(f"{i}.json", json.dumps(one, indent=1)) for i, one in enumerate(footprints)]
        return deckle("disclose", "--check", *paths, "--format", "json")

    def problems(self, change):
        footprint = copy.deepcopy(EXAMPLE)
        change(footprint, footprint["pcf"])
        outcome = self.check(footprint)
        return outcome.status, [(p["code"], p["severity"], p["message"]) for p in outcome.json()["problems"]]

    def expect(self, code, severity, pointer, change):
        with self.subTest(f"{code} {pointer}"):
            status, problems = self.problems(change)
            self.assertIn((code, severity), [(p[0], p[1]) for p in problems])
            self.assertTrue(any(p[0] == code and p[2].startswith(pointer) for p in problems), problems)
            self.assertEqual(status, 1 if any(p[1] == "error" for p in problems) else 0)

    def test_the_example_breaks_nothing(self):
        jsonschema.Draft202012Validator(FOOTPRINT).validate(EXAMPLE)
        self.assertEqual(self.problems(lambda root, pcf: None), (0, []))

    def test_rules(self):
        error, finding = "error", "finding"
        for code, severity, pointer, change in (
            ("V-01", error, "/pcf/geographyCountry", lambda r, p: p.update(geographyRegionOrSubregion="Europe")),
            ("V-02", error, "/pcf/packagingGhgEmissions", lambda r, p: p.update(packagingEmissionsIncluded=False)),
            ("V-02", finding, "/pcf/packagingEmissionsIncluded", lambda r, p: p.pop("packagingGhgEmissions")),
            ("V-03", error, "/pcf/ccsTechnologicalCO2Capture", lambda r, p: p.update(ccsTechnologicalCO2Capture="0")),
            ("V-04", error, "/pcf/ccuCreditCertification", lambda r, p: p.update(ccuCreditCertification="https://a.example/1")),
            ("V-05", error, "/pcf/productMassPerDeclaredUnit", lambda r, p: p.update(productMassPerDeclaredUnit="1.2")),
            ("V-05", error, "/pcf/productMassPerDeclaredUnit", lambda r, p: p.update(
                declaredUnitOfMeasurement="piece", productMassPerDeclaredUnit="0")),
            ("V-05", error, "/pcf/productMassPerDeclaredUnit", lambda r, p: p.update(declaredUnitOfMeasurement="hour")),
            ("V-06", error, "/pcf/referencePeriodEnd", lambda r, p: p.update(referencePeriodStart="2027-01-01T00:00:00Z")),
            # one published example is valid before its reference period ends
            ("V-07", error, "/validityPeriodStart", lambda r, p: r.update(validityPeriodStart="2025-12-31T00:00:00Z")),
            ("V-08", error, "/validityPeriodEnd", lambda r, p: r.update(validityPeriodEnd="2029-01-01T00:00:01Z")),
            ("V-08", error, "/validityPeriodStart", lambda r, p: r.pop("validityPeriodEnd")),
            # one published example lists its own id as its predecessor
            ("V-11", error, "/precedingPfIds", lambda r, p: r.update(precedingPfIds=[r["id"]])),
            # three published examples add the fossil part of land management to fossil and leave methane out
            ("V-12", error, "/pcf/pcfExcludingBiogenicUptake", lambda r, p: p.update(
                pcfExcludingBiogenicUptake="1.246", pcfIncludingBiogenicUptake="-0.294")),
            ("V-13", error, "/pcf/pcfIncludingBiogenicUptake", lambda r, p: p.update(pcfIncludingBiogenicUptake="1.63")),
            ("V-14", error, "/pcf/biogenicCO2Uptake", lambda r, p: p.update(
                biogenicCO2Uptake="-1.53", pcfIncludingBiogenicUptake="-0.293")),
            ("V-15", error, "/pcf/productMassPerDeclaredUnit", lambda r, p: p.update(fossilCarbonContent="0.6")),
            ("V-15", error, "/pcf/recycledCarbonContent", lambda r, p: p.update(recycledCarbonContent="0.5")),
            ("V-16", error, "/pcf/landManagementFossilGhgEmissions", lambda r, p: p.update(landManagementFossilGhgEmissions="2")),
            ("V-16", finding, "/pcf/aircraftGhgEmissions", lambda r, p: p.update(aircraftGhgEmissions="2")),
            ("V-17", error, "/pcf/exemptedEmissionsPercent", lambda r, p: p.update(exemptedEmissionsPercent="101")),
            ("V-17", finding, "/pcf/exemptedEmissionsPercent", lambda r, p: p.update(exemptedEmissionsPercent="3.1")),
            ("V-17", finding, "/pcf/exemptedEmissionsDescription", lambda r, p: p.pop("exemptedEmissionsDescription")),
            ("V-18", error, "/pcf/primaryDataShare", lambda r, p: p.update(primaryDataShare="100.1")),
            ("V-18", error, "/pcf/dqi/temporalDQR", lambda r, p: p["dqi"].update(temporalDQR="0.9")),
            ("V-19", finding, "/pcf/secondaryEmissionFactorSources", lambda r, p: p.pop("secondaryEmissionFactorSources")),
            ("V-19", finding, "/pcf/secondaryEmissionFactorSources", lambda r, p: p.update(primaryDataShare="100")),
            ("V-20", finding, "/pcf/ipccCharacterizationFactors", lambda r, p: p.update(ipccCharacterizationFactors=["AR6", "AR5"])),
            # two published examples put otherOperatorName outside the rule, one gives it with the operator PEF
            ("V-21", error, "/pcf/productOrSectorSpecificRules/0", lambda r, p: p["productOrSectorSpecificRules"][0].pop("otherOperatorName")),
            ("V-21", error, "/pcf/productOrSectorSpecificRules/0", lambda r, p: p["productOrSectorSpecificRules"][0].update(operator="PEF")),
            ("V-22", error, "/pcf/crossSectoralStandards", lambda r, p: p.update(crossSectoralStandards=["PACT-2.0"])),
            ("V-22", finding, "/pcf/crossSectoralStandards", lambda r, p: (
                p.update(crossSectoralStandards=["PACT-2.0"]), p.pop("biogenicCarbonContent"))),
        ):
            self.expect(code, severity, pointer, change)

    def test_schema(self):
        for code, severity, pointer, change in (
            ("property-missing", "error", "/companyName", lambda r, p: r.pop("companyName")),
            ("property-missing", "error", "/pcf/fossilGhgEmissions", lambda r, p: p.pop("fossilGhgEmissions")),
            ("property-missing", "error", "/companyName", lambda r, p: r.update(companyName=None)),
            ("property-expected", "finding", "/pcf/primaryDataShare", lambda r, p: p.pop("primaryDataShare")),
            ("property-expected", "finding", "/pcf/biogenicNonCO2Emissions", lambda r, p: p.pop("biogenicNonCO2Emissions")),
            ("property-expected", "finding", "/pcf/dqi", lambda r, p: p.pop("dqi")),
            ("property-type", "error", "/pcf/fossilGhgEmissions", lambda r, p: p.update(fossilGhgEmissions=1.212)),
            ("property-type", "error", "/pcf/packagingEmissionsIncluded", lambda r, p: p.update(packagingEmissionsIncluded="true")),
            ("property-type", "error", "/pcf", lambda r, p: r.update(pcf=[])),
            ("property-form", "error", "/pcf/fossilGhgEmissions", lambda r, p: p.update(fossilGhgEmissions="1.212e+0")),
            ("property-form", "error", "/pcf/fossilGhgEmissions", lambda r, p: p.update(fossilGhgEmissions="1,212")),
            # the printed pattern of numbers above zero lets this pass
            ("property-form", "error", "/pcf/declaredUnitAmount", lambda r, p: p.update(declaredUnitAmount="1abc")),
            # and that of numbers of zero or below these three
            ("property-sign", "error", "/pcf/biogenicCO2Uptake", lambda r, p: p.update(biogenicCO2Uptake="5.0")),
            ("property-sign", "error", "/pcf/biogenicCO2Uptake", lambda r, p: p.update(biogenicCO2Uptake="10")),
            ("property-form", "error", "/pcf/biogenicCO2Uptake", lambda r, p: p.update(biogenicCO2Uptake="-1x")),
            ("property-form", "error", "/id", lambda r, p: r.update(id="{" + r["id"] + "}")),
            ("property-form", "error", "/companyIds/0", lambda r, p: r.update(companyIds=["4012345"])),
            ("property-form", "error", "/created", lambda r, p: r.update(created="2026-02-10")),
            ("property-word", "error", "/pcf/declaredUnitOfMeasurement", lambda r, p: p.update(declaredUnitOfMeasurement="kg")),
            ("property-list", "error", "/productIds", lambda r, p: r.update(productIds=[])),
            ("property-list", "error", "/productIds/1", lambda r, p: r.update(productIds=r["productIds"] * 2)),
            # one published example uses names that the schema does not have
            ("property-unknown", "finding", "/pcf/fosilGhgEmissions", lambda r, p: p.update(fosilGhgEmissions="1")),
        ):
            self.expect(code, severity, pointer, change)

    def test_a_validity_may_be_unsaid(self):
        """V-09: it is three years from the end of the period then."""
        self.assertEqual(self.problems(lambda r, p: (r.pop("validityPeriodStart"), r.pop("validityPeriodEnd"))), (0, []))

    def test_a_standard_that_is_not_known_is_taken(self):
        self.assertEqual(self.problems(lambda r, p: p["crossSectoralStandards"].append("XYZ-9"))[1], [])

    def test_the_worked_total_of_the_guide(self):
        """How-to Guide V3 (2026): land-use change 5, other fossil 1 and land management 0.7, non-CO2 0.2, uptake -0.5."""
        def change(root, pcf):
            pcf.update(fossilGhgEmissions="1.7", landManagementFossilGhgEmissions="0.7", landUseChangeGhgEmissions="5",
                       landManagementBiogenicCO2Emissions="0", biogenicNonCO2Emissions="0.2", biogenicCO2Uptake="-0.5",
                       biogenicCarbonContent="0.136", pcfExcludingBiogenicUptake="6.9", pcfIncludingBiogenicUptake="6.4")
        self.assertEqual(self.problems(change), (0, []))

    def second(self, **changes):
        """The bottle of decision record 36: 12 litres of 1.5 kg CO2e and 0.789 kg each. Parts of the 1.5 are invented."""
        root = {key: value for key, value in EXAMPLE.items() if key not in ("pcf", "extensions", "productClassifications")}
        pcf = {
            "declaredUnit": "liter", "unitaryProductAmount": "12", "productMassPerDeclaredUnit": "0.789",
            "referencePeriodStart": "2025-01-01T00:00:00Z", "referencePeriodEnd": "2026-01-01T00:00:00Z",
            "geographyCountry": "AT", "pCfExcludingBiogenic": "1.5", "pCfIncludingBiogenic": "1.5", "fossilGhgEmissions": "1.4",
            "fossilCarbonContent": "0.2", "biogenicCarbonContent": "0", "dLucGhgEmissions": "0.1", "landManagementGhgEmissions": "0",
            "otherBiogenicGhgEmissions": "0", "biogenicCarbonWithdrawal": "0", "packagingEmissionsIncluded": True,
            "packagingGhgEmissions": "0.1", "characterizationFactors": "AR6", "ipccCharacterizationFactorsSources": ["AR6"],
            "crossSectoralStandardsUsed": ["ISO Standard 14067"], "boundaryProcessesDescription": "x",
            "exemptedEmissionsPercent": 4.5, "exemptedEmissionsDescription": "small", "primaryDataShare": 38.5,
            "secondaryEmissionFactorSources": [{"name": "a", "version": "1"}]}
        pcf.update(changes)
        return {**root, "specVersion": "2.2.0", "version": 1, "pcf": pcf}

    def test_the_second_edition_is_converted(self):
        """What became of each property (PACT, change log of 3.0): only what has no successor is lost."""
        outcome = self.check(self.second())
        problems = outcome.json()["problems"]
        self.assertEqual(outcome.status, 0, problems)
        self.assertEqual([p["severity"] for p in problems if p["code"] == "property-edition"], ["finding"])
        self.assertIn("converted", next(p["message"] for p in problems if p["code"] == "property-edition"))
        self.assertEqual([p["message"].split(":")[0] for p in problems if p["code"] == "property-lost"], ["/version"])
        # the reporting rules ask the rest; 4.5 % left out was allowed
        self.assertEqual({p["code"] for p in problems}, {"property-edition", "property-lost", "property-expected"})
        lost = self.check(self.second(dqi={"coveragePercent": 80, "technologicalDQR": 2.0}, uncertaintyAssessmentDescription="x",
                                      biogenicAccountingMethodology="PEF",
                                      assurance={"assurance": True, "level": "limited", "providerName": "x", "coverage": "PCF system"}))
        found = {p["message"].split(":")[0] for p in lost.json()["problems"] if p["code"] == "property-lost"}
        self.assertEqual(found, {"/version", "/pcf/dqi", "/pcf/uncertaintyAssessmentDescription", "/pcf/biogenicAccountingMethodology",
                                 "/pcf/assurance/level", "/pcf/assurance/coverage"})

    def test_amounts_of_the_second_edition_are_for_one_unit(self):
        """12 litres of 0.789 kg weigh 9.468 kg (decision record 36), and 1 kg of carbon in each makes 12 kg."""
        found = self.check(self.second(fossilCarbonContent="1")).json()["problems"]
        message = next(p["message"] for p in found if p["code"] == "V-15")
        self.assertIn("12 kg of carbon in 9.468 kg of product", message)

    def test_rules_of_the_third_on_what_was_converted(self):
        for code, changes in (
            ("V-01", {"geographyRegionOrSubregion": "Europe"}),
            ("V-02", {"packagingEmissionsIncluded": False}),
            ("V-06", {"referencePeriodStart": "2027-01-01T00:00:00Z"}),
            ("V-14", {"biogenicCarbonWithdrawal": "-0.5", "pCfIncludingBiogenic": "1.0"}),
            ("V-17", {"exemptedEmissionsPercent": 5.1}),
            ("V-18", {"primaryDataShare": 101}),
            ("V-20", {"characterizationFactors": "AR5", "ipccCharacterizationFactorsSources": ["AR5"]}),
            ("property-word", {"declaredUnit": "litre"}),
            ("property-form", {"dLucGhgEmissions": "0,1"}),
            ("total-not-its-terms", {"pCfExcludingBiogenic": "1.9"}),
            ("property-missing", {"fossilGhgEmissions": None}),
        ):
            with self.subTest(code):
                self.assertIn(code, [p["code"] for p in self.check(self.second(**changes)).json()["problems"]])

    def test_digits_of_one_unit_round_as_they_did(self):
        """0.04 kg of carbon are 0.1467 kg CO2, printed 0.15: times 1000 that is still the same figure."""
        codes = [p["code"] for p in self.check(self.second(
            unitaryProductAmount="1000", productMassPerDeclaredUnit="0.9", biogenicCarbonContent="0.04", biogenicCarbonWithdrawal="-0.15",
            pCfIncludingBiogenic="1.35")).json()["problems"]]
        self.assertFalse([code for code in codes if code.startswith("V-")], codes)

    def test_the_second_edition_is_withdrawn_for_biogenic_carbon(self):
        outcome = self.check(self.second(biogenicCarbonContent="0.3", biogenicCarbonWithdrawal="-1.1", pCfIncludingBiogenic="0.4"))
        self.assertEqual(outcome.status, 1)
        found = next(p for p in outcome.json()["problems"] if p["code"] == "property-edition")
        self.assertEqual(found["severity"], "error")
        self.assertIn("withdrawn", found["message"])

    def test_several_in_one_file(self):
        """A list alone, and one under data as the program writes it, read the same."""
        broken = copy.deepcopy(EXAMPLE)
        broken["pcf"].pop("fossilGhgEmissions")
        for whole, pointer in (([EXAMPLE, broken], "/1"), ({"data": [EXAMPLE, broken]}, "/data/1")):
            found = self.check(whole).json()
            self.assertEqual(found["footprints"], 2)
            self.assertTrue(any(p["message"].startswith(pointer + "/pcf/fossilGhgEmissions") for p in found["problems"]))

    def test_nothing_to_check_is_no_pass(self):
        for text in ('{"data": []}', "[]", "{}", '{"data": {}}', '"x"', "1", "null"):
            with self.subTest(text):
                outcome = deckle("disclose", "--check", self.write("none.json", text))
                self.assert_refused(outcome, "none.json", "[no-footprint]")
                self.assertNotIn("schema page", outcome.err)

    def test_place(self):
        footprint = copy.deepcopy(EXAMPLE)
        footprint["pcf"]["fossilGhgEmissions"] = "-1"
        path = self.write("one.json", json.dumps({"data": [EXAMPLE, footprint]}, indent=1))
        outcome = deckle("disclose", "--check", path)
        lines = path.read_text("utf-8").splitlines()
        line = 1 + max(i for i, text in enumerate(lines) if "fossilGhgEmissions" in text)
        self.assertIn(f"one.json:{line}:{lines[line - 1].index(chr(34) + '-1') + 1}: error: /data/1/pcf/fossilGhgEmissions:", outcome.out)
        self.assertEqual(outcome.status, 1)

    def test_history(self):
        changed, later = copy.deepcopy(EXAMPLE), copy.deepcopy(EXAMPLE)
        changed["comment"] = "another"
        codes = [(p["code"], p["severity"]) for p in self.check(EXAMPLE, changed).json()["problems"]]
        self.assertEqual(codes, [("V-10", "error")])
        deprecated = copy.deepcopy(EXAMPLE)
        deprecated["status"] = "Deprecated"
        self.assertEqual(self.check(EXAMPLE, deprecated).json()["problems"], [])
        self.assertEqual([p["code"] for p in self.check(deprecated, EXAMPLE).json()["problems"]], [])  # no file says which came later
        later.update(id=str(uuid.UUID(int=1, version=4)), precedingPfIds=[EXAMPLE["id"]])
        self.assertEqual(self.check(deprecated, later).json()["problems"], [])
        later["pcf"].update(fossilGhgEmissions="1.336", pcfExcludingBiogenicUptake="1.361", pcfIncludingBiogenicUptake="-0.179")
        found = self.check(EXAMPLE, later).json()["problems"]  # 1.361 / 1.237 is 10.02 % more
        self.assertEqual([p["severity"] for p in found], ["finding", "finding"])
        self.assertTrue(any("+10.0 %" in p["message"] for p in found), found)

    def test_what_is_no_json(self):
        for name, text in (("yaml.json", "id: 1\n"), ("comma.json", '{"id": "1",}'), ("cut.json", '{"id": "1'), ("list.json", "[]")):
            with self.subTest(name):
                self.assert_refused(deckle("disclose", "--check", self.write(name, text)), name)

    def test_ids_in_capitals_are_the_same(self):
        """RFC 9562, 4: the hexadecimal digits of a UUID are compared whatever their case."""
        _, problems = self.problems(lambda r, p: r.update(precedingPfIds=[r["id"].upper()]))
        self.assertIn("V-11", [p[0] for p in problems])
        changed = copy.deepcopy(EXAMPLE)
        changed.update(id=EXAMPLE["id"].upper(), comment="another")
        self.assertIn("V-10", [p["code"] for p in self.check(EXAMPLE, changed).json()["problems"]])

    def test_an_edition_to_come_is_found(self):
        status, problems = self.problems(lambda r, p: r.update(specVersion="4.0.0"))
        self.assertEqual((status, [p[:2] for p in problems]), (0, [("property-edition", "finding")]))

    def test_usage(self):
        path = self.write("one.json", json.dumps(EXAMPLE))
        self.assert_refused(deckle("disclose", "--check", path, "--format", "html"), "[usage]")
        self.assert_refused(deckle("disclose", "--check", path, "--product", "x"), "[usage]")
        self.assert_refused(deckle("disclose", path, path), "[usage]")
        self.assert_refused(deckle("disclose", "--check", self.scratch / "none.json"), "[missing-file]")

    def test_hostile_texts_come_out_inert(self):
        footprint = copy.deepcopy(EXAMPLE)
        footprint["pcf"]["\u202e\x1b[31m<script>"] = "=cmd|x\n"
        footprint["status"] = "\x1b]0;x\x07\u202e"
        outcome = deckle("disclose", "--check", self.write("hostile.json", json.dumps(footprint)))
        self.assertEqual(outcome.status, 1)
        for character in "\x1b\x07\u202e":
            self.assertNotIn(character, outcome.out + outcome.err)


if __name__ == "__main__":
    support.main()
