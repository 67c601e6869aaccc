#include "engine/quantity/unit.h"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

#include "engine/quantity/unit_parser.h"
#include "engine/quantity/unit_table.h"
#include "engine/quantity/utf8.h"

namespace deckle {
namespace {

/// The dimension of base^power with its word: dry, LHV and HHV add a basis; CO2e and world-eq make
/// something of its own.
Dimension with_word(const Dimension& plain, std::string_view word) {
    const int masses = plain.exponent(Base::mass);
    if (word == "dry") return plain * Dimension(Base::dry, masses);
    if (word == "LHV") return plain * Dimension(Base::lhv, masses);
    if (word == "HHV") return plain * Dimension(Base::hhv, masses);
    if (word == "CO2e") return Dimension(Base::co2e, masses);
    if (word != "world-eq") return plain;
    const int lengths = plain.exponent(Base::length);
    return lengths % 3 == 0 ? Dimension(Base::scarcity_water, lengths / 3) : Dimension::beyond();
}

std::string term_text(const UnitTerm& term) {
    std::string text = term.symbol;
    const int power = term.power < 0 ? -term.power : term.power;
    if (power != 1) {
        if (is_digit(text.back())) text += '^';  // Nm3^2
        text += std::to_string(power);
    }
    return term.word.empty() ? text : fmt::format("{} {}", text, term.word);
}

std::string terms_text(const std::vector<UnitTerm>& terms) {
    std::string above, below;
    int divisors = 0;
    for (const UnitTerm& term : terms) {
        std::string& side = term.power > 0 ? above : below;
        divisors += term.power < 0 ? 1 : 0;
        side += side.empty() ? "" : " ";
        side += term_text(term);
    }
    if (divisors == 0) return above;
    const std::string_view top = above.empty() ? std::string_view("1") : above;
    return divisors == 1 ? fmt::format("{}/{}", top, below) : fmt::format("{}/({})", top, below);
}

Unit not_usable() {
    Unit unit;
    unit.dimension = Dimension::beyond();
    return unit;
}

/// Equal symbols with equal words joined, in the order in which they first stand.
std::vector<UnitTerm> joined(const std::vector<UnitTerm>& a, const std::vector<UnitTerm>& b,
                             int sign) {
    std::vector<UnitTerm> all;
    const auto take = [&](const UnitTerm& term, int power) {
        const auto same = std::find_if(all.begin(), all.end(), [&](const UnitTerm& other) {
            return other.symbol == term.symbol && other.word == term.word;
        });
        if (same == all.end()) all.push_back({term.symbol, term.word, power});
        else same->power += power;
    };
    for (const UnitTerm& term : a) take(term, term.power);
    for (const UnitTerm& term : b) take(term, sign * term.power);
    std::erase_if(all, [](const UnitTerm& term) { return term.power == 0; });
    return all;
}

Unit combined(const Unit& a, const Unit& b, int sign) {
    const bool plain = a.offset == Offset::none && b.offset == Offset::none;
    if (!plain || !a.dimension.usable() || !b.dimension.usable()) return not_usable();
    return unit_of_terms(joined(a.terms, b.terms, sign)).value_or(not_usable());
}

}  // namespace

std::optional<Unit> unit_of_terms(std::vector<UnitTerm> terms) {
    Unit unit;
    for (const UnitTerm& term : terms) {
        const UnitSymbol* symbol = find_symbol(term.symbol);
        const Dimension base =
            symbol != nullptr ? dimension_of(symbol->measure) : Dimension::money(term.symbol);
        const auto raised_ratio = raised(symbol != nullptr ? symbol->to_base : Ratio{}, term.power);
        const auto ratio = raised_ratio ? product(unit.to_base, *raised_ratio) : std::nullopt;
        unit.dimension = unit.dimension * with_word(raised(base, term.power), term.word);
        if (!ratio || !unit.dimension.usable()) return std::nullopt;
        unit.to_base = *ratio;
        if (symbol != nullptr && symbol->offset != Offset::none) unit.offset = symbol->offset;
    }
    unit.text = terms_text(terms);
    unit.terms = std::move(terms);
    return unit;
}

UnitResult parse_unit(std::string_view text) {
    UnitScan scan = scan_unit(text, 0);
    const std::size_t rest = after_spaces(text, scan.end);
    if (!scan.error.any() && rest < text.size()) {
        const std::string found(text.substr(rest, character_length(text, rest)));
        const bool star = found == "*" || found == "×";
        scan.error = {rest, found.size(), "unit-syntax",
                      fmt::format("unexpected \"{}\" in the unit \"{}\"", found, text),
                      star ? "write a space or · between units that multiply: t km"
                           : "units look like GJ LHV/t dry, g/m2, kJ/(kg K)"};
    }
    if (scan.error.any()) return {std::nullopt, {}, std::move(scan.error)};
    return {std::move(scan.unit), std::move(scan.of), {}};
}

Unit known_unit(std::string_view text) {
    UnitResult result = parse_unit(text);
    if (!result.unit)
        throw std::logic_error(fmt::format("no unit: {}: {}", text, result.error.message));
    return *std::move(result.unit);
}

Unit operator*(const Unit& a, const Unit& b) { return combined(a, b, 1); }

Unit operator/(const Unit& a, const Unit& b) { return combined(a, b, -1); }

Unit raised(const Unit& a, int exponent) {
    if (a.offset != Offset::none || !raised(a.dimension, exponent).usable()) return not_usable();
    std::vector<UnitTerm> terms = joined(a.terms, {}, 1);
    for (UnitTerm& term : terms) term.power *= exponent;
    std::erase_if(terms, [](const UnitTerm& term) { return term.power == 0; });
    return unit_of_terms(std::move(terms)).value_or(not_usable());
}

std::optional<Unit> root(const Unit& a, int root) {
    std::vector<UnitTerm> terms = joined(a.terms, {}, 1);
    if (root < 1 || a.offset != Offset::none) return std::nullopt;
    for (UnitTerm& term : terms) {
        if (term.power % root != 0) return std::nullopt;
        term.power /= root;
    }
    return unit_of_terms(std::move(terms));
}

std::optional<UnitConversion> conversion(const Unit& from, const Unit& to) {
    if (!(from.dimension == to.dimension)) return std::nullopt;
    if (from.offset != Offset::none || to.offset != Offset::none) return std::nullopt;
    const auto ratio = quotient(from.to_base, to.to_base);
    if (!ratio) return std::nullopt;
    const Ratio shown = simplest(*ratio);
    return UnitConversion{nearest_double(shown.p), nearest_double(shown.q), decimal_text(shown.p),
                          decimal_text(shown.q)};
}

Unit difference_unit(const Unit& of) {
    switch (of.offset) {
        case Offset::deg_c:
        case Offset::deg_f: return known_unit("K");
        case Offset::bar_gauge: return known_unit("Pa");
        case Offset::none: break;
    }
    return of;
}

}  // namespace deckle
