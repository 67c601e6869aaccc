"""The JSON Schema of a product footprint, written from the tables of the published data model.

PACT Technical Specifications for PCF Data Exchange 3.0.3 (WBCSD, 18 November 2025), text and OpenAPI schema. The
patterns of decimals are anchored here: as printed, alternatives without a group let "5.0" pass for a number of zero
or below, and "1abc" for one above zero.
"""
TEXT = {"type": "string"}
FILLED = {"type": "string", "minLength": 1}
UUID = {"type": "string", "pattern": "^[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}$"}
URN = {"type": "string", "pattern": "^([uU][rR][nN]):[A-Za-z0-9][A-Za-z0-9-]{0,30}[A-Za-z0-9]:\\S+$"}
URI = {"type": "string", "pattern": "^[A-Za-z][A-Za-z0-9+.-]*:\\S+$"}
TIME = {"type": "string", "pattern": "^\\d{4}-\\d{2}-\\d{2}T\\d{2}:\\d{2}:\\d{2}Z$"}
NUMBER = {"type": "string", "pattern": "^[+-]?[0-9]+(\\.[0-9]+)?$"}
POSITIVE = {"type": "string", "pattern": "^[+]?(0*[1-9][0-9]*(\\.[0-9]+)?|0+\\.[0-9]*[1-9][0-9]*)$"}
NOT_NEGATIVE = {"type": "string", "pattern": "^[+]?[0-9]+(\\.[0-9]+)?$"}
NOT_POSITIVE = {"type": "string", "pattern": "^(-[0-9]+(\\.[0-9]+)?|0+(\\.0+)?)$"}
YES_OR_NO = {"type": "boolean"}
REGIONS = ["Africa", "Americas", "Asia", "Europe", "Oceania", "Australia and New Zealand", "Central Asia", "Eastern Asia",
           "Eastern Europe", "Latin America and the Caribbean", "Melanesia", "Micronesia", "Northern Africa",
           "Northern America", "Northern Europe", "Polynesia", "South-eastern Asia", "Southern Asia", "Southern Europe",
           "Sub-Saharan Africa", "Western Asia", "Western Europe"]


def listed(item):
    return {"type": "array", "items": item, "minItems": 1, "uniqueItems": True}


def one_of(*words):
    return {"enum": list(words)}


def record(properties, required):
    return {"type": "object", "properties": properties, "required": required, "additionalProperties": False}


CARBON = record({
    "declaredUnitOfMeasurement": one_of("liter", "kilogram", "cubic meter", "kilowatt hour", "megajoule", "ton kilometer",
                                        "square meter", "piece", "hour", "megabit second"),
    "declaredUnitAmount": POSITIVE,
    "productMassPerDeclaredUnit": NUMBER,
    "referencePeriodStart": TIME,
    "referencePeriodEnd": TIME,
    "geographyRegionOrSubregion": one_of(*REGIONS),
    "geographyCountry": {"type": "string", "pattern": "^[A-Z]{2}$"},
    "geographyCountrySubdivision": {"type": "string", "pattern": "^[A-Z]{2}-[A-Z0-9]{1,3}$"},
    "boundaryProcessesDescription": TEXT,
    "pcfExcludingBiogenicUptake": NUMBER,
    "pcfIncludingBiogenicUptake": NUMBER,
    "fossilCarbonContent": NOT_NEGATIVE,
    "biogenicCarbonContent": NOT_NEGATIVE,
    "recycledCarbonContent": NOT_NEGATIVE,
    "fossilGhgEmissions": NOT_NEGATIVE,
    "landUseChangeGhgEmissions": NOT_NEGATIVE,
    "landCarbonLeakage": NOT_NEGATIVE,
    "landManagementFossilGhgEmissions": NOT_NEGATIVE,
    "landManagementBiogenicCO2Emissions": NOT_NEGATIVE,
    "landManagementBiogenicCO2Removals": NOT_POSITIVE,
    "biogenicNonCO2Emissions": NOT_NEGATIVE,
    "biogenicCO2Uptake": NOT_POSITIVE,
    "landAreaOccupation": NOT_NEGATIVE,
    "aircraftGhgEmissions": NOT_NEGATIVE,
    "packagingEmissionsIncluded": YES_OR_NO,
    "packagingGhgEmissions": NOT_NEGATIVE,
    "packagingBiogenicCarbonContent": NOT_NEGATIVE,
    "outboundLogisticsGhgEmissions": NOT_NEGATIVE,
    "ccsTechnologicalCO2CaptureIncluded": YES_OR_NO,
    "ccsTechnologicalCO2Capture": NOT_POSITIVE,
    "technologicalCO2CaptureOrigin": TEXT,
    "technologicalCO2Removals": NOT_POSITIVE,
    "ccuCarbonContent": NOT_NEGATIVE,
    "ccuCalculationApproach": one_of("Cut-off", "Credit"),
    "ccuCreditCertification": URI,
    "ipccCharacterizationFactors": listed({"type": "string", "pattern": "^AR\\d+$"}),
    "crossSectoralStandards": listed(TEXT),
    "productOrSectorSpecificRules": listed(record({"operator": one_of("PEF", "EPD International", "Other"),
                                                   "ruleNames": listed(FILLED), "otherOperatorName": FILLED},
                                                  ["operator", "ruleNames"])),
    "exemptedEmissionsPercent": NUMBER,
    "exemptedEmissionsDescription": TEXT,
    "allocationRulesDescription": TEXT,
    "secondaryEmissionFactorSources": listed(record({"name": FILLED, "version": FILLED}, ["name", "version"])),
    "primaryDataShare": NUMBER,
    "dqi": record({name: NUMBER for name in ("technologicalDQR", "geographicalDQR", "temporalDQR")},
                  ["technologicalDQR", "geographicalDQR", "temporalDQR"]),
    "verification": record({"coverage": one_of("PCF calculation model", "PCF program", "product level"),
                            "providerName": FILLED, "completedAt": TIME, "standardName": TEXT, "comments": TEXT}, []),
}, ["declaredUnitOfMeasurement", "declaredUnitAmount", "productMassPerDeclaredUnit", "referencePeriodStart",
    "referencePeriodEnd", "pcfExcludingBiogenicUptake", "pcfIncludingBiogenicUptake", "fossilCarbonContent",
    "fossilGhgEmissions", "ipccCharacterizationFactors", "crossSectoralStandards", "exemptedEmissionsPercent"])

FOOTPRINT = record({
    "id": UUID,
    "specVersion": {"type": "string", "pattern": "^\\d+\\.\\d+\\.\\d+(-\\d{8})?$"},
    "precedingPfIds": listed(UUID),
    "created": TIME,
    "status": one_of("Active", "Deprecated"),
    "validityPeriodStart": TIME,
    "validityPeriodEnd": TIME,
    "companyName": FILLED,
    "companyIds": listed(URN),
    "productDescription": TEXT,
    "productIds": listed(URN),
    "productClassifications": listed(URN),
    "productNameCompany": FILLED,
    "comment": TEXT,
    "pcf": CARBON,
    "extensions": {"type": "array", "items": record(
        {"specVersion": {"type": "string", "pattern": "^\\d+\\.\\d+\\.\\d+$"}, "dataSchema": URI, "documentation": URI,
         "data": {"type": "object"}}, ["specVersion", "dataSchema", "data"])},
}, ["id", "specVersion", "created", "status", "companyName", "companyIds", "productDescription", "productIds",
    "productNameCompany", "pcf"])
