#include "engine/tables/quality.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/properties/elementary.h"
#include "engine/tables/limits.h"
#include "engine/tables/table_reader.h"

namespace deckle {
namespace {

constexpr std::array data_quality_key_list{Key{"technology"}, Key{"geography"}, Key{"time"},
                                           Key{"reliability"}, Key{"completeness"}};
constexpr std::array quality_key_list{Key{"data_quality_spread", Need::required},
                                      Key{"title", Need::required},
                                      Key{"source", Need::required},
                                      Key{"confirmed"},
                                      Key{"note"},
                                      Key{"numbers", Need::required},
                                      Key{"basic", Need::required},
                                      Key{"basic_numbers"},
                                      Key{"scores", Need::required}};
constexpr std::array<std::string_view, 3> number_words{"factors_95", "geometric_deviations",
                                                       "variances"};

const KeyTable quality_keys{"data_quality_spread", quality_key_list};

/// Variance of the logarithm that a number of a table stands for.
double variance_of(double number, QualitySpread::Numbers numbers) {
    if (numbers == QualitySpread::Numbers::variances) return number;
    const double ln = logarithm<ScalarMath>(number);
    const double sigma = numbers == QualitySpread::Numbers::factors_95 ? 0.5 * ln : ln;
    return sigma * sigma;
}

class QualityReader {
public:
    QualityReader(QualitySpread& set, Problems& problems) : set_(set), problems_(problems) {}

    bool read(const YamlValue& root) {
        const YamlEntry& head = *root.entry("data_quality_spread");
        if (!check_keys(root, quality_keys, key_place(head), problems_)) return false;
        set_.id = text(root, "data_quality_spread");
        set_.place = head.value.place;
        check_id(set_.id, set_.place, "a set", problems_);
        set_.title = text(root, "title");
        set_.note = text(root, "note");
        if (const YamlEntry* source = root.entry("source"))
            set_.source = read_citation(source->value, key_place(*source), problems_);
        read_confirmed(root);
        set_.numbers = numbers_at(root, "numbers");
        set_.basic_numbers = root.find("basic_numbers") == nullptr
                                 ? set_.numbers
                                 : numbers_at(root, "basic_numbers");
        if (const YamlEntry* basic = mapping(root, "basic")) read_basic(*basic);
        if (const YamlEntry* scores = mapping(root, "scores")) read_rows(*scores);
        return true;
    }

private:
    std::string text(const YamlValue& map, std::string_view key) {
        const YamlValue* value = map.find(key);
        return value == nullptr ? std::string{} : read_text(*value, key, problems_);
    }

    const YamlEntry* mapping(const YamlValue& root, std::string_view key) {
        const YamlEntry* entry = root.entry(key);
        if (entry == nullptr || entry->value.is_map()) return entry;
        if (entry->value.kind != YamlValue::Kind::nothing)
            problems_.add(key_place(*entry), "not-a-mapping",
                          fmt::format("{} is a mapping, not {}", key, entry->value.kind_text()),
                          "");
        return nullptr;
    }

    void read_confirmed(const YamlValue& root) {
        const YamlValue* value = root.find("confirmed");
        if (value == nullptr) return;
        const std::size_t before = problems_.count();
        set_.confirmed = read_yes(*value, "confirmed", problems_);
        if (problems_.count() == before && !set_.confirmed && set_.note.empty())
            problems_.add(value->place, "missing-note",
                          "a figure that is not confirmed needs a note",
                          "say where it comes from and what must be looked up");
    }

    QualitySpread::Numbers numbers_at(const YamlValue& root, std::string_view key) {
        const std::string word = text(root, key);
        const auto found = std::ranges::find(number_words, word);
        if (found != number_words.end())
            return static_cast<QualitySpread::Numbers>(found - number_words.begin());
        if (const YamlValue* value = root.find(key); value != nullptr && value->is_scalar())
            problems_.add(value->place, "unknown-word",
                          fmt::format("{}: {} is not known", key, word),
                          fmt::format("{}", fmt::join(number_words, ", ")));
        return QualitySpread::Numbers::factors_95;
    }

    /// A plain number that the kind of numbers can have; nothing where it was reported.
    std::optional<double> number(const YamlValue& value, QualitySpread::Numbers numbers,
                                 std::string_view what) {
        if (!value.is_scalar()) {
            problems_.add(value.place.known() ? value.place : set_.place, "not-a-quantity",
                          fmt::format("a number was expected for {}", what), "for example 1.05");
            return std::nullopt;
        }
        const QuantityResult parsed = parse_quantity(value.text);
        if (!parsed.quantity) {
            add(problems_, value, parsed.error);
            return std::nullopt;
        }
        const double least = numbers == QualitySpread::Numbers::variances ? 0.0 : 1.0;
        const Quantity& typed = *parsed.quantity;
        if (!typed.unit.text.empty() || typed.spread.kind != SpreadKind::none) {
            problems_.add(value.place, "wrong-unit", fmt::format("{} is a plain number", what),
                          "for example 1.05");
        } else if (!(typed.value >= least)) {
            problems_.add(value.place, "number-out-of-range",
                          fmt::format("{} is below {}", value.text, least),
                          "factors and geometric deviations begin at 1, variances at 0");
        } else {
            return typed.value;
        }
        return std::nullopt;
    }

    void read_basic(const YamlEntry& basic) {
        for (const YamlEntry& line : basic.value.entries) {
            if (const auto value = number(line.value, set_.basic_numbers, line.key))
                set_.basic.emplace_back(line.key, *value);
        }
        const bool other = basic.value.entry("other") != nullptr;
        if (!other)
            problems_.add(key_place(basic), "missing-key", "basic lacks other",
                          "the basic number of every line that has none of its own: other: 1.05");
    }

    void read_rows(const YamlEntry& scores) {
        if (!check_keys(scores.value, data_quality_keys, key_place(scores), problems_)) return;
        for (const YamlEntry& row : scores.value.entries) {
            if (!row.value.is_list() || row.value.items.size() != 5) {
                problems_.add(key_place(row), "not-a-list",
                              fmt::format("{} is a list of five numbers", row.key),
                              "one for each score, 1 to 5; `none` where none was published");
                continue;
            }
            QualitySpread::Row& made = set_.rows.emplace_back();
            made.criterion = row.key;
            for (std::size_t k = 0; k < 5; ++k) {
                const YamlValue& item = row.value.items[k];
                if (!item.is_scalar() || item.text != "none")
                    made.numbers[k] = number(item, set_.numbers, row.key);
            }
        }
    }

    QualitySpread& set_;
    Problems& problems_;
};

}  // namespace

const KeyTable data_quality_keys{"data_quality", data_quality_key_list};

const QualitySpread::Row* QualitySpread::row(std::string_view criterion) const {
    const auto found = std::ranges::find(rows, criterion, &Row::criterion);
    return found == rows.end() ? nullptr : &*found;
}

bool QualitySpread::has(const Score& score) const {
    const Row* found = row(score.criterion);
    return found != nullptr && found->numbers.at(static_cast<std::size_t>(score.score - 1));
}

double QualitySpread::variance(const std::vector<Score>& scores, std::string_view line) const {
    const auto own = std::ranges::find_if(basic, [&](const auto& b) { return b.first == line; });
    const auto other =
        std::ranges::find_if(basic, [](const auto& b) { return b.first == "other"; });
    const auto& used = own != basic.end() ? own : other;
    double total = used == basic.end() ? 0.0 : variance_of(used->second, basic_numbers);
    for (const Row& criterion : rows) {
        for (const Score& score : scores) {
            if (score.criterion != criterion.criterion) continue;
            const auto number = criterion.numbers.at(static_cast<std::size_t>(score.score - 1));
            if (number) total += variance_of(*number, numbers);
        }
    }
    return total;
}

Stated with_spread_of_scores(const Stated& stated, const QualitySpread& set, Problems& problems) {
    const Quantity& quantity = stated.amount.quantity;
    if (stated.scores.empty() || quantity.spread.kind != SpreadKind::none ||
        !(quantity.value > 0.0))
        return stated;
    for (const Score& score : stated.scores) {
        if (set.has(score)) continue;
        problems.add(
            score.place, "score-without-number",
            fmt::format("{} has no number for {} {}", set.id, score.criterion, score.score),
            "state the spread of the amount itself, or choose another set", {set.place});
        return stated;
    }
    Stated scored = stated;
    const std::string_view line =
        std::string_view(stated.address).substr(stated.address.rfind('.') + 1);
    const double sigma = ScalarMath::root(set.variance(stated.scores, line));
    TypedSpread& spread = scored.amount.quantity.spread;
    spread.kind = SpreadKind::lognormal;
    spread.factor = exponential<ScalarMath>(normal_half_width_95 * sigma);
    spread.typed = fmt::format("×÷ {:.4g} by scores, {}", spread.factor, set.id);
    scored.spread_parts = {{stated.scores.front().place, spread.typed}};
    return check_typed_spread(scored, problems) ? scored : stated;
}

std::vector<Score> read_scores(const YamlEntry& entry, Problems& problems) {
    std::vector<Score> scores;
    if (!check_keys(entry.value, data_quality_keys, key_place(entry), problems)) return scores;
    for (const YamlEntry& score : entry.value.entries) {
        const std::string value = read_text(score.value, "a score", problems);
        if (value.size() == 1 && value[0] >= '1' && value[0] <= '5') {
            scores.push_back({score.key, value[0] - '0', score.value.place});
        } else if (score.value.is_scalar()) {
            problems.add(score.value.place, "bad-score",
                         fmt::format("{} is not a data-quality score", value), "1 (best) to 5");
        }
    }
    return scores;
}

void read_quality_spread(const YamlValue& root, Tables& tables, Problems& problems) {
    QualitySpread set;
    if (QualityReader(set, problems).read(root)) tables.quality_spreads.push_back(std::move(set));
}

std::vector<const KeyTable*> quality_key_tables() { return {&quality_keys}; }

}  // namespace deckle
