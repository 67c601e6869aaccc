// What kind of thing a figure measures: whole exponents over base dimensions. The bases dry, LHV
// and HHV are exponents like any other, so one basis never turns into another silently.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace deckle {

enum class Base : std::uint8_t {
    mass,
    length,
    time,
    temperature,
    current,
    amount,
    luminous_intensity,
    co2e,            ///< mass of CO2e under a characterization
    scarcity_water,  ///< m3 world-eq
    gas_volume,      ///< gas at reference conditions: Nm3, Sm3, scf; not a volume in m3
    piece,           ///< piece, roll, sheet, pack, case, pallet, bundle
    dry,             ///< basis of a mass: without its water
    lhv,             ///< basis of an energy: net (lower) heating value
    hhv,             ///< basis of an energy: gross (higher) heating value
};
inline constexpr std::size_t base_count = 14;

/// A currency of one year and its exponent. Two years are two currencies.
struct Money {
    std::array<char, 8> code{};  ///< EUR_2025; not ended by a zero
    std::int8_t exponent = 0;    ///< 0: none
    [[nodiscard]] std::string text() const { return {code.data(), code.size()}; }
    friend constexpr bool operator==(const Money&, const Money&) = default;
};

class Dimension {
public:
    constexpr Dimension() = default;
    constexpr explicit Dimension(Base base, int exponent = 1) { set(base, exponent); }
    /// The dimension that is not usable.
    [[nodiscard]] static constexpr Dimension beyond() {
        Dimension dimension;
        dimension.usable_ = false;
        return dimension;
    }
    /// Money of `code`, three capitals, _, four digits; checked by the caller.
    [[nodiscard]] static Dimension money(std::string_view code);

    [[nodiscard]] constexpr int exponent(Base base) const {
        return exponents_[static_cast<std::size_t>(base)];
    }
    [[nodiscard]] constexpr const std::array<Money, 2>& money() const noexcept { return money_; }

    /// False once a product left exponents of ±100 or two currencies: equal to nothing, not even
    /// itself, so that no sum and no conversion accepts it.
    [[nodiscard]] constexpr bool usable() const noexcept { return usable_; }
    [[nodiscard]] constexpr bool is_number() const { return *this == Dimension{}; }
    [[nodiscard]] bool has_money() const noexcept { return money_[0].exponent != 0; }
    [[nodiscard]] constexpr bool has_basis() const {
        return exponent(Base::dry) != 0 || exponent(Base::lhv) != 0 || exponent(Base::hhv) != 0;
    }
    /// The same without dry, LHV and HHV.
    [[nodiscard]] constexpr Dimension without_basis() const {
        Dimension plain = *this;
        plain.set(Base::dry, 0), plain.set(Base::lhv, 0), plain.set(Base::hhv, 0);
        return plain;
    }
    /// In words for messages: "energy, LHV per mass, dry", "mass × length", "a plain number".
    [[nodiscard]] std::string text() const;

    friend constexpr bool operator==(const Dimension& a, const Dimension& b) {
        return a.usable_ && b.usable_ && a.exponents_ == b.exponents_ && a.money_ == b.money_;
    }
    friend Dimension operator*(const Dimension& a, const Dimension& b);
    friend Dimension operator/(const Dimension& a, const Dimension& b);
    friend Dimension raised(const Dimension& a, int exponent);
    /// The dimension whose `root`-th power this is (root > 0), or nothing: an area has a square
    /// root.
    friend std::optional<Dimension> root(const Dimension& a, int root);

private:
    constexpr void set(Base base, int exponent) {
        exponents_[static_cast<std::size_t>(base)] = static_cast<std::int8_t>(exponent);
    }
    std::array<std::int8_t, base_count> exponents_{};
    std::array<Money, 2> money_{};  ///< by code; unused ones at the end
    bool usable_ = true;
};

namespace dimensions {
inline constexpr Dimension number{};
inline constexpr Dimension mass{Base::mass};
inline constexpr Dimension length{Base::length};
inline constexpr Dimension time{Base::time};
inline constexpr Dimension temperature{Base::temperature};
inline constexpr Dimension co2e{Base::co2e};
inline constexpr Dimension scarcity_water{Base::scarcity_water};
inline constexpr Dimension gas_volume{Base::gas_volume};
inline constexpr Dimension piece{Base::piece};
[[nodiscard]] Dimension dry_mass();
[[nodiscard]] Dimension area();
[[nodiscard]] Dimension volume();
[[nodiscard]] Dimension energy();
[[nodiscard]] Dimension energy_lhv();
[[nodiscard]] Dimension energy_hhv();
[[nodiscard]] Dimension power();
[[nodiscard]] Dimension pressure();
}  // namespace dimensions

}  // namespace deckle
