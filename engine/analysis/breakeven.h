// Where two results are equal along an input, or one equals a value, or stands at a claimed index
// against a reference: the values of the input, each with its bracket. All is read off the graph at
// passing values of the input; nothing is linearised. Two inputs give a line of equality. A claim
// turned round: what the input would have to be, and what a careful reader would then ask.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "engine/analysis/asked.h"
#include "engine/analysis/check.h"
#include "engine/analysis/roots.h"
#include "engine/analysis/sensitivity.h"
#include "engine/study/study.h"

namespace deckle {

struct BreakevenQuestion {
    std::string result;    ///< address
    std::string equal_to;  ///< address of a result, or a value with its unit; "" with an index
    std::string index;     ///< "93": the result against `against` = 100; "" without
    std::vector<std::string> against;  ///< addresses; several stand as one, by their mean

    struct Along {
        std::string input;     ///< address
        std::string from, to;  ///< values with their units; "": from what the input may be
    };
    std::vector<Along> along;  ///< one or two; of two, the second is laid out in steps
};

/// What the result is held against.
struct Target {
    std::vector<AskedResult> others;  ///< the mean of results times `factor`; else the value alone
    std::vector<double> values;       ///< of each of them as things stand
    double factor = 1.0;              ///< index / 100
    double value = 0.0;               ///< in the unit of the result
    std::optional<double> index;      ///< as claimed

    /// What the index counts as 100, or the value itself.
    [[nodiscard]] double reference(const Evaluation& at) const;
};

/// An input along which equality is looked for.
struct AlongInput {
    const Input* input = nullptr;
    std::string address, unit;
    double value = 0.0;  ///< as it is now
    Range range{0.0, 0.0};
    bool as_asked = false;             ///< the range was typed
    std::optional<Interval> interval;  ///< 95 %, of its spread
};

/// Both sides at one value of the input; none where there is no answer.
struct Sides {
    std::optional<double> result, target;
};

struct Equality {
    Crossing crossing;
    double result = 0.0, target = 0.0;  ///< there, in the unit of the result
    bool in_interval = false;           ///< inside the 95 % interval of the input's spread
    /// A figure of a mill behind the results that lies outside its published range there.
    struct Outside {
        Finding finding;
        bool now = false;  ///< and does so as things stand too
    };
    std::vector<Outside> outside;
    std::vector<std::string> inside;  ///< what moves with the input and lies inside: "heat"
    /// Of an input that counts whole things, and equality between two of them: both sides there.
    std::vector<std::pair<double, Sides>> whole;
    std::string unlooked;  ///< why published ranges are not looked into there; or ""
};

/// A part of the range where there is no answer.
struct Unanswered {
    Gap gap;
    std::string why;
};

struct EqualityLine {
    AlongInput second;
    struct Step {
        double value;                      ///< of the second input
        std::vector<Crossing> equalities;  ///< of the first
    };
    std::vector<Step> steps;  ///< ascending
};

struct Breakeven {
    AskedResult asked;
    double value = 0.0;  ///< of the result as things stand
    Target target;
    std::string unit;
    AlongInput along;
    Sides now, at_from, at_to;
    std::string unlike_pers;  ///< in words, where not all results are for the same unit; else ""
    bool both_rest = false;   ///< the reference moves with the input too
    bool stepped = false;     ///< a whole number, minimum or maximum lies between
    std::vector<Equality> equalities;
    std::vector<Unanswered> gaps;
    std::optional<EqualityLine> line;  ///< of two inputs; then `equalities` are those at its value
};

/// Errors: InputError of asked_result, asked_input, asked_value; unlike-results (other indicator or
/// unit), unlike-rules, unlike-coverage, reference-not-positive, same-result, bad-index, bad-range,
/// range-outside-bounds. NoAnswer does-not-rest-on, and no-equality with both sides at the ends of
/// the range and, where there is one, the nearest equality outside it.
[[nodiscard]] Breakeven breakeven(const Study& study, const Evaluation& at,
                                  const BreakevenQuestion& question);

}  // namespace deckle
