// Masses and their bases: what is dry, air dry or as it is, and what travels. An air-dry tonne of
// pulp is 900 kg of dry mass (Briggs, Forest Products Measurements and Conversion Factors, ch. 8).
#include <catch2/catch.hpp>

#include <map>
#include <string>

#include "tests/mill/mill_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

const std::string legs =
    factor("ship", "freight", "t km", 0.005) + factor("truck", "freight", "t km", 0.08);

double climate(const std::string& factors, const std::string& use) {
    return MillStudy({factors + legs,
                      "processes:\n  machine: {stage: papermaking, makes: {sheet: {amount: 1 t, "
                      "dryness: 95 %}}, uses: {" +
                          use + "}}\n"})
        .climate("sheet", "t");
}

/// Tonne-kilometres of one use over 1000 km, by a factor of 1 kg per t km.
double tonnes_over_1000_km(const std::string& thing, const std::string& use) {
    return climate(thing + factor("leg", "freight", "t km", 1.0),
                   "thing: {" + use + ", freight: [{by: leg, distance: 1000 km}]}") /
           1000.0;
}

}  // namespace

TEST_CASE("freight moves the mass as delivered: dry mass over dryness (Briggs, ch. 8, for ADt)",
          "[mill][literature]") {
    struct Row {
        std::string thing, use;
        double tonnes;
    };
    const std::string free = "releases: {co2_fossil: 0 kg}";
    const Row row = GENERATE_COPY(
        // 1.01 ADt at 90 % are 1.01 t on the ship, at 85 % 0.909/0.85 t.
        Row{"  thing: {title: X, kind: fibre, per: 1 ADt, dryness: 90 %, " + free + "}\n",
            "amount: 1.01 ADt", 1.01},
        Row{"  thing: {title: X, kind: fibre, per: 1 ADt, dryness: 90 %, " + free + "}\n",
            "amount: 1.01 ADt, dryness: 85 %", 0.909 / 0.85},
        // 4 kg dry of a resin at 20 % ride as 20 kg.
        Row{"  thing: {title: X, kind: chemical, per: 1 kg dry, " + free + "}\n",
            "amount: 4 kg dry, dryness: 20 %", 0.020},
        // As it is, whatever its dryness; by its density.
        Row{"  thing: {title: X, kind: chemical, per: 1 kg, dryness: 50 %, " + free + "}\n",
            "amount: 100 kg", 0.1},
        Row{"  thing: {title: X, kind: fuel, per: 1 L, density: 850 kg/m3, " + free + "}\n",
            "amount: 200 L", 0.17},
        // Typed at 60 % of a thing counted at 50 %: the truck carries what was typed.
        Row{"  thing: {title: X, kind: recovered_fibre, per: 1 t, dryness: 50 %, " + free + "}\n",
            "amount: 1 t, dryness: 60 %", 1.0},
        // By its heating value: 36 GJ LHV at 36 MJ/kg are a tonne.
        Row{"  thing: {title: X, kind: fuel, per: 1 GJ LHV, heating_value: {LHV: 36 MJ/kg}, " +
                free + "}\n",
            "amount: 36 GJ LHV", 1.0});
    CAPTURE(row.thing, row.use);
    CHECK_THAT(tonnes_over_1000_km(row.thing, row.use), exactly(row.tonnes));
}

TEST_CASE("several legs add up, each with its own carrier, under the use they deliver (by hand)",
          "[mill]") {
    const MillStudy study({factor("pulp", "fibre", "ADt", 400.0, "dryness: 90 %") + legs,
                           "processes:\n  machine: {makes: {sheet: 1 t}, uses: {pulp: {amount: "
                           "1.01 ADt, freight: [{by: "
                           "truck, distance: 90 km}, {by: ship, distance: 9600 km}, {by: truck, "
                           "distance: 110 km}]}}}\n"});
    const double freight = 1.01 * (0.08 * 90 + 0.005 * 9600 + 0.08 * 110);
    CHECK_THAT(study.climate("sheet", "t"), exactly(404.0 + freight));
    CHECK_THAT(study.by(BreakoutBy::stage, "sheet", "t").at("inbound"), exactly(freight));
    CHECK_THAT(study.by(BreakoutBy::user, "sheet", "t").at("pulp"), exactly(404.0 + freight));
    CHECK_THAT(study.value("m.machine.uses.pulp.freight.2.distance"), exactly(9600.0));
}

TEST_CASE("one mass basis becomes another by a dryness only (by hand)", "[mill]") {
    const std::string per_adt = factor("pulp", "fibre", "ADt", 450.0);
    const std::string per_tonne = factor("pulp", "fibre", "t", 450.0, "dryness: 80 %");
    CHECK_THAT(climate(per_adt, "pulp: 0.9 t dry"), exactly(450.0));
    CHECK_THAT(climate(per_adt, "pulp: {amount: 1 t, dryness: 95 %}"), exactly(450.0 * 0.95 / 0.9));
    CHECK_THAT(climate(per_tonne, "pulp: 0.8 t dry"), exactly(450.0));
    CHECK_THAT(climate(per_tonne, "pulp: 1 ADt"), exactly(450.0 * 0.9 / 0.8));
    // A tonne that arrives at 92 % holds the dry mass of 0.92/0.80 t of what is counted.
    CHECK_THAT(climate(per_tonne, "pulp: {amount: 1 t, dryness: 92 %}"),
               exactly(450.0 * 0.92 / 0.8));
    CHECK_THAT(climate(per_tonne, "pulp: {amount: 1 t dry, dryness: 92 %}"), exactly(450.0 / 0.8));
    const Problem problem =
        refused({per_adt, "processes:\n  machine: {makes: {sheet: 1 t}, uses: {pulp: 1 t}}\n"});
    CHECK(problem.code == "wrong-unit");
    CHECK(problem.hint.find("a dryness converts between dry and moist mass") != std::string::npos);
}

TEST_CASE("a product made moist is used moister or drier by its dry mass (by hand)", "[mill]") {
    // 1000 kg CO2 a tonne at 95 %: a use of 1 t at 90 % takes 0.90/0.95 of one made.
    const MillStudy study(
        {factor("pulp", "fibre", "t dry", 1000.0),
         "processes:\n  machine: {makes: {sheet: {amount: 1 t, dryness: 95 %}}, uses: {pulp: 1 t "
         "dry}}\n"
         "  as_made: {makes: {a: 1 piece}, uses: {sheet: 1 t}}\n"
         "  moister: {makes: {b: 1 piece}, uses: {sheet: {amount: 1 t, dryness: 90 %}}}\n"
         "  dry: {makes: {c: 1 piece}, uses: {sheet: 0.95 t dry}}\n"});
    CHECK_THAT(study.climate("a", "piece"), exactly(1000.0));
    CHECK_THAT(study.climate("b", "piece"), exactly(1000.0 * 0.90 / 0.95));
    CHECK_THAT(study.climate("c", "piece"), exactly(1000.0));
}

TEST_CASE(
    "glue of another dryness than its factor's is carried over as dry mass, in a product as in "
    "a mill (by hand)",
    "[mill]") {
    // One roll: 2 m2 of 50 g/m2 are 100 g at 1 kg CO2/kg. 3 g of glue at 40 %, counted at 30 %:
    // 3 x 40/30 g at 2 kg/kg; the truck carries 3 g over 500 km at 0.08 kg/(t km).
    MillText text{factor("pulp", "fibre", "t", 1000.0) +
                      factor("glue", "chemical", "kg", 2.0, "dryness: 30 %") + legs,
                  "processes:\n  machine: {makes: {sheet: 1 t}, uses: {pulp: 1 t}}\n"};
    text.products =
        "products:\n  napkins:\n    title: N\n    from: sheet\n    plies: 1\n    grammage: 50 "
        "g/m2\n   "
        " form: folded\n    folded: {sheets: 8}\n    sheet: {length: 500 mm, width: 500 mm}\n    "
        "uses: "
        "{glue: {amount: 3 g, dryness: 40 %, freight: [{by: truck, distance: 500 km}]}}\n";
    const MillStudy study(text);
    CHECK_THAT(study.climate("napkins", study.study.subject("napkins")->pers[1]),
               exactly(0.1 + 0.003 * 40 / 30 * 2.0 + 0.000003 * 500 * 0.08));
}
