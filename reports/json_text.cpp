#include "reports/json_text.h"

#include "engine/text/number_text.h"
#include "reports/inert.h"

namespace deckle {
namespace {

std::string quoted(const std::string& text) { return '"' + json_escaped(text) + '"'; }

bool is_plain_list(const Json& value) {
    for (const auto& item : value) {
        if (item.is_structured()) return false;
    }
    return true;
}

bool fits_a_line(const Json& value) {
    if (value.is_array()) return is_plain_list(value);
    for (const auto& inner : value) {
        if (inner.is_structured() && !fits_a_line(inner)) return false;
    }
    return true;
}

class JsonPrinter {
public:
    void write(const Json& value, std::size_t depth) {
        if (value.is_object()) write_items(value, depth, '{', '}');
        else if (value.is_array()) write_items(value, depth, '[', ']');
        else if (value.is_number_float()) text_ += shortest(value.get<double>());
        else if (value.is_string()) text_ += quoted(value.get_ref<const std::string&>());
        else text_ += value.dump();
    }

    [[nodiscard]] std::string text() && { return std::move(text_) + '\n'; }

private:
    void write_items(const Json& value, std::size_t depth, char open, char close) {
        const bool one_line = depth > 0 && fits_a_line(value);
        text_ += open;
        bool first = true;
        for (const auto& [key, inner] : value.items()) {
            if (!first) text_ += one_line ? ", " : ",";
            if (!one_line) new_line(depth + 1);
            if (value.is_object()) text_ += quoted(key) + ": ";
            write(inner, depth + 1);
            first = false;
        }
        if (!one_line && !value.empty()) new_line(depth);
        text_ += close;
    }

    void new_line(std::size_t depth) {
        text_ += '\n';
        text_.append(2 * depth, ' ');
    }

    std::string text_;
};

}  // namespace

std::string json_text(const Json& value) {
    JsonPrinter writer;
    writer.write(value, 0);
    return std::move(writer).text();
}

}  // namespace deckle
