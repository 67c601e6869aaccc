// What a result reacts to: for every input it rests on the derivative, the elasticity and the share
// of the first-order variance, all from one reverse pass, and beside them what the result becomes
// when this input alone goes to the ends of its 95 % interval. Steps have no useful derivative:
// what lies behind one is marked, and its swing says more. Sobol indices are in sobol.h.
//
// Sources: Heijungs, "Sensitivity coefficients for matrix-based LCA", Int J LCA 15 (2010) 511-520
// (derivatives by the adjoint, elasticities); JCGM 100:2008, 5.1 (first-order variance).
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/analysis/asked.h"
#include "engine/study/study.h"

namespace deckle {

class WhatIf;

enum class SensitivityRank : std::uint8_t { share, elasticity, swing };
[[nodiscard]] std::optional<SensitivityRank> sensitivity_rank(std::string_view name) noexcept;
[[nodiscard]] std::string_view name_of(SensitivityRank rank) noexcept;

struct SensitivityQuestion {
    std::string result;                             ///< address
    SensitivityRank rank = SensitivityRank::share;  ///< inputs without a share come after, by
                                                    ///< elasticity
    double step = 0.1;        ///< share by which an input without a spread is moved each way; of a
                              ///< temperature or pressure from its typed zero
    std::size_t largest = 0;  ///< only so many inputs; 0: all
};

/// One input moved alone, all others as they are.
struct Swing {
    double from = 0.0, to = 0.0;           ///< values of the input, in its unit
    std::optional<double> at_from, at_to;  ///< the result there; none where it has no answer
    std::optional<double> change_from, change_to;  ///< less the result as it is
    std::string why;                               ///< it has none
    bool of_spread = false;  ///< the ends of its 95 % interval; else `step` of its value each way
    bool cut = false;        ///< an end lies at the bound of what the input may be

    /// How far the result moves, in its unit; 0 when an end has no answer.
    [[nodiscard]] double width() const noexcept;
};

struct InputSensitivity {
    const Input* input = nullptr;
    std::string address;
    std::string title;  ///< of the factor, process or product it belongs to
    double value = 0.0;
    std::string unit;
    double derivative = 0.0;           ///< [unit of the result / unit of the input]
    std::optional<double> elasticity;  ///< % of the result for 1 % of the input as typed (of degC
                                       ///< from 0 degC); none at result 0
    double deviation = 0.0;            ///< standard deviation of its spread, in its unit
    double share = 0.0;    ///< of the first-order variance; all add to 1 unless no input has a
                           ///< spread; of inputs that go together perhaps below 0
    bool stepped = false;  ///< a whole number, minimum or maximum stands between it and the result
    Swing swing;
};

struct Sensitivity {
    AskedResult asked;
    SensitivityQuestion question;
    double value = 0.0;                 ///< of the result, in its unit
    double standard_uncertainty = 0.0;  ///< first order, in the unit of the result
    std::size_t inputs_in_all = 0;      ///< that it rests on
    std::size_t with_spread = 0;
    std::vector<InputSensitivity> inputs;  ///< ranked, the `largest` asked for
    /// Ranked by share: the inputs without a spread that move it most, by elasticity.
    std::vector<std::pair<std::string, double>> without_spread;
};

/// Errors: those of asked_result.
[[nodiscard]] Sensitivity sensitivity(const Study& study, const Evaluation& at,
                                      SensitivityQuestion question);

/// Of any node of a graph, in the order of its inputs; without swings.
struct VarianceBudget {
    std::vector<InputSensitivity> inputs;
    double standard_uncertainty = 0.0;  ///< first order, in the unit of the node
};
[[nodiscard]] VarianceBudget variance_budget(const Graph& graph, const Evaluation& at, NodeId node);
/// Of the sum of nodes of one unit.
[[nodiscard]] VarianceBudget variance_budget(const Graph& graph, const Evaluation& at,
                                             std::span<const NodeId> terms);

/// What a node becomes when one input goes to the ends of its 95 % interval, or by `step` of its
/// value each way. `what_if` must hold the node among its figures.
[[nodiscard]] Swing swing_of(const Evaluation& at, NodeId node, const Input& input, double step,
                             WhatIf& what_if);

/// The ends of the 95 % interval of an input's spread, within its bounds; its value without one.
struct Interval {
    double low, high;
    bool cut = false;  ///< at a bound
};
[[nodiscard]] Interval interval_95(const Input& input, const Evaluation& at);

}  // namespace deckle
