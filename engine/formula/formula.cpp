#include "engine/formula/formula.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/quantity/number.h"
#include "engine/quantity/utf8.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

using enum FormulaOperation;

constexpr std::size_t longest_text = 16384;
constexpr int deepest = 256;

struct Function {
    std::string_view name;
    FormulaOperation operation;
    bool many;  ///< two arguments or more; else exactly one
};
constexpr std::array functions{
    Function{"min", minimum, true},       Function{"max", maximum, true},
    Function{"exp", exponential, false},  Function{"ln", logarithm, false},
    Function{"sqrt", square_root, false},
};

const Function* find_function(std::string_view name) {
    const auto at = std::find_if(functions.begin(), functions.end(),
                                 [&](const Function& f) { return f.name == name; });
    return at == functions.end() ? nullptr : &*at;
}

/// End of letters, digits, _ and points between them.
std::size_t word_end(std::string_view text, std::size_t at) {
    const auto belongs = [&](std::size_t i) {
        return i < text.size() && (is_letter(text[i]) || is_digit(text[i]) || text[i] == '_');
    };
    while (belongs(at) || (stands_at(text, at, ".") && belongs(at + 1))) ++at;
    return at;
}

struct Symbol {
    FormulaOperation operation;
    std::size_t length;  ///< 0: none stands here
};

Symbol sum_at(std::string_view text, std::size_t at) {
    if (const std::size_t plus = one_of_at(text, at, {"+"})) return {add, plus};
    return {subtract, one_of_at(text, at, {"-", "\u2212"})};
}

Symbol product_at(std::string_view text, std::size_t at) {
    if (const std::size_t times = one_of_at(text, at, {"*", "\u00D7"})) return {multiply, times};
    return {divide, one_of_at(text, at, {"/", "\u00F7"})};
}

constexpr std::uint32_t nothing = 0xFFFFFFFFU;

/// Recursive descent; every function returns the number of the node it made, `nothing` after an
/// error.
class FormulaReader {
public:
    explicit FormulaReader(std::string_view text)
        : text_(text.substr(0, end_without_spaces(text))) {}

    FormulaResult read() {
        if (text_.size() > longest_text) {
            fail(0, longest_text, "formula-too-long", "this formula is too long",
                 "a formula has at most 16384 characters; name parts of it");
            return {std::nullopt, std::move(error_)};
        }
        const std::uint32_t root = sum(0);
        skip_spaces();
        if (root != nothing && at_ < text_.size()) fail_rest();
        if (error_.any()) return {std::nullopt, std::move(error_)};
        return {std::move(formula_), {}};
    }

private:
    std::uint32_t sum(int depth) { return chain(depth, sum_at, &FormulaReader::quotient_chain); }
    std::uint32_t quotient_chain(int depth) {
        return chain(depth, product_at, &FormulaReader::signed_power);
    }

    /// a op b op c, from the left.
    template <class SymbolAt, class Operand>
    std::uint32_t chain(int depth, SymbolAt symbol_at, Operand operand) {
        skip_spaces();
        const std::size_t start = at_;
        std::uint32_t left = (this->*operand)(depth);
        while (left != nothing) {
            const std::size_t next = after_spaces(text_, at_);
            const Symbol symbol = symbol_at(text_, next);
            if (symbol.length == 0) return left;
            at_ = next + symbol.length;
            skip_spaces();
            const std::uint32_t right = (this->*operand)(depth);
            if (right == nothing) return nothing;
            const std::array arguments{left, right};
            left = make(symbol.operation, start, arguments);
        }
        return nothing;
    }

    /// −x^2 is −(x^2).
    std::uint32_t signed_power(int depth) {
        const std::size_t start = at_;
        const std::size_t minus = one_of_at(text_, at_, {"-", "\u2212"});
        if (minus == 0) return raised(depth);
        if (depth >= deepest) return fail_deep(start);
        at_ += minus;
        skip_spaces();
        const std::uint32_t argument = signed_power(depth + 1);
        if (argument == nothing) return nothing;
        const std::array arguments{argument};
        return make(negate, start, arguments);
    }

    std::uint32_t raised(int depth) {
        const std::size_t start = at_;
        const std::uint32_t base = primary(depth);
        if (base == nothing) return nothing;
        const std::size_t next = after_spaces(text_, at_);
        if (!stands_at(text_, next, "^")) return base;
        at_ = next + 1;
        return with_exponent(start, base);
    }

    /// The exponent is a number, perhaps negative, perhaps in parentheses.
    std::uint32_t with_exponent(std::size_t start, std::uint32_t base) {
        skip_spaces();
        const std::size_t begin = at_;
        const bool enclosed = stands_at(text_, at_, "(");
        if (enclosed) ++at_;
        skip_spaces();
        const std::size_t minus = one_of_at(text_, at_, {"-", "\u2212"});
        at_ += minus;
        skip_spaces();
        if (!number_begins(text_, at_) || one_of_at(text_, at_, {"-", "\u2212"}) > 0)
            return fail_exponent(begin);
        const NumberScan number = scan_number(text_, at_);
        if (number.error.any()) return fail(number.error);
        at_ = number.end;
        if (enclosed) skip_spaces();
        if (enclosed && !stands_at(text_, at_, ")")) return fail_exponent(begin);
        if (enclosed) ++at_;
        if (!number_stands_alone(begin)) return nothing;
        if (stands_at(text_, after_spaces(text_, at_), "^")) {
            at_ = after_spaces(text_, at_);
            return fail_exponent(begin);
        }
        const std::array arguments{base};
        const std::uint32_t node = make(power, start, arguments);
        formula_.nodes[node].value = minus > 0 ? -number.value : number.value;
        formula_.nodes[node].text = fmt::format("{}{}", minus > 0 ? "-" : "", number.digits);
        return node;
    }

    std::uint32_t primary(int depth) {
        if (stands_at(text_, at_, "(")) return enclosed(depth);
        if (at_ < text_.size() && is_letter(text_[at_])) return name_or_function(depth);
        if (number_begins(text_, at_)) return bare_number();
        return fail_expected("a name, a number or a parenthesis");
    }

    std::uint32_t enclosed(int depth) {
        const std::size_t open = at_;
        if (depth >= deepest) return fail_deep(open);
        ++at_;
        const std::uint32_t inner = sum(depth + 1);
        if (inner == nothing) return nothing;
        skip_spaces();
        if (!stands_at(text_, at_, ")")) return fail_unclosed(open);
        ++at_;
        return inner;
    }

    std::uint32_t bare_number() {
        const std::size_t start = at_;
        NumberScan number = scan_number(text_, at_);
        if (number.error.any()) return fail(number.error);
        at_ = number.end;
        if (!number_stands_alone(start)) return nothing;
        const std::uint32_t node = make(FormulaOperation::number, start, {});
        formula_.nodes[node].value = number.value;
        formula_.nodes[node].text = std::move(number.digits);
        return node;
    }

    /// False, with an error, when a unit stands behind the number.
    bool number_stands_alone(std::size_t start) {
        const std::size_t next = after_spaces(text_, at_);
        if (next >= text_.size()) return true;
        const char c = text_[next];
        const bool beyond_ascii = (static_cast<unsigned char>(c) & 0x80U) != 0 &&
                                  product_at(text_, next).length == 0 &&
                                  sum_at(text_, next).length == 0;
        if (!is_letter(c) && c != '%' && !beyond_ascii) return true;
        std::size_t end = std::max(word_end(text_, next), next + character_length(text_, next));
        fail(start, end, "number-with-unit",
             fmt::format("\"{}\": a number in a formula has no unit",
                         text_.substr(start, end - start)),
             "give it a name under figures, so that it has an address and a source");
        return false;
    }

    std::uint32_t name_or_function(int depth) {
        const std::size_t start = at_;
        const std::size_t end = word_end(text_, at_);
        const std::string word(text_.substr(start, end - start));
        at_ = end;
        skip_spaces();
        const Function* function = find_function(word);
        if (stands_at(text_, at_, "("))
            return function != nullptr ? call(*function, start, depth) : fail_function(start, word);
        at_ = end;
        if (function != nullptr) {
            return fail(start, end, "formula-syntax", fmt::format("{} is a function", word),
                        fmt::format("write {}(…)", word));
        }
        if (!is_formula_name(word)) return fail_name(start, end, word);
        const std::uint32_t node = make(name, start, {});
        if (std::find(formula_.names.begin(), formula_.names.end(), word) == formula_.names.end())
            formula_.names.push_back(word);
        formula_.nodes[node].text = word;
        return node;
    }

    std::uint32_t call(const Function& function, std::size_t start, int depth) {
        const std::size_t open = at_;
        if (depth >= deepest) return fail_deep(start);
        std::vector<std::uint32_t> arguments;
        do {
            ++at_;
            arguments.push_back(sum(depth + 1));
            if (arguments.back() == nothing) return nothing;
            skip_spaces();
        } while (stands_at(text_, at_, ","));
        if (!stands_at(text_, at_, ")")) return fail_unclosed(open);
        ++at_;
        if (function.many ? arguments.size() >= 2 : arguments.size() == 1)
            return make(function.operation, start, arguments);
        return fail(
            start, at_, "argument-count",
            fmt::format("{} has {} argument{}", function.name, arguments.size(),
                        arguments.size() == 1 ? "" : "s"),
            fmt::format("{} takes {}", function.name, function.many ? "two or more" : "one"));
    }

    std::uint32_t make(FormulaOperation operation, std::size_t start,
                       std::span<const std::uint32_t> arguments) {
        FormulaNode node;
        node.operation = operation;
        node.first = static_cast<std::uint32_t>(formula_.arguments.size());
        node.count = static_cast<std::uint32_t>(arguments.size());
        node.offset = static_cast<std::uint32_t>(start);
        node.length = static_cast<std::uint32_t>(at_ - start);
        formula_.arguments.insert(formula_.arguments.end(), arguments.begin(), arguments.end());
        formula_.nodes.push_back(std::move(node));
        return static_cast<std::uint32_t>(formula_.nodes.size() - 1);
    }

    void skip_spaces() { at_ = after_spaces(text_, at_); }

    std::uint32_t fail(std::size_t begin, std::size_t end, std::string code, std::string message,
                       std::string hint) {
        return fail({begin, end - begin, std::move(code), std::move(message), std::move(hint)});
    }

    std::uint32_t fail(TextError error) {
        error_ = std::move(error);
        return nothing;
    }

    [[nodiscard]] std::string found_here() const {
        if (at_ >= text_.size()) return "the end";
        return fmt::format("\"{}\"", text_.substr(at_, found_end() - at_));
    }

    [[nodiscard]] std::size_t found_end() const {
        if (at_ >= text_.size()) return at_;
        return std::max(word_end(text_, at_), at_ + character_length(text_, at_));
    }

    std::uint32_t fail_expected(std::string_view what) {
        return fail(at_, found_end(), "formula-syntax",
                    fmt::format("expected {}, found {}", what, found_here()),
                    "formulas look like reel_dryness / press_dryness - 1");
    }

    void fail_rest() {
        if (stands_at(text_, at_, "(")) {
            fail(at_, found_end(), "formula-syntax", "expected an operator before the parenthesis",
                 "write * where a product is meant");
        } else {
            fail_expected("an operator (+ - * / ^) or the end");
        }
    }

    std::uint32_t fail_unclosed(std::size_t open) {
        if (at_ < text_.size()) return fail_expected("an operator or )");
        return fail(open, open + 1, "formula-syntax", "this parenthesis is not closed", {});
    }

    std::uint32_t fail_exponent(std::size_t begin) {
        const std::size_t end = std::max(found_end(), begin);
        return fail(begin, end, "exponent-not-a-number", "an exponent is a plain number",
                    "write x^2, x^0.5, x^-1; for others exp(y * ln(x))");
    }

    std::uint32_t fail_deep(std::size_t start) {
        return fail(start, start + 1, "formula-too-deep",
                    "this formula is nested more than 256 deep", "name parts of it");
    }

    std::uint32_t fail_function(std::size_t start, const std::string& word) {
        std::vector<std::string> known;
        for (const Function& function : functions) known.emplace_back(function.name);
        const std::string near = did_you_mean(word, known);
        return fail(start, start + word.size(), "unknown-function",
                    fmt::format("unknown function {}", word),
                    near.empty()
                        ? "functions are min, max, exp, ln and sqrt; a product is written with *"
                        : near);
    }

    std::uint32_t fail_name(std::size_t start, std::size_t end, const std::string& word) {
        return fail(start, end, "bad-name", fmt::format("\"{}\" is no name", word),
                    "names are lower_snake_case: reel_dryness");
    }

    std::string_view text_;
    std::size_t at_ = 0;
    Formula formula_;
    TextError error_;
};

}  // namespace

bool is_formula_name(std::string_view text) {
    bool start = true;
    for (const char c : text) {
        const bool belongs =
            start ? is_lower(c) : is_lower(c) || is_digit(c) || c == '_' || c == '.';
        if (!belongs) return false;
        start = c == '.';
    }
    return !start;
}

FormulaResult parse_formula(std::string_view text) { return FormulaReader(text).read(); }

}  // namespace deckle
