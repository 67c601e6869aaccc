#include "engine/declaration/schema_check.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/declaration/forms.h"
#include "engine/declaration/model.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

class SchemaCheck {
public:
    explicit SchemaCheck(std::vector<Problem>& problems) : problems_(problems) {}

    void check_object(const YamlValue& map, std::span<const PropertyRow> rows,
                      const std::string& pointer) {
        for (const PropertyRow& row : rows) {
            const YamlValue* value = map.find(row.name);
            const std::string at = fmt::format("{}/{}", pointer, row.name);
            if (is_stated(value)) check_value(*value, row, at);
            else report_missing(map, row, at);
        }
        for (const YamlEntry& entry : map.entries) {
            if (std::ranges::find(rows, entry.key, &PropertyRow::name) != rows.end()) continue;
            std::vector<std::string> names;
            for (const PropertyRow& row : rows) names.emplace_back(row.name);
            say(Severity::finding, entry.place, "property-unknown",
                fmt::format("{}/{}: the model has no such property", pointer, entry.key),
                did_you_mean(entry.key, names));
        }
    }

    void report_missing(const YamlValue& map, const PropertyRow& row, const std::string& at) {
        if (row.required) {
            return say(Severity::error, map.place, "property-missing",
                       fmt::format("{} is missing", at), "the schema requires it");
        }
        if (row.asked == Asked::always) {
            say(Severity::finding, map.place, "property-expected",
                fmt::format("{} is not stated: {}", at, row.what),
                "the reporting rules expect it of every footprint");
        } else if (row.asked == Asked::from_2027) {
            say(Severity::finding, map.place, "property-expected",
                fmt::format("{} is not stated", at), "expected from 31 December 2027");
        }
    }

    void check_value(const YamlValue& value, const PropertyRow& row, const std::string& at) {
        if (!row.list) return check_one(value, row, at);
        if (!value.is_list()) return wrong_type(value, at, "a list");
        if (value.items.empty())
            return say(Severity::error, value.place, "property-list",
                       fmt::format("{} is an empty list", at),
                       "leave it out, or list one thing at least");
        for (std::size_t i = 0; i < value.items.size(); ++i) {
            check_one(value.items[i], row, fmt::format("{}/{}", at, i));
            for (std::size_t k = 0; k < i; ++k) {
                if (value.items[i].is_scalar() && value.items[k].is_scalar() &&
                    is_same(value.items[i].text, value.items[k].text, row.form))
                    say(Severity::error, value.items[i].place, "property-list",
                        fmt::format("{}/{}: {} stands there twice", at, i, value.items[i].text),
                        "list each once");
            }
        }
    }

    static bool is_same(const std::string& a, const std::string& b, Form form) {
        return form == Form::uuid ? is_same_uuid(a, b) : a == b;
    }

    void check_one(const YamlValue& value, const PropertyRow& row, const std::string& at) {
        switch (row.form) {
            case Form::object:
                if (!value.is_map()) return wrong_type(value, at, "an object");
                return check_object(value, row.inside, at);
            case Form::free_object:
                if (!value.is_map()) wrong_type(value, at, "an object");
                return;
            case Form::yes_or_no:
                if (!value.is_scalar() || value.quoted ||
                    (value.text != "true" && value.text != "false"))
                    wrong_type(value, at, "true or false");
                return;
            default: break;
        }
        if (!value.is_scalar() || !value.quoted)
            return wrong_type(value, at, "a text in double quotes");
        check_text(value, row, at);
    }

    void check_text(const YamlValue& value, const PropertyRow& row, const std::string& at) {
        const std::string& text = value.text;
        switch (row.form) {
            case Form::filled_text:
                if (text.empty()) wrong_form(value, at, "a text that is not empty");
                return;
            case Form::uuid:
                if (!is_uuid(text)) wrong_form(value, at, "a UUID without braces");
                return;
            case Form::urn:
                if (!is_urn(text)) wrong_form(value, at, "a name of the form urn:SPACE:NAME");
                return;
            case Form::uri:
                if (!is_uri(text)) wrong_form(value, at, "an address of the form SCHEME:REST");
                return;
            case Form::instant:
                if (!instant_from(text))
                    wrong_form(value, at, "a time in UTC such as 2026-01-01T00:00:00Z");
                return;
            case Form::word: return check_word(value, row, at);
            case Form::pattern:
                if (!fits_pattern(row.pattern, text)) wrong_form(value, at, form_of(row.pattern));
                return;
            case Form::number:
            case Form::positive:
            case Form::not_negative:
            case Form::not_positive: return check_number(value, row.form, at);
            default: return;
        }
    }

    static std::string_view form_of(std::string_view pattern) {
        if (pattern == "version") return "a version such as 2.0.0";
        if (pattern == "dated version") return "a version such as 3.0.3";
        if (pattern == "country") return "two capital letters (ISO 3166-1)";
        if (pattern == "subdivision")
            return "country, dash, one to three capitals or digits (ISO 3166-2)";
        return "AR and the number of an IPCC report, such as AR6";
    }

    void check_word(const YamlValue& value, const PropertyRow& row, const std::string& at) {
        if (std::ranges::find(row.words, value.text) != row.words.end()) return;
        const std::vector<std::string> known(row.words.begin(), row.words.end());
        const std::string near = did_you_mean(value.text, known);
        say(Severity::error, value.place, "property-word",
            fmt::format("{}: \"{}\" is not one of its words", at, value.text),
            near.empty() ? fmt::format("{}", fmt::join(known, ", ")) : near);
    }

    /// The sign is read from the number: the printed patterns let some of the other sign pass.
    void check_number(const YamlValue& value, Form form, const std::string& at) {
        const auto number = Exact::from(value.text);
        if (!number)
            return wrong_form(value, at,
                              "a decimal: digits, a point between digits, no exponent, no spaces");
        // a minus is no form of what is not negative, nor a plus of what is not positive, even of 0
        const bool signed_otherwise = form == Form::not_positive
                                          ? value.text.starts_with('+')
                                          : form != Form::number && value.text.starts_with('-');
        const int sign = number->sign();
        if (sign == 0 && signed_otherwise && form != Form::positive)
            return wrong_form(value, at, "a decimal of that form: \"0\" has no sign here");
        const bool fits = form == Form::number || (form == Form::positive && sign > 0) ||
                          (form == Form::not_negative && sign >= 0) ||
                          (form == Form::not_positive && sign <= 0);
        if (fits) return;
        say(Severity::error, value.place, "property-sign",
            fmt::format("{}: {} has the wrong sign", at, value.text),
            form == Form::positive       ? "above zero"
            : form == Form::not_negative ? "zero or above"
                                         : "zero or below");
    }

    void wrong_type(const YamlValue& value, const std::string& at, std::string_view expected) {
        say(Severity::error, value.place, "property-type",
            fmt::format(
                "{} is {}, not {}", at,
                value.is_scalar()
                    ? (value.quoted ? "a text" : fmt::format("the bare word {}", value.text))
                : value.is_list() ? "a list"
                                  : "an object",
                expected),
            {});
    }

    void wrong_form(const YamlValue& value, const std::string& at, std::string_view expected) {
        say(Severity::error, value.place, "property-form",
            fmt::format("{}: \"{}\" is not {}", at, value.text, expected), {});
    }

private:
    void say(Severity severity, Place where, std::string code, std::string message,
             std::string hint) {
        problems_.push_back(
            {where, severity, std::move(code), std::move(message), std::move(hint), {}});
    }

    std::vector<Problem>& problems_;
};

}  // namespace

void check_schema(const Declared& one, std::vector<Problem>& problems) {
    SchemaCheck(problems).check_object(*one.root, footprint_rows(), one.pointer);
}

}  // namespace deckle
