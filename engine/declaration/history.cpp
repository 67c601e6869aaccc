// What several footprints say of each other.
#include <fmt/format.h>

#include <algorithm>

#include "engine/declaration/check.h"

namespace deckle {
namespace {

constexpr double least_change_told = 10.0;  // % against the preceding footprint

/// All but the status and the id, which is compared apart, in one text.
std::string fixed_part(const YamlValue& value, int depth = 0) {
    switch (value.kind) {
        case YamlValue::Kind::scalar:
            return fmt::format("{}{:?}", value.quoted ? 't' : 'b', value.text);
        case YamlValue::Kind::list: {
            std::string all = "[";
            for (const YamlValue& item : value.items) all += fixed_part(item, depth + 1) + ",";
            return all + "]";
        }
        case YamlValue::Kind::map: {
            std::vector<std::string> parts;
            for (const YamlEntry& entry : value.entries) {
                if ((depth == 0 && (entry.key == "status" || entry.key == "id")) ||
                    entry.value.kind == YamlValue::Kind::nothing)
                    continue;
                parts.push_back(
                    fmt::format("{:?}:{}", entry.key, fixed_part(entry.value, depth + 1)));
            }
            std::ranges::sort(parts);
            return fmt::format("{{{}}}", fmt::join(parts, ","));
        }
        case YamlValue::Kind::nothing: break;
    }
    return "-";
}

Problem history_problem(Severity severity, const Declared& one, std::string_view property,
                        std::string message, std::string hint) {
    const YamlValue* value = one.find(property);
    return {value == nullptr ? one.root->place : value->place,        severity,        "V-10",
            fmt::format("{}/{}: {}", one.pointer, property, message), std::move(hint), {}};
}

/// Which of two states of one footprint is the later no file says: a change of status may be the
/// one that is allowed.
void compare_same_id(const Declared& earlier, const Declared& later, std::vector<Problem>& out) {
    if (fixed_part(*earlier.root) != fixed_part(*later.root)) {
        out.push_back(history_problem(Severity::error, later, "id",
                                      "two different footprints have this id",
                                      "a change makes a new footprint with an id of its own"));
    }
}

void compare_with_predecessor(const Declared& earlier, const Declared& later,
                              std::vector<Problem>& out) {
    if (earlier.text("status") == "Active")
        out.push_back(history_problem(Severity::finding, earlier, "status",
                                      "active, although another footprint replaces it",
                                      "Deprecated"));
    const auto made_before = instant_from(earlier.text("created")),
               made = instant_from(later.text("created"));
    if (made_before && made && *made < *made_before)
        out.push_back(history_problem(Severity::error, later, "created",
                                      "made before the footprint that it replaces",
                                      "a successor is made later than what it replaces"));
    const auto before = earlier.number("pcf/pcfExcludingBiogenicUptake"),
               now = later.number("pcf/pcfExcludingBiogenicUptake"),
               amount_before = earlier.number("pcf/declaredUnitAmount"),
               amount_now = later.number("pcf/declaredUnitAmount");
    const bool comparable = before && now && amount_before && amount_now && before->sign() != 0 &&
                            amount_before->sign() > 0 && amount_now->sign() > 0 &&
                            earlier.text("pcf/declaredUnitOfMeasurement") ==
                                later.text("pcf/declaredUnitOfMeasurement");
    if (!comparable) return;
    const double old_value = before->value() / amount_before->value(),
                 change = 100.0 * (now->value() / amount_now->value() - old_value) /
                          (old_value < 0.0 ? -old_value : old_value);
    if (change > -least_change_told && change < least_change_told) return;
    out.push_back(history_problem(
        Severity::finding, later, "pcf/pcfExcludingBiogenicUptake",
        fmt::format("{:+.1f} % against the footprint before it", change),
        "10 % or more: the earlier one may no longer be used, and the comment says what changed"));
}

/// Whether a footprint names another as one that it replaces.
bool replaces(const Declared& later, const Declared& earlier) {
    const YamlValue* before = later.find("precedingPfIds");
    return before != nullptr && before->is_list() && !earlier.text("id").empty() &&
           std::ranges::any_of(before->items, [&](const YamlValue& id) {
               return id.is_scalar() && is_same_uuid(id.text, earlier.text("id"));
           });
}

/// Whether a footprint replaces itself over others, of which each replaces the next.
bool is_in_circle(std::span<const Declared> all, std::size_t start) {
    std::vector<std::size_t> reached{start};
    for (std::size_t i = 0; i < reached.size(); ++i) {
        for (std::size_t k = 0; k < all.size(); ++k) {
            if (k == reached[i] || !replaces(all[reached[i]], all[k])) continue;
            if (k == start) return true;
            if (std::ranges::find(reached, k) == reached.end()) reached.push_back(k);
        }
    }
    return false;
}

}  // namespace

std::vector<Problem> check_history(std::span<const Declared> all) {
    std::vector<Problem> out;
    for (std::size_t i = 0; i < all.size(); ++i) {
        for (std::size_t k = 0; k < all.size(); ++k) {
            if (i == k || all[i].text("id").empty()) continue;
            if (i < k && is_same_uuid(all[i].text("id"), all[k].text("id")))
                compare_same_id(all[i], all[k], out);
            if (replaces(all[k], all[i])) compare_with_predecessor(all[i], all[k], out);
        }
        if (is_in_circle(all, i)) {
            Problem circle = history_problem(Severity::error, all[i], "precedingPfIds",
                                             "it replaces itself, over others that replace each "
                                             "other",
                                             "the ids of earlier footprints only");
            circle.code = "V-11";
            out.push_back(std::move(circle));
        }
    }
    return out;
}

}  // namespace deckle
