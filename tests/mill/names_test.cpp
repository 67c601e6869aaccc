// What a use means: something made here, something bought, something returned; and the names under
// which it stands. The rules are Deckle's own; the sums are by hand.
#include <catch2/catch.hpp>

#include <string>

#include "tests/mill/mill_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

/// Steam is made here of 1.1 GJ of gas and is a factor too.
MillText boiler_and(const std::string& uses) {
    return {factor("gas", "fuel", "GJ LHV", 50.0) + factor("steam", "heat", "GJ", 80.0) +
                factor("grid", "electricity", "kWh", 0.3),
            "processes:\n  boiler: {makes: {steam: {amount: 1 GJ, kind: heat}}, uses: {gas: 1.1 GJ "
            "LHV}}\n  machine: {stage: papermaking, makes: {sheet: 1 t}, uses: {" +
                uses + "}}\n"};
}

}  // namespace

TEST_CASE("made. and factor. say which of two things of one name is used", "[mill]") {
    CHECK_THAT(MillStudy(boiler_and("made.steam: 2 GJ")).climate("sheet", "t"), exactly(110.0));
    CHECK_THAT(MillStudy(boiler_and("factor.steam: 2 GJ")).climate("sheet", "t"), exactly(160.0));
    CHECK_THAT(MillStudy(boiler_and("t.steam: 2 GJ")).climate("sheet", "t"), exactly(160.0));
    CHECK_THAT(MillStudy(boiler_and("made.steam as own: 2 GJ, factor.steam as bought: 1 GJ"))
                   .climate("sheet", "t"),
               exactly(190.0));
    const Problem problem = refused(boiler_and("steam: 2 GJ"));
    CHECK(problem.code == "ambiguous-use");
    CHECK(problem.hint == "write made.steam or factor.steam");
}

TEST_CASE("a prefix that leads to nothing is no use", "[mill]") {
    CHECK(refused(boiler_and("made.grid: 2 kWh")).code == "unknown-use");
    CHECK(refused(boiler_and("factor.sheet: 2 t")).code == "unknown-use");
}

TEST_CASE("ID as NAME: one thing for several users, each with its address and its share",
          "[mill]") {
    const MillStudy study(boiler_and(
        "made.steam as yankee: 1.4 GJ/t, made.steam as save_all: 0.2 GJ, grid as vacuum_pumps: 210 "
        "kWh/t, grid as fans: 90 kWh/t, grid: 400 kWh/t"));
    // 55 kg a GJ, 0.3 kg a kWh.
    const auto users = study.by(BreakoutBy::user, "sheet", "t");
    CHECK(users.size() == 5);
    CHECK_THAT(users.at("yankee"), exactly(1.4 * 55.0));
    CHECK_THAT(users.at("save_all"), exactly(0.2 * 55.0));
    CHECK_THAT(users.at("vacuum_pumps"), exactly(63.0));
    CHECK_THAT(users.at("fans"), exactly(27.0));
    CHECK_THAT(users.at("grid"), exactly(120.0));
    CHECK_THAT(study.value("m.machine.uses.yankee"), exactly(1.4));
    CHECK_THAT(study.climate("sheet", "t"), exactly(1.6 * 55.0 + 700 * 0.3));
}

TEST_CASE("what is returned carries nothing, wherever it is used", "[mill]") {
    const auto mill = [](const std::string& used, const std::string& returned) {
        return MillStudy({factor("pulp", "fibre", "ADt", 450.0),
                          "processes:\n  machine: {makes: {sheet: 1 t}, uses: {pulp: 1.0 ADt" +
                              used +
                              "}}\n"
                              "  converting: {makes: {tissue: 0.95 t}, uses: {sheet: 1 t}" +
                              returned + "}\n"});
    };
    const auto with = mill(", trim: 50 kg", ", returns: {trim: 50 kg}");
    const auto without = mill("", "");
    CHECK_THAT(with.climate("tissue", "t"), exactly(450.0 / 0.95));
    CHECK(with.climate("tissue", "t") == without.climate("tissue", "t"));
    // Trim made, and so with a share: a loop, whose tonne of sheet takes 50 kg of it.
    const MillStudy made(
        {factor("pulp", "fibre", "ADt", 450.0),
         "processes:\n  machine: {makes: {sheet: 1 t}, uses: {pulp: 1.0 ADt, trim: 50 kg}}\n"
         "  converting: {makes: {tissue: 0.95 t, trim: 0.05 t}, allocation: mass, uses: {sheet: 1 "
         "t}}\n"});
    CHECK_THAT(made.climate("tissue", "t"), exactly(450.0 / 0.95));
}

TEST_CASE("a short id of the study stands for a factor of a table, and one edition for another",
          "[mill]") {
    const auto with = [](const char* edition) {
        return MillStudy({factor("pulp_2024", "fibre", "ADt", 450.0) +
                              factor("pulp_2025", "fibre", "ADt", 430.0),
                          "processes:\n  machine: {makes: {sheet: 1 t}, uses: {pulp: 1 ADt}}\n",
                          fmt::format("stands_for: {{pulp: t.{}}}\n", edition)})
            .climate("sheet", "t");
    };
    CHECK_THAT(with("pulp_2024"), exactly(450.0));
    CHECK_THAT(with("pulp_2025"), exactly(430.0));
}
