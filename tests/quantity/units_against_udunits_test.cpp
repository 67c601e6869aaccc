// Every symbol against the database of UDUNITS-2 (libudunits2), the second opinion beside pint.
#include <udunits2.h>

#include <catch2/catch.hpp>
#include <map>
#include <memory>
#include <set>
#include <string>

#include "engine/quantity/quantity.h"
#include "engine/quantity/unit_table.h"

using namespace deckle;

namespace {

struct Peer {
    std::string unit;  ///< UDUNITS-2's text
    std::string base;
    double tolerance = 4e-16;  ///< relative: two roundings of a double
};

class Udunits {
public:
    Udunits() {
        ut_set_error_message_handler(ut_ignore);
        system_.reset(ut_read_xml(nullptr));
    }
    /// `value` of a unit in another one.
    [[nodiscard]] double value(const std::string& unit, const std::string& in,
                               double value = 1.0) const {
        const Handle<ut_unit> from(ut_parse(system_.get(), unit.c_str(), UT_UTF8), ut_free);
        const Handle<ut_unit> to(ut_parse(system_.get(), in.c_str(), UT_UTF8), ut_free);
        REQUIRE(from);
        REQUIRE(to);
        const Handle<cv_converter> converter(ut_get_converter(from.get(), to.get()), cv_free);
        REQUIRE(converter);
        return cv_convert_double(converter.get(), value);
    }

private:
    template <class T>
    using Handle = std::unique_ptr<T, void (*)(T*)>;
    Handle<ut_system> system_{nullptr, ut_free_system};
};

/// The texts differ where UDUNITS-2 has another name or needs a product. Tolerances above 1e-15 are
/// those of figures that its database rounds, half a unit of their last digit.
const std::map<std::string_view, Peer>& peers() {
    static const std::map<std::string_view, Peer> all{
        {"kg", {"kg", "kg"}},
        {"g", {"g", "kg"}},
        {"mg", {"mg", "kg"}},
        {"ug", {"ug", "kg"}},
        {"t", {"t", "kg"}},
        {"kt", {"1000 t", "kg"}},
        {"lb", {"lb", "kg"}},
        {"klb", {"1000 lb", "kg"}},
        {"oz", {"avoirdupois_ounce", "kg", 2e-7}},  // 0.02834952
        {"short_ton", {"short_ton", "kg"}},
        {"long_ton", {"long_ton", "kg"}},
        {"m", {"m", "m"}},
        {"km", {"km", "m"}},
        {"cm", {"cm", "m"}},
        {"mm", {"mm", "m"}},
        {"um", {"um", "m"}},
        {"in", {"in", "m"}},
        {"ft", {"ft", "m"}},
        {"mile", {"international_mile", "m"}},
        {"nautical_mile", {"nautical_mile", "m"}},
        {"ha", {"ha", "m2"}},
        {"L", {"L", "m3"}},
        {"mL", {"mL", "m3"}},
        {"hL", {"hL", "m3"}},
        {"gal", {"US_liquid_gallon", "m3", 2e-7}},  // 0.003785412
        {"s", {"s", "s"}},
        {"min", {"min", "s"}},
        {"h", {"h", "s"}},
        {"d", {"d", "s"}},
        {"week", {"week", "s"}},
        {"year", {"Julian_year", "s"}},
        {"K", {"K", "K"}},
        {"J", {"J", "J"}},
        {"kJ", {"kJ", "J"}},
        {"MJ", {"MJ", "J"}},
        {"GJ", {"GJ", "J"}},
        {"TJ", {"TJ", "J"}},
        {"PJ", {"PJ", "J"}},
        {"Wh", {"W.h", "J"}},
        {"kWh", {"kW.h", "J"}},
        {"MWh", {"MW.h", "J"}},
        {"GWh", {"GW.h", "J"}},
        {"TWh", {"TW.h", "J"}},
        {"cal", {"IT_calorie", "J"}},
        {"kcal", {"1000 IT_calorie", "J"}},
        {"Gcal", {"1e9 IT_calorie", "J"}},
        {"Btu", {"IT_Btu", "J"}},
        {"MMBtu", {"1e6 IT_Btu", "J"}},
        {"therm", {"1e5 IT_Btu", "J"}},
        {"W", {"W", "W"}},
        {"kW", {"kW", "W"}},
        {"MW", {"MW", "W"}},
        {"Pa", {"Pa", "Pa"}},
        {"kPa", {"kPa", "Pa"}},
        {"MPa", {"MPa", "Pa"}},
        {"bar", {"bar", "Pa"}},
        {"mbar", {"mbar", "Pa"}},
        {"psi", {"psi", "Pa"}},
        {"N", {"N", "N"}},
        {"kN", {"kN", "N"}},
        {"mol", {"mol", "mol"}},
        {"kmol", {"kmol", "mol"}},
        {"A", {"A", "A"}},
        {"V", {"V", "V"}},
        {"cd", {"cd", "cd"}},
        {"%", {"%", "1"}},
    };
    return all;
}

/// Not in UDUNITS-2; checked elsewhere in these tests against their definitions.
const std::set<std::string_view>& ours_alone() {
    static const std::set<std::string_view> all{"ADt",  "degC",   "degF",  "barg",   "Nm3",
                                                "Sm3",  "scf",    "piece", "roll",   "sheet",
                                                "pack", "bundle", "case",  "pallet", "points"};
    return all;
}

}  // namespace

TEST_CASE("every unit symbol has the value of UDUNITS-2's database",
          "[quantity][unit][literature]") {
    const Udunits udunits;
    for (const UnitSymbol& row : unit_table()) {
        CAPTURE(row.symbol);
        const auto peer = peers().find(row.symbol);
        if (peer == peers().end()) {
            CHECK(ours_alone().count(row.symbol) == 1);
            continue;
        }
        const double expected = udunits.value(peer->second.unit, peer->second.base);
        const double ours = nearest_double(row.to_base.p) / nearest_double(row.to_base.q);
        CHECK_THAT(ours, Catch::WithinRel(expected, peer->second.tolerance));
    }
}

TEST_CASE("temperatures have the zeros of UDUNITS-2's database", "[quantity][unit][literature]") {
    const Udunits udunits;
    const auto kelvin = [](const std::string& text) {
        return without_offset(*parse_quantity(text).quantity).value;
    };
    for (const int value : {-40, 0, 60, 175, 451}) {
        const std::string digits = std::to_string(value);
        CHECK_THAT(kelvin(digits + " degC"),
                   Catch::WithinRel(udunits.value("degC", "K", value), 1e-15));
        CHECK_THAT(kelvin(digits + " degF"),
                   Catch::WithinRel(udunits.value("degF", "K", value), 1e-15));
    }
}

TEST_CASE("compound conversions agree with UDUNITS-2", "[quantity][unit][literature]") {
    const Udunits udunits;
    const auto [from, to, peer_from, peer_to] =
        GENERATE(table<std::string, std::string, std::string, std::string>({
            {"Btu/lb", "kJ/kg", "IT_Btu/lb", "kJ/kg"},
            {"lb/MMBtu", "kg/GJ", "lb/(1e6 IT_Btu)", "kg/GJ"},
            {"kWh/t", "GJ/t", "kW.h/t", "GJ/t"},
            {"m3/h", "L/s", "m3/h", "L/s"},
            {"kJ/(kg K)", "kWh/(t K)", "kJ/(kg.K)", "kW.h/(t.K)"},
            {"g/m2", "lb/ft2", "g/m2", "lb/ft2"},
            {"psi", "bar", "psi", "bar"},
            {"N/m", "kN/m", "N/m", "kN/m"},
            {"short_ton mile", "t km", "short_ton.international_mile", "t.km"},
            {"lb/klb", "%", "lb/(1000 lb)", "%"},
        }));
    CAPTURE(from, to);
    const auto change = conversion(known_unit(from), known_unit(to));
    REQUIRE(change);
    CHECK_THAT(change->apply(1.0), Catch::WithinRel(udunits.value(peer_from, peer_to), 1e-14));
}

TEST_CASE("where UDUNITS-2 means another unit by a like name", "[quantity][unit][literature]") {
    const Udunits udunits;
    // Its therm is the US one on the 59 degF Btu (NIST SP 811, B.8: 1.054804 E+08 J), ours 1e5 Btu
    // (international table).
    CHECK(udunits.value("therm", "J") == 105480400.0);
    CHECK_THAT(nearest_double(find_symbol("therm")->to_base.p),
               Catch::WithinRel(105480400.0, 2.5e-4));
    CHECK_THAT(nearest_double(find_symbol("therm")->to_base.p),
               Catch::WithinRel(udunits.value("EC_therm", "J"), 5e-6));
    // Its year is the tropical one, ours the Julian.
    CHECK(udunits.value("year", "d") < 365.25);
}
