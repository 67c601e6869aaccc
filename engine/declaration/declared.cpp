#include "engine/declaration/declared.h"

#include <fmt/format.h>

namespace deckle {
namespace {

constexpr int standing_validity =
    3;  // years from the end of the period, where none is stated (V-09)

}  // namespace

bool is_stated(const YamlValue* value) {
    return value != nullptr && value->kind != YamlValue::Kind::nothing;
}

const YamlValue* Declared::find(std::string_view property) const {
    const YamlValue* value = root;
    while (!property.empty() && value != nullptr) {
        const std::size_t slash = property.find('/');
        const std::string_view key = property.substr(0, slash);
        if (value->is_list()) {
            std::size_t index = 0;
            for (const char c : key) index = index * 10 + static_cast<std::size_t>(c - '0');
            value = index < value->items.size() ? &value->items[index] : nullptr;
        } else {
            value = value->find(key);
        }
        property =
            slash == std::string_view::npos ? std::string_view{} : property.substr(slash + 1);
    }
    return is_stated(value) ? value : nullptr;
}

std::string Declared::text(std::string_view property) const {
    const YamlValue* value = find(property);
    return value != nullptr && value->is_scalar() ? value->text : std::string{};
}

std::optional<Exact> Declared::number(std::string_view property) const {
    const YamlValue* value = find(property);
    return value != nullptr && value->is_scalar() && value->quoted ? Exact::from(value->text)
                                                                   : std::nullopt;
}

bool Declared::is_version_2() const { return text("specVersion").starts_with("2."); }

std::vector<Declared> declared_in(const YamlValue& root) {
    const YamlValue* data = root.find("data");
    const bool wrapped = data != nullptr && root.find("pcf") == nullptr;
    const YamlValue& inside = wrapped ? *data : root;
    const std::string_view pointer = wrapped ? "/data" : "";
    if (!inside.is_list()) return {{&inside, std::string(pointer)}};
    std::vector<Declared> all;
    for (std::size_t i = 0; i < inside.items.size(); ++i)
        all.push_back({&inside.items[i], fmt::format("{}/{}", pointer, i)});
    return all;
}

std::optional<Period> validity_of(const Declared& one) {
    const auto from = instant_from(one.text("validityPeriodStart")),
               to = instant_from(one.text("validityPeriodEnd"));
    if (from && to) return Period{*from, *to};
    const auto end = instant_from(one.text("pcf/referencePeriodEnd"));
    if (!end) return std::nullopt;
    return Period{*end, years_later(*end, standing_validity)};
}

}  // namespace deckle
