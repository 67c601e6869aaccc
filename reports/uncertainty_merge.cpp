// Reads the JSON reports of shards back and joins them. Nothing is recomputed: the joined report
// has the numbers of the shards, which are the shortest decimals that read back.
#include <fmt/format.h>

#include <array>

#include "engine/analysis/asked.h"
#include "reports/footprint.h"
#include "reports/inert.h"
#include "reports/json_parts.h"
#include "reports/uncertainty.h"

namespace deckle {
namespace {

[[noreturn]] void refuse_file(const std::string& path, const std::string& why) {
    refuse_question("not-a-shard",
                    fmt::format("{} is no report of a shard: {}", inert(path), inert(why)),
                    "write each with: deckle uncertainty STUDY --shard i/n --format json -o FILE");
}

/// What a reader of JSON found, for people.
std::string in_words(const Json::exception& error) {
    if (dynamic_cast<const Json::parse_error*>(&error) != nullptr) return "it is no JSON";
    if (dynamic_cast<const Json::out_of_range*>(&error) != nullptr) return "a key is missing in it";
    return "a value in it is of another kind";
}

/// The enumerator that has this name in reports.
template <class Enum>
Enum named(const Json& json, std::initializer_list<Enum> all) {
    const auto text = json.get<std::string>();
    for (const Enum one : all) {
        if (name_of(one) == text) return one;
    }
    throw std::invalid_argument("unknown word " + text);
}

double number_or_zero(const Json& json) { return json.is_null() ? 0.0 : json.get<double>(); }

std::string text_or_nothing(const Json& json) {
    return json.is_null() ? std::string() : json.get<std::string>();
}

Sample sample_of(const Json& json) {
    Sample sample;
    sample.draws = json.at("draws").get<std::uint64_t>();
    sample.summary = {json.at("mean").get<double>(), json.at("standard_uncertainty").get<double>(),
                      json.at("median").get<double>(), json.at("low").get<double>(),
                      json.at("high").get<double>()};
    const Json& errors = json.at("standard_errors");
    sample.errors = {errors.at("mean").get<double>(),
                     errors.at("standard_uncertainty").get<double>(),
                     number_or_zero(errors.at("low")), number_or_zero(errors.at("high"))};
    return sample;
}

std::optional<Comparison> comparison_of(const Json& json) {
    if (json.is_null()) return std::nullopt;
    using enum ComparisonVerdict;
    Comparison one;
    one.below = json.at("below").get<double>();
    one.verdict =
        named(json.at("verdict"), {below, probably_below, too_close, probably_above, above, equal});
    one.difference = sample_of(json.at("difference"));
    one.draws = one.difference.draws;
    if (!json.at("ratio").is_null()) one.ratio = sample_of(json.at("ratio"));
    return one;
}

FirstOrder first_order_of(const Json& json) {
    using enum FirstOrderVerdict;
    FirstOrder one;
    one.standard_uncertainty = json.at("standard_uncertainty").get<double>();
    one.low = json.at("low").get<double>();
    one.high = json.at("high").get<double>();
    one.digits = json.at("digits").get<int>();
    one.verdict = named(json.at("verdict"), {accepted, refused, undecided, not_judged});
    return one;
}

UncertaintyRow row_of(const Json& json) {
    UncertaintyRow row;
    row.address = json.at("address").get<std::string>();
    row.of = json.at("of").get<std::string>();
    row.per = json.at("per").get<std::string>();
    row.indicator = json.at("indicator").get<std::string>();
    row.scenario = json.at("scenario").get<std::string>();
    row.unit = json.at("unit").get<std::string>();
    row.bound =
        named(json.at("bound"), {Bound::exact, Bound::at_least, Bound::at_most, Bound::open});
    row.figure.value = json.at("value").get<double>();
    row.figure.sample = sample_of(json.at("drawn"));
    row.figure.first_order = first_order_of(json.at("first_order"));
    const Json& against = json.at("against");
    if (against.is_null()) return row;
    row.against = against.at("address").get<std::string>();
    row.not_compared = text_or_nothing(against.at("not_compared"));
    row.figure.paired = comparison_of(against.at("paired"));
    row.figure.unpaired = comparison_of(against.at("unpaired"));
    return row;
}

StudyHead study_of(const Json& json) {
    StudyHead head;
    head.id = json.at("id").get<std::string>();
    head.title = json.at("title").get<std::string>();
    head.owner = text_or_nothing(json.at("owner"));
    head.period = json.at("period").get<std::string>();
    head.boundary = json.at("boundary").get<std::string>();
    head.characterization = json.at("characterization").get<std::string>();
    head.gwp_sets = json.at("gwp_sets").get<std::vector<std::string>>();
    head.headline = json.at("electricity").get<std::string>() == "market"
                        ? ElectricityView::market
                        : ElectricityView::location;
    head.one_electricity_view = json.at("one_electricity_view").get<bool>();
    for (const Json& one : json.at("electricity_stand_ins"))
        head.stand_ins.push_back({one.at("factor").get<std::string>(), one.at("market").get<bool>(),
                                  one.at("location").get<bool>()});
    head.scarcity = text_or_nothing(json.at("scarcity"));
    head.scarcity_model = text_or_nothing(json.at("scarcity_model"));
    head.scarcity_version = text_or_nothing(json.at("scarcity_version"));
    const Json& rules = json.at("rules");
    if (rules.is_null()) return head;
    head.rules.id = rules.at("id").get<std::string>();
    head.rules.version = rules.at("version").get<std::string>();
    return head;
}

/// A report without its rows.
UncertaintyReport head_of(const Json& json) {
    using Names = std::vector<std::string>;
    UncertaintyReport report;
    report.study = study_of(json.at("study"));
    const Json& run = json.at("run");
    report.study_files = run.at("study_files").get<std::string>();
    UncertaintyAsked& asked = report.asked;
    asked.draws.seed = run.at("seed").get<std::uint64_t>();
    if (run.at("draws").is_null())
        asked.draws.adaptive_digits = run.at("adaptive_digits").get<int>();
    else asked.draws.draws = run.at("draws").get<std::uint64_t>();
    asked.draws.interval =
        named(run.at("interval"), {IntervalKind::symmetric, IntervalKind::shortest});
    asked.draws.unpaired = run.at("unpaired").get<bool>();
    asked.products = run.at("products").get<Names>();
    asked.pers = run.at("pers").get<Names>();
    asked.indicators = run.at("indicators").get<Names>();
    asked.scenarios = run.at("scenarios").get<Names>();
    asked.against = text_or_nothing(run.at("against"));
    if (const Json& set = run.at("data_quality_spread"); !set.is_null())
        report.spreads = {set.at("id").get<std::string>(), set.at("source").get<std::string>()};
    report.with_spread = run.at("inputs_with_spread").get<std::size_t>();
    report.without_spread = run.at("inputs_without_spread").get<std::size_t>();
    report.scenario_findings = run.at("scenario_findings").get<Names>();
    return report;
}

struct ShardFile {
    std::string path;
    Json json;
    Shard shard;
};

ShardFile read_shard(const Files::File& file) {
    ShardFile one;
    one.path = file.path;
    try {
        one.json = Json::parse(file.text);
        if (one.json.at("format") != "deckle-uncertainty")
            throw std::invalid_argument("its format is not deckle-uncertainty");
        const Json& shard = one.json.at("shard");
        if (shard.is_null()) throw std::invalid_argument("it is a whole run, without --shard");
        one.shard = {shard.at("part").get<std::uint32_t>(), shard.at("of").get<std::uint32_t>()};
        if (one.shard.part < 1 || one.shard.part > one.shard.of)
            throw std::invalid_argument("its part is none of its shards");
    } catch (const Json::exception& error) {
        refuse_file(file.path, in_words(error));
    } catch (const std::invalid_argument& error) {
        refuse_file(file.path, error.what());
    }
    return one;
}

/// The first key of two objects whose values differ, in words.
std::string difference_of(const Json& a, const Json& b) {
    for (const auto& [key, value] : a.items()) {
        if (!b.contains(key) || b.at(key) != value) return key;
    }
    return "a key more";
}

void require_alike(const ShardFile& first, const ShardFile& other, const std::string& program) {
    const auto both = fmt::format("{} and {}", inert(first.path), inert(other.path));
    for (const ShardFile* one : {&first, &other}) {
        const auto& by = one->json.at("program");
        if (by == program) continue;
        refuse_question("other-version",
                        fmt::format("{} was written by {}, this is {}", inert(one->path),
                                    inert(by.dump()), program),
                        "draw all shards with one version");
    }
    if (first.shard.of != other.shard.of) {
        refuse_question("shards-differ",
                        fmt::format("{}: one of {} shards, and one of {}", both, first.shard.of,
                                    other.shard.of),
                        "all shards of one question have the same number after the stroke");
    }
    for (const char* part : {"run", "study"}) {
        const Json &a = first.json.at(part), &b = other.json.at(part);
        if (a == b) continue;
        const std::string key = difference_of(a, b);
        refuse_question(
            "shards-differ",
            key == "study_files"
                ? fmt::format("{}: the files of the study are not the same", both)
                : fmt::format("{} belong to different runs: {} is not the same", both, inert(key)),
            "draw all shards from the same files with the same options");
    }
}

/// Figures are taken from a shard as they stand there: one that was edited must not pass.
void require_unchanged(const ShardFile& one) {
    if (one.json.at("shard").at("digest") == shard_digest(one.json)) return;
    refuse_question("shard-changed",
                    fmt::format("{} was changed after it was written: its digest does not fit",
                                inert(one.path)),
                    "draw the shard again");
}

/// The shards in the order of their parts.
std::vector<const ShardFile*> in_order(const std::vector<ShardFile>& shards) {
    std::vector<const ShardFile*> parts(shards.front().shard.of, nullptr);
    for (const ShardFile& one : shards) {
        const ShardFile*& place = parts[one.shard.part - 1];
        if (place != nullptr) {
            refuse_question("shard-twice",
                            fmt::format("{} and {} are both shard {} of {}", inert(place->path),
                                        inert(one.path), one.shard.part, one.shard.of),
                            "name each shard once");
        }
        place = &one;
    }
    std::vector<std::string> missing;
    for (std::size_t k = 0; k < parts.size(); ++k) {
        if (parts[k] == nullptr) missing.push_back(std::to_string(k + 1));
    }
    if (missing.empty()) return parts;
    if (missing.size() > 10) {
        missing.resize(10);
        missing.emplace_back("...");
    }
    refuse_question(
        "shard-missing",
        fmt::format("of {} shards these are missing: {}", parts.size(), fmt::join(missing, ", ")),
        "draw them, then merge all");
}

}  // namespace

UncertaintyReport merged_shards(const Files& files, const std::string& program) {
    constexpr std::uint32_t most_shards = 1'000'000;
    std::vector<ShardFile> shards;
    for (std::uint32_t file = 1; file <= files.count(); ++file)
        shards.push_back(read_shard(files.at(file)));
    if (shards.front().shard.of > most_shards)
        refuse_file(shards.front().path, "it counts more than a million shards");
    std::string reading;
    try {
        for (const ShardFile& one : shards) {
            reading = one.path;
            require_alike(shards.front(), one, program);
            require_unchanged(one);
        }
        UncertaintyReport report = head_of(shards.front().json);
        for (const ShardFile* one : in_order(shards)) {
            reading = one->path;
            for (const Json& row : one->json.at("results")) report.rows.push_back(row_of(row));
        }
        return report;
    } catch (const Json::exception& error) {
        refuse_file(reading, in_words(error));
    } catch (const std::invalid_argument& error) {
        refuse_file(reading, error.what());
    }
}

}  // namespace deckle
