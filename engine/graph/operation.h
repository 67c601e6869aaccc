// The operations of the calculation graph, one table row each. A row holds what every walk needs:
// the value, its derivative, the words of a trace, the workbook formula and the browser code; the
// lanes of the same operation are in lanes.h. A test compares all faces on random values.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace deckle {

enum class Operation : std::uint8_t {
    input,
    constant,
    sum,              ///< a + b + ..., left to right
    product,          ///< a * b * ..., left to right
    quotient,         ///< a / b
    sum_of_products,  ///< a*b + c*d + ..., left to right
    negate,
    power,  ///< a ^ b, b a constant; whole exponents by repeated multiplication
    square_root,
    exponential,
    logarithm,
    minimum,
    maximum,
    whole,      ///< largest whole number not above a*(1 + 1e-9)
    steam_h,    ///< specific enthalpy of (p [MPa], T [K]) [kJ/kg]
    steam_s,    ///< specific entropy of (p [MPa], T [K]) [kJ/(kg K)]
    liquid_h,   ///< saturated liquid, of p [MPa] [kJ/kg]
    vapour_h,   ///< saturated vapour, of p [MPa] [kJ/kg]
    liquid_s,   ///< saturated liquid, of p [MPa] [kJ/(kg K)]
    vapour_s,   ///< saturated vapour, of p [MPa] [kJ/(kg K)]
    boiling_t,  ///< saturation temperature, of p [MPa] [K]
    convert,    ///< a * p / q, p and q exact decimals
    solve,      ///< the linear system of a loop; its unknowns are taken out by `part`
    part,       ///< one unknown of a solve
};
inline constexpr std::size_t operation_count = static_cast<std::size_t>(Operation::part) + 1;

/// How many arguments an operation takes.
enum class Arity : std::uint8_t { none, one, two, many, pairs, special };

struct OperationRow {
    Operation operation;
    std::string_view name;  ///< in files: "sum_of_products"
    Arity arity;
    bool stepped;            ///< changes by steps or one-sidedly: whole, minimum, maximum
    std::string_view words;  ///< for the trace: "sum of", "largest whole number not above"
    /// Workbook formula and browser expression. {0}, {1} are the arguments; {*SEP} joins all
    /// arguments with SEP; {**SEP} joins pairs a*b with SEP; {p} and {q} are the two decimals of
    /// `convert`.
    std::string_view workbook;
    std::string_view browser;
};

[[nodiscard]] const OperationRow& row_of(Operation operation) noexcept;
[[nodiscard]] std::span<const OperationRow> all_operations() noexcept;

/// Value of an operation that needs nothing but its arguments (not input, constant, convert, solve,
/// part). The same sequence of + - * / and square roots as the lanes and the browser.
[[nodiscard]] double value_of(Operation operation, std::span<const double> arguments);

/// Adds upstream * d(value)/d(argument i) to slope[i]. Same operations as value_of.
/// minimum, maximum: the argument that is taken; whole: 0.
void add_slopes(Operation operation, std::span<const double> arguments, double value,
                double upstream, std::span<double> slope);

/// A workbook or browser expression with the argument texts put in.
[[nodiscard]] std::string fill(std::string_view pattern, std::span<const std::string> arguments);

}  // namespace deckle
