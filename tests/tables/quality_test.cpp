// Spreads from data-quality scores: the four sets that come along, each read from its file, on one
// example. The sets are those published (all from memory, as their files say); the variances, means
// and intervals of the example were worked out apart, in another program.
#include "engine/tables/quality.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "engine/graph/spread.h"
#include "engine/tables/factor.h"
#include "engine/tables/spread_reader.h"

using namespace deckle;
using Catch::WithinAbs;
using Catch::WithinRel;

namespace {

QualitySpread shipped(const std::string& name) {
    Files files;
    Tables tables;
    Problems problems;
    const std::uint32_t file =
        files.read(std::string(DECKLE_SOURCE_DIR) + "/factors/" + name + ".yaml");
    read_table_file(files, file, tables, problems);
    problems.throw_if_any();
    REQUIRE(tables.quality_spreads.size() == 1);
    return tables.quality_spreads.front();
}

const std::vector<Score> example{{"reliability", 2, {}},
                                 {"completeness", 3, {}},
                                 {"time", 2, {}},
                                 {"geography", 3, {}},
                                 {"technology", 3, {}}};

/// 100 kg of something with the scores of the example.
Stated hundred(double value = 100.0) {
    Stated stated;
    stated.address = "table.factor.releases.co2_fossil";
    stated.amount.kind = Amount::Kind::quantity;
    stated.amount.quantity.value = value;
    stated.amount.quantity.unit = known_unit("kg");
    stated.within = Within::not_negative;
    stated.scores = example;
    return stated;
}

}  // namespace

TEST_CASE("three published sets on one example: basic factor 1.05, scores 2, 3, 2, 3, 3",
          "[tables][literature]") {
    struct Row {
        const char* set;
        double variance, deviation, mean, sd, low, high;  ///< of the logarithm; of a median of 100
    };
    for (const Row& row :
         {Row{"scores_expert_2007", 0.010412114, 1.107428, 100.521963, 10.283996, 81.8735,
              122.1396},
          Row{"scores_expert_2013", 0.010100, 1.105722, 100.506277, 10.126314, 82.1212, 121.7712},
          Row{"scores_empirical_2016", 0.446142, 1.950213, 124.990935, 93.724315, 27.0053,
              370.2972}}) {
        INFO(row.set);
        const QualitySpread set = shipped(row.set);
        const double variance = set.variance(example, "co2_fossil");
        CHECK_THAT(variance, WithinRel(row.variance, 1e-6));
        CHECK_THAT(std::exp(std::sqrt(variance)), WithinAbs(row.deviation, 5e-7));
        Problems problems;
        const Stated scored = with_spread_of_scores(hundred(), set, problems);
        CHECK(problems.empty());
        const SpreadValues spread = typed_spread_values(scored.amount.quantity);
        REQUIRE(spread.kind == SpreadKind::lognormal);
        const Moments moments = spread_moments(spread);
        CHECK_THAT(moments.mean, WithinRel(row.mean, 1e-8));
        CHECK_THAT(moments.deviation, WithinRel(row.sd, 1e-7));
        CHECK_THAT(spread_quantile(spread, 0.025), WithinAbs(row.low, 5e-5));
        CHECK_THAT(spread_quantile(spread, 0.5), WithinRel(100.0, 1e-14));
        CHECK_THAT(spread_quantile(spread, 0.975), WithinAbs(row.high, 5e-5));
    }
}

TEST_CASE("the root formula of the set of 2007 is the square of the geometric deviation",
          "[tables][literature]") {
    const double variance = shipped("scores_expert_2007").variance(example, "co2_fossil");
    CHECK_THAT(std::exp(2.0 * std::sqrt(variance)), WithinAbs(1.226396, 5e-7));
}

TEST_CASE(
    "the guidance on inventory uncertainty: basic 1.05, good, fair, good, good, good are 1.285988 "
    "(from memory, recomputed), and a fifth level has no number",
    "[tables][literature]") {
    const QualitySpread set = shipped("scores_guidance_2011");
    const std::vector<Score> scores{{"reliability", 2, {}},
                                    {"completeness", 3, {}},
                                    {"time", 2, {}},
                                    {"geography", 2, {}},
                                    {"technology", 2, {}}};
    CHECK_THAT(std::exp(2.0 * std::sqrt(set.variance(scores, "co2_fossil"))),
               WithinAbs(1.285988, 5e-7));
    for (const QualitySpread::Row& row : set.rows) {
        INFO(row.criterion);
        CHECK(set.has({row.criterion, 4, {}}));
        CHECK_FALSE(set.has({row.criterion, 5, {}}));
    }
}

TEST_CASE("the set of 2013 is that of 2007 rounded to one digit", "[tables][literature]") {
    const QualitySpread factors = shipped("scores_expert_2007"),
                        variances = shipped("scores_expert_2013");
    int compared = 0;
    for (const QualitySpread::Row& row : factors.rows) {
        for (int score = 1; score <= 5; ++score) {
            const std::vector<Score> one{{row.criterion, score, {}}};
            if (!factors.has(one[0])) continue;
            INFO(row.criterion << " " << score);
            const double basic = factors.variance({}, "co2_fossil"),
                         other_basic = variances.variance({}, "co2_fossil");
            const double exact = factors.variance(one, "co2_fossil") - basic,
                         rounded = variances.variance(one, "co2_fossil") - other_basic;
            CHECK_THAT(rounded, WithinAbs(exact, 0.12 * exact + 1e-6));
            ++compared;
        }
    }
    CHECK(compared == 23);
}

TEST_CASE("scores leave alone what has a spread, is none, or is not scored", "[tables]") {
    const QualitySpread set = shipped("scores_expert_2007");
    Problems problems;
    const auto kind = [&](const Stated& stated) {
        return with_spread_of_scores(stated, set, problems).amount.quantity.spread.kind;
    };
    Stated typed = hundred();
    typed.amount.quantity.spread.kind = SpreadKind::uniform;
    CHECK(kind(typed) == SpreadKind::uniform);
    CHECK(kind(hundred(0.0)) == SpreadKind::none);
    Stated unscored = hundred();
    unscored.scores.clear();
    CHECK(kind(unscored) == SpreadKind::none);
    CHECK(problems.empty());
}

TEST_CASE("methane takes its own basic factor, a score that was not published is refused",
          "[tables]") {
    const QualitySpread set = shipped("scores_expert_2007");
    const double half_log = 0.5 * std::log(1.5);  // by hand
    CHECK_THAT(set.variance({}, "ch4_fossil"), WithinRel(half_log * half_log, 1e-14));
    Stated stated = hundred();
    stated.scores = {{"geography", 4, {}}};
    Problems problems;
    CHECK(with_spread_of_scores(stated, set, problems).amount.quantity.spread.kind ==
          SpreadKind::none);
    CHECK(problems.count() == 1);
}

TEST_CASE("lognormals: median, mean, deviation and interval (exact laws)", "[tables][literature]") {
    // mean 100 and sd 20 are a median of 98.058067569 and a geometric deviation of 1.219013836
    const double k = std::pow(1.219013836, 1.959963984540054);
    const Moments moments =
        spread_moments({SpreadKind::lognormal, false, 98.058067569, {k, 0.0, 0.0}});
    CHECK_THAT(moments.mean, WithinAbs(100.0, 1e-7));
    CHECK_THAT(moments.deviation, WithinAbs(20.0, 1e-6));
    // the product of LN(2, 1.10) and LN(5, 1.25): LN(10, 1.274617313)
    const SpreadValues product{
        SpreadKind::lognormal, false, 10.0, {std::pow(1.274617313, 1.959963984540054), 0.0, 0.0}};
    CHECK_THAT(spread_moments(product).mean, WithinAbs(10.298761346, 1e-8));
    CHECK_THAT(spread_moments(product).deviation, WithinAbs(2.536191061, 1e-8));
    CHECK_THAT(spread_quantile(product, 0.025), WithinAbs(6.215260868, 1e-8));
    CHECK_THAT(spread_quantile(product, 0.975), WithinAbs(16.089429249, 1e-8));
}
