#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <functional>

#include "engine/declaration/model.h"
#include "engine/study/disclosure.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr std::array disclosure_key_list{Key{"created", Need::required},
                                         Key{"company"},
                                         Key{"company_ids", Need::required},
                                         Key{"standards", Need::required},
                                         Key{"status"},
                                         Key{"valid"},
                                         Key{"region"},
                                         Key{"country"},
                                         Key{"subdivision"},
                                         Key{"sector_rules"},
                                         Key{"boundary"},
                                         Key{"land_use_method"},
                                         Key{"comment"},
                                         Key{"water_schema"},
                                         Key{"verification"},
                                         Key{"report"},
                                         Key{"products", Need::required}};
constexpr std::array sector_rules_key_list{Key{"operator", Need::required},
                                           Key{"names", Need::required}, Key{"other_operator"}};
constexpr std::array verification_key_list{Key{"coverage"},  Key{"provider", Need::required},
                                           Key{"completed"}, Key{"standard"},
                                           Key{"level"},     Key{"comments"}};
constexpr std::array declared_product_key_list{
    Key{"ids", Need::required}, Key{"unit"},      Key{"name"},           Key{"description"},
    Key{"classifications"},     Key{"preceding"}, Key{"changes"},        Key{"version"},
    Key{"earlier_report"},      Key{"use"},       Key{"recycled_carbon"}};
constexpr std::array report_key_list{Key{"contact"},
                                     Key{"goal"},
                                     Key{"boundary_reason"},
                                     Key{"stages"},
                                     Key{"data_collection"},
                                     Key{"assumptions"},
                                     Key{"timing"},
                                     Key{"land_use"},
                                     Key{"recycling"},
                                     Key{"data_quality"},
                                     Key{"improvements"},
                                     Key{"sensitivity"},
                                     Key{"uncertainty"},
                                     Key{"interpretation"},
                                     Key{"limitations"},
                                     Key{"forest"},
                                     Key{"use_and_end_of_life"},
                                     Key{"avoided_emissions"},
                                     Key{"displaced_emissions"},
                                     Key{"competence"},
                                     Key{"conflicts"},
                                     Key{"performance"},
                                     Key{"review"},
                                     Key{"confidentiality"},
                                     Key{"management"},
                                     Key{"wood"}};

const KeyTable disclosure_keys{"disclosure", disclosure_key_list};
const KeyTable sector_rules_keys{"sector_rules", sector_rules_key_list};
const KeyTable verification_keys{"verification", verification_key_list};
const KeyTable declared_product_keys{"declared_product", declared_product_key_list};
const KeyTable report_keys{"report", report_key_list};

using Fits = std::function<bool(std::string_view)>;

class DisclosureReader {
public:
    DisclosureReader(Disclosure& into, Problems& problems) : into_(into), problems_(problems) {}

    void read(const YamlEntry& entry, const std::string& owner) {
        const YamlValue& map = entry.value;
        into_.place = key_place(entry);
        if (!check_keys(map, disclosure_keys, into_.place, problems_)) return;
        read_head(map, owner);
        read_place(map);
        if (const YamlEntry* rules = map.entry("sector_rules")) read_sector_rules(*rules);
        if (const YamlEntry* verified = map.entry("verification")) read_verification(*verified);
        if (const YamlEntry* report = map.entry("report")) read_report(*report);
        if (const YamlEntry* products = map.entry("products")) read_products(*products);
    }

private:
    std::string text(const YamlValue& map, std::string_view key) {
        const YamlValue* value = map.find(key);
        return value == nullptr ? std::string{} : read_text(*value, key, problems_);
    }

    void read_head(const YamlValue& map, const std::string& owner) {
        into_.created = instant(map, "created");
        into_.company = map.find("company") == nullptr ? owner : text(map, "company");
        if (into_.company.empty())
            problems_.add(into_.place, "missing-key", "the one who declares has no name",
                          "company: NAME, or owner: NAME in the study");
        into_.company_ids = list(map, "company_ids", is_urn, urn_form);
        into_.standards = list(map, "standards", {}, {});
        const std::string_view states[] = {"active", "deprecated"};
        into_.active = word(map, "status", states) != "deprecated";
        into_.boundary = text(map, "boundary");
        into_.land_use_method = text(map, "land_use_method");
        into_.comment = text(map, "comment");
        into_.water_schema =
            checked(map, "water_schema", is_uri, "an address of the form https://...");
        if (const YamlValue* valid = map.find("valid")) {
            into_.valid = period_from(read_text(*valid, "valid", problems_));
            if (!into_.valid && valid->is_scalar() && !valid->text.empty())
                bad_form(*valid, "valid", "a period such as 2026-01-01 .. 2028-12-31");
        }
    }

    void read_place(const YamlValue& map) {
        into_.region = word(map, "region", declared_regions());
        const auto country = [](std::string_view text) { return fits_pattern("country", text); };
        const auto part = [](std::string_view text) { return fits_pattern("subdivision", text); };
        into_.country = checked(map, "country", country, "two capital letters (ISO 3166-1)");
        into_.subdivision =
            checked(map, "subdivision", part, "country, dash, part of it (ISO 3166-2)");
        const std::array given{map.entry("region"), map.entry("country"), map.entry("subdivision")};
        const YamlEntry* first = nullptr;
        for (const YamlEntry* one : given) {
            if (one == nullptr) continue;
            if (first != nullptr)
                problems_.add(key_place(*one), "several-places",
                              fmt::format("{} stands beside {}", one->key, first->key),
                              "keep the narrowest of region, country and subdivision alone",
                              {first->place});
            first = one;
        }
    }

    void read_sector_rules(const YamlEntry& entry) {
        for (const YamlValue& item : items(entry)) {
            const Place place = item.place.known() ? item.place : key_place(entry);
            if (!check_keys(item, sector_rules_keys, place, problems_)) continue;
            SectorRules rules{word(item, "operator", rule_operators()),
                              text(item, "other_operator"), list(item, "names", {}, {})};
            if ((rules.by == "Other") == rules.other_operator.empty())
                problems_.add(place, "other-operator",
                              "other_operator names the operator where it is Other, and only there",
                              "operator: Other, other_operator: NAME");
            into_.sector_rules.push_back(std::move(rules));
        }
    }

    void read_verification(const YamlEntry& entry) {
        const YamlValue& map = entry.value;
        if (!check_keys(map, verification_keys, key_place(entry), problems_)) return;
        into_.verification = Verification{word(map, "coverage", verification_coverages()),
                                          text(map, "provider"),
                                          text(map, "standard"),
                                          {},
                                          text(map, "comments"),
                                          instant(map, "completed")};
        const std::string_view levels[] = {"limited", "reasonable"};
        into_.verification->level = word(map, "level", levels);
    }

    void read_report(const YamlEntry& entry) {
        if (!check_keys(entry.value, report_keys, key_place(entry), problems_)) return;
        for (const YamlEntry& one : entry.value.entries)
            into_.report.emplace_back(one.key, read_text(one.value, one.key, problems_));
    }

    void read_products(const YamlEntry& entry) {
        if (!entry.value.is_map()) {
            if (entry.value.kind != YamlValue::Kind::nothing)
                problems_.add(key_place(entry), "not-a-mapping",
                              "products is a mapping of products to how they are declared",
                              "{bath_2ply: {ids: [urn:gtin:...]}}");
            return;
        }
        for (const YamlEntry& one : entry.value.entries) read_product(one);
    }

    void read_product(const YamlEntry& entry) {
        const YamlValue& map = entry.value;
        const Place place = key_place(entry);
        if (!check_keys(map, declared_product_keys, place, problems_)) return;
        DeclaredProduct product;
        product.of = entry.key;
        product.place = place;
        const std::string_view units[] = {"kilogram", "piece"};
        product.unit = word(map, "unit", units);
        const std::string_view uses[] = {"intermediate", "final"};
        product.use = word(map, "use", uses);
        product.ids = list(map, "ids", is_urn, urn_form);
        product.classifications = list(map, "classifications", is_urn, urn_form);
        product.preceding = list(map, "preceding", is_uuid, "a UUID without braces");
        product.name = text(map, "name");
        product.description = text(map, "description");
        product.changes = text(map, "changes");
        product.version = text(map, "version");
        product.earlier_report = text(map, "earlier_report");
        product.recycled_carbon = read_share(
            map, "recycled_carbon",
            fmt::format("disclosure.products.{}.recycled_carbon", entry.key), "40 %", problems_);
        into_.products.push_back(std::move(product));
    }

    const std::vector<YamlValue>& items(const YamlEntry& entry) {
        if (!entry.value.is_list() && entry.value.kind != YamlValue::Kind::nothing)
            problems_.add(key_place(entry), "not-a-list", fmt::format("{} is a list", entry.key),
                          "");
        return entry.value.items;
    }

    std::vector<std::string> list(const YamlValue& map, std::string_view key, const Fits& fits,
                                  std::string_view form) {
        std::vector<std::string> all;
        const YamlEntry* entry = map.entry(key);
        if (entry == nullptr) return all;
        for (const YamlValue& item : items(*entry)) {
            std::string one = read_text(item, key, problems_);
            if (!one.empty() && fits && !fits(one)) bad_form(item, key, form);
            if (std::ranges::find(all, one) != all.end())
                problems_.add(item.place, "named-twice", fmt::format("{} stands there twice", one),
                              "list each once");
            all.push_back(std::move(one));
        }
        if (entry->value.is_list() && all.empty())
            problems_.add(key_place(*entry), "empty-value", fmt::format("{} has no value", key),
                          "write the value, or leave the key out");
        return all;
    }

    std::string word(const YamlValue& map, std::string_view key,
                     std::span<const std::string_view> words) {
        const YamlValue* value = map.find(key);
        if (value == nullptr) return {};
        std::string typed = read_text(*value, key, problems_);
        if (!value->is_scalar() || typed.empty() || std::ranges::find(words, typed) != words.end())
            return typed;
        const std::vector<std::string> known(words.begin(), words.end());
        const std::string near = did_you_mean(typed, known);
        problems_.add(value->place, "unknown-word", fmt::format("{}: {} is not known", key, typed),
                      near.empty() ? fmt::format("{}", fmt::join(known, ", ")) : near);
        return typed;
    }

    std::string checked(const YamlValue& map, std::string_view key, const Fits& fits,
                        std::string_view form) {
        const YamlValue* value = map.find(key);
        if (value == nullptr) return {};
        std::string typed = read_text(*value, key, problems_);
        if (!typed.empty() && !fits(typed)) bad_form(*value, key, form);
        return typed;
    }

    std::optional<Instant> instant(const YamlValue& map, std::string_view key) {
        const YamlValue* value = map.find(key);
        if (value == nullptr) return std::nullopt;
        const std::string typed = read_text(*value, key, problems_);
        const auto found = instant_from(typed, true);
        if (!found && !typed.empty())
            bad_form(*value, key, "a date such as 2026-02-10, or a time 2026-02-10T09:30:00Z");
        return found;
    }

    void bad_form(const YamlValue& value, std::string_view key, std::string_view form) {
        problems_.add(value.place, "wrong-form",
                      fmt::format("{}: {} has not the form it needs", key, value.text),
                      std::string(form));
    }

    static constexpr std::string_view urn_form = "a name of the form urn:SPACE:NAME";
    Disclosure& into_;
    Problems& problems_;
};

}  // namespace

const DeclaredProduct* Disclosure::product(std::string_view of) const {
    const auto found =
        std::ranges::find_if(products, [&](const DeclaredProduct& p) { return p.of == of; });
    return found == products.end() ? nullptr : &*found;
}

std::string_view Disclosure::text(std::string_view heading) const {
    for (const auto& [key, text] : report) {
        if (key == heading) return text;
    }
    return {};
}

Disclosure read_disclosure(const YamlEntry& entry, const std::string& owner, Problems& problems) {
    Disclosure disclosure;
    DisclosureReader(disclosure, problems).read(entry, owner);
    return disclosure;
}

std::vector<const KeyTable*> disclosure_key_tables() {
    return {&disclosure_keys, &sector_rules_keys, &verification_keys, &declared_product_keys,
            &report_keys};
}

}  // namespace deckle
