#include "engine/quantity/dimension.h"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

namespace deckle {
namespace {

constexpr int largest_exponent = 100;

/// Code by code; false when an exponent or the number of currencies goes beyond.
bool join(std::array<Money, 2>& into, const Money& money, int sign) {
    if (money.exponent == 0) return true;
    std::vector<Money> all(into.begin(), into.end());
    std::erase_if(all, [](const Money& m) { return m.exponent == 0; });
    auto same =
        std::find_if(all.begin(), all.end(), [&](const Money& m) { return m.code == money.code; });
    if (same == all.end()) same = all.insert(all.end(), Money{money.code, 0});
    const int exponent = same->exponent + sign * money.exponent;
    if (exponent > largest_exponent || exponent < -largest_exponent) return false;
    same->exponent = static_cast<std::int8_t>(exponent);
    std::erase_if(all, [](const Money& m) { return m.exponent == 0; });
    if (all.size() > into.size()) return false;
    std::sort(all.begin(), all.end(),
              [](const Money& a, const Money& b) { return a.code < b.code; });
    into.fill({});
    std::copy(all.begin(), all.end(), into.begin());
    return true;
}

struct Named {
    std::string name;
    Dimension dimension;
};

/// What has a name of its own; money of the dimension asked about comes last.
std::vector<Named> named_dimensions(const Dimension& asked) {
    using namespace dimensions;
    std::vector<Named> all{
        {"energy, LHV", energy_lhv()},
        {"energy, HHV", energy_hhv()},
        {"energy", energy()},
        {"power, LHV", energy_lhv() / time},
        {"power, HHV", energy_hhv() / time},
        {"power", dimensions::power()},
        {"mass, dry", dry_mass()},
        {"mass", mass},
        {"CO2e", co2e},
        {"gas volume", gas_volume},
        {"water, world-equivalent", scarcity_water},
        {"volume", volume()},
        {"area", area()},
        {"length", length},
        {"pieces", piece},
        {"temperature", temperature},
        {"pressure", pressure()},
        {"force", mass * length / time / time},
        {"time", time},
        {"voltage", dimensions::power() / Dimension(Base::current)},
        {"current", Dimension(Base::current)},
        {"amount of substance", Dimension(Base::amount)},
        {"luminous intensity", Dimension(Base::luminous_intensity)},
    };
    for (const Money& money : asked.money()) {
        if (money.exponent == 0) continue;
        all.push_back({fmt::format("money in {}", money.text()), Dimension::money(money.text())});
    }
    return all;
}

std::string with_exponent(const std::string& name, int exponent) {
    return exponent == 1 ? name : fmt::format("{}^{}", name, exponent);
}

/// Base by base, for dimensions without a name.
std::string spelled_out(const Dimension& dimension) {
    static constexpr std::array<const char*, base_count> names{"mass",
                                                               "length",
                                                               "time",
                                                               "temperature",
                                                               "current",
                                                               "amount of substance",
                                                               "luminous intensity",
                                                               "CO2e",
                                                               "world-equivalent water",
                                                               "gas volume",
                                                               "pieces",
                                                               "dry",
                                                               "LHV",
                                                               "HHV"};
    std::string above, below;
    const auto write = [&](const std::string& name, int exponent) {
        std::string& side = exponent > 0 ? above : below;
        if (exponent == 0) return;
        side += side.empty() ? "" : " × ";
        side += with_exponent(name, exponent > 0 ? exponent : -exponent);
    };
    for (std::size_t i = 0; i < base_count; ++i)
        write(names[i], dimension.exponent(static_cast<Base>(i)));
    for (const Money& money : dimension.money()) write(money.text(), money.exponent);
    const std::string_view top = above.empty() ? std::string_view("1") : above;
    return below.empty() ? above : fmt::format("{} per {}", top, below);
}

}  // namespace

Dimension Dimension::money(std::string_view code) {
    Dimension dimension;
    Money& first = dimension.money_[0];
    std::copy_n(code.begin(), std::min(code.size(), first.code.size()), first.code.begin());
    first.exponent = 1;
    return dimension;
}

Dimension operator*(const Dimension& a, const Dimension& b) {
    if (!a.usable_ || !b.usable_) return Dimension::beyond();
    Dimension result = a;
    for (std::size_t i = 0; i < base_count; ++i) {
        const int exponent = a.exponents_[i] + b.exponents_[i];
        if (exponent > largest_exponent || exponent < -largest_exponent) return Dimension::beyond();
        result.exponents_[i] = static_cast<std::int8_t>(exponent);
    }
    for (const Money& money : b.money_) {
        if (!join(result.money_, money, 1)) return Dimension::beyond();
    }
    return result;
}

Dimension operator/(const Dimension& a, const Dimension& b) { return a * raised(b, -1); }

Dimension raised(const Dimension& a, int exponent) {
    Dimension result = a;
    const auto raise = [&](std::int8_t& value) {
        const long to = static_cast<long>(value) * exponent;
        if (to > largest_exponent || to < -largest_exponent) result.usable_ = false;
        value = static_cast<std::int8_t>(result.usable_ ? to : 0);
    };
    for (std::int8_t& value : result.exponents_) raise(value);
    for (Money& money : result.money_) raise(money.exponent);
    if (exponent == 0 && a.usable_) return {};
    return result.usable_ ? result : Dimension::beyond();
}

std::optional<Dimension> root(const Dimension& a, int root) {
    Dimension result = a;
    bool whole = root > 0 && a.usable_;
    const auto divide = [&](std::int8_t& value) {
        if (!whole || value % root != 0) whole = false;
        else value = static_cast<std::int8_t>(value / root);
    };
    for (std::int8_t& value : result.exponents_) divide(value);
    for (Money& money : result.money_) divide(money.exponent);
    return whole ? std::optional(result) : std::nullopt;
}

std::string Dimension::text() const {
    if (!usable_) return "a unit beyond all use";
    if (is_number()) return "a plain number";
    const std::vector<Named> all = named_dimensions(*this);
    for (const Named& a : all) {
        if (a.dimension == *this) return a.name;
    }
    for (const Named& below : all) {
        if (dimensions::number / below.dimension == *this)
            return fmt::format("1 per {}", below.name);
    }
    for (const Named& below : all) {
        for (const Named& above : all) {
            if (above.dimension / below.dimension == *this)
                return fmt::format("{} per {}", above.name, below.name);
        }
    }
    for (const Named& a : all) {
        for (const Named& b : all) {
            const bool squared = a.dimension == b.dimension;
            if (squared || !(a.dimension * b.dimension == *this)) continue;
            return fmt::format("{} × {}", a.name, b.name);
        }
    }
    return spelled_out(*this);
}

namespace dimensions {

Dimension dry_mass() { return mass * Dimension(Base::dry); }
Dimension area() { return Dimension(Base::length, 2); }
Dimension volume() { return Dimension(Base::length, 3); }
Dimension energy() { return mass * area() / raised(time, 2); }
Dimension energy_lhv() { return energy() * Dimension(Base::lhv); }
Dimension energy_hhv() { return energy() * Dimension(Base::hhv); }
Dimension power() { return energy() / time; }
Dimension pressure() { return mass / length / raised(time, 2); }

}  // namespace dimensions
}  // namespace deckle
