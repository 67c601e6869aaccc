"""A study of one sheet of a supplier's pulp and of clay, for tests of disclosures. All of it is invented."""
import json

import support
from support import CommandTest, deckle

PULP = {
    "id": "7c1d9e20-5b7e-4d19-9c42-6e0d1f7a8b35", "specVersion": "3.0.3", "created": "2025-05-02T00:00:00Z",
    "status": "Active", "companyName": "Pulp works (invented)", "companyIds": ["urn:ab:bcd"], "productDescription": "x",
    "productIds": ["urn:ab:bcd"], "productNameCompany": "Bleached pulp",
    "pcf": {"declaredUnitOfMeasurement": "kilogram", "declaredUnitAmount": "1", "productMassPerDeclaredUnit": "1",
            "referencePeriodStart": "2024-01-01T00:00:00Z", "referencePeriodEnd": "2025-01-01T00:00:00Z",
            "pcfExcludingBiogenicUptake": "0.330", "pcfIncludingBiogenicUptake": "-1.320", "fossilCarbonContent": "0",
            "biogenicCarbonContent": "0.45", "biogenicCO2Uptake": "-1.650", "fossilGhgEmissions": "0.41",
            "landUseChangeGhgEmissions": "0.006", "landManagementBiogenicCO2Emissions": "0",
            "landManagementBiogenicCO2Removals": "-0.100", "biogenicNonCO2Emissions": "0.014",
            "packagingEmissionsIncluded": False, "ccsTechnologicalCO2CaptureIncluded": False,
            "ipccCharacterizationFactors": ["AR6", "AR7"], "crossSectoralStandards": ["ISO14067", "PACT-3.0"],
            "exemptedEmissionsPercent": "0", "secondaryEmissionFactorSources": [{"name": "a", "version": "1"}],
            "primaryDataShare": "62.5"}}
# Of the second edition, as far as a factor needs it.
SECOND = {**PULP, "specVersion": "2.2.0", "pcf": {
    "declaredUnit": "kilogram", "unitaryProductAmount": "1", "pCfExcludingBiogenic": "0.41", "fossilGhgEmissions": "0.41",
    "biogenicCarbonContent": "0.45", "characterizationFactors": "AR6", "uncertaintyAssessmentDescription": "x",
    "exemptedEmissionsPercent": 4.5, "dqi": {"coveragePercent": 80}}}
OWN = {
    "study.yaml": "study: own\ntitle: Own (invented)\nowner: Own (invented)\nperiod: 2025-01-01 .. 2025-12-31\n"
                  "characterization: ar6_100\nfactors: [%s/factors/climate_ar6.yaml, f.yaml]\nmills: [m.yaml]\n"
                  "disclosure:\n  created: 2026-02-10\n  company_ids: [\"urn:company:own.example:1\"]\n"
                  "  standards: [ISO14067]\n  country: AT\n  products: {sheet: {ids: [\"urn:gtin:04012345000016\"]}}\n",
    "f.yaml": "table: t\ntitle: T\nsource: {title: Invented, year: 2026}\nfactors:\n"
              "  pulp: {kind: fibre, dryness: 90 %, region: europe, factor_from: pulp.json}\n"
              "  clay: {title: Clay, kind: chemical, per: 1 kg, region: austria, climate: {fossil: 0.11 kg, biogenic: 0 kg, "
              "land_use: 0 kg, characterization: ar6_100}}\n",
    "m.yaml": "mill: m\ntitle: M\nperiod: 2025-01-01 .. 2025-12-31\nprocesses:\n  machine:\n    title: The machine\n"
              "    stage: papermaking\n    makes: {sheet: {amount: 1 t, dryness: 95 %, composition: {fibre: 95 %, moisture: 5 %}, "
              "carbon: {biogenic: 0.444 kg/kg of fibre, fossil: 0 kg/kg of fibre}}}\n"
              "    uses: {pulp: {amount: 1 t, amount_is: metered}, clay: {amount: 1 t, amount_is: metered}}\n"}


def without_fossil(text):
    """The worked example does not say whether its sheet holds fossil carbon."""
    return text.replace("0.444 kg/kg of fibre}", "0.444 kg/kg of fibre, fossil: 0.5 kg/kg of resin}")


class OwnCase(CommandTest):
    """A tonne of sheet from a tonne of a supplier's pulp and one of clay: 0.41 + 0.006 + 0.014 - 0.1 + 0.11 = 0.44 kg/kg."""

    def own(self, pulp=PULP, **changes):
        folder = self.scratch / f"own{len(list(self.scratch.iterdir()))}"
        folder.mkdir()
        for name, text in OWN.items():
            text = text.replace("%s", str(support.SOURCE))
            change = changes.get(name.replace(".", "__"))
            (folder / name).write_text(change(text) if change else text, "utf-8")
        (folder / "pulp.json").write_text(json.dumps(pulp), "utf-8")
        return folder

    def section(self, study, heading):
        text = deckle("disclose", study, "--format", "markdown").out
        return text.split(f"\n## {heading}\n")[1].split("\n## ")[0]
