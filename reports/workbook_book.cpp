#include "reports/workbook_book.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <stdlib.h>
#include <unistd.h>
#include <zlib.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <iterator>
#include <stdexcept>

#include "engine/text/number_text.h"
#include "engine/text/problem.h"
#include "reports/inert.h"

namespace deckle {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t longest_text = 32'000;    ///< of a cell; the format ends at 32,767
constexpr std::time_t made_on = 1'577'836'800;  ///< 2020-01-01: same study, same bytes
constexpr std::uint8_t a3 = 8, a4 = 9;          // ECMA-376-1, 18.3.1.63

lxw_row_t as_row(std::size_t row) { return static_cast<lxw_row_t>(row); }
lxw_col_t as_column(std::size_t column) { return static_cast<lxw_col_t>(column); }

[[noreturn]] void refuse_temporary(const fs::path& folder, std::string_view why) {
    throw InputError({Problem{{},
                              Severity::error,
                              "cannot-write",
                              fmt::format("cannot write the workbook's temporary files in {}: {}",
                                          inert(folder.string()), why),
                              "make room there, or name another folder in TMPDIR",
                              {}}});
}

/// Closes a workbook without the library's own words on standard error: what fails is refused with
/// ours.
lxw_error close_quietly(lxw_workbook* book) {
    std::fflush(stderr);
    const int kept = ::dup(STDERR_FILENO), nowhere = ::open("/dev/null", O_WRONLY | O_CLOEXEC);
    if (kept >= 0 && nowhere >= 0) ::dup2(nowhere, STDERR_FILENO);
    const lxw_error outcome = workbook_close(book);
    std::fflush(stderr);
    if (kept >= 0 && nowhere >= 0) ::dup2(kept, STDERR_FILENO);
    if (kept >= 0) ::close(kept);
    if (nowhere >= 0) ::close(nowhere);
    return outcome;
}

bool is_hexadecimal(char c) { return std::isxdigit(static_cast<unsigned char>(c)) != 0; }

/// `_x0041_` stands for a character in the files' texts (ECMA-376-1, 22.9.2.19): what only looks
/// so keeps its letters.
std::string kept_letters(std::string text) {
    for (std::size_t at = 0; (at = text.find("_x", at)) != std::string::npos; at += 2) {
        if (at + 6 >= text.size() || text[at + 6] != '_') continue;
        if (!std::all_of(text.begin() + static_cast<std::ptrdiff_t>(at) + 2,
                         text.begin() + static_cast<std::ptrdiff_t>(at) + 6, is_hexadecimal))
            continue;
        text.replace(at, 1, "_x005F_");
        at += 6;
    }
    return text;
}

/// U+FFFE and U+FFFF are in no XML text.
std::string without_noncharacters(std::string text) {
    for (const std::string_view one : {"\xEF\xBF\xBE", "\xEF\xBF\xBF"}) {
        for (std::size_t at = 0; (at = text.find(one, at)) != std::string::npos;)
            text.replace(at, one.size(), "\xEF\xBF\xBD");
    }
    return text;
}

std::string cell_text(std::string_view text) {
    return kept_letters(without_noncharacters(inert(cut_to(text, longest_text))));
}

/// So many significant digits as a number format; whole groups of three from a thousand on.
std::string number_format_of(double value, int digits) {
    const double size = std::abs(value);
    if (size == 0.0) return "General";  // what a change makes of it is shown
    if (size < 1e-5 || size >= 1e12)
        return "0." + std::string(static_cast<std::size_t>(digits - 1), '0') + "E+00";
    const int before = static_cast<int>(std::floor(std::log10(size)));
    const int decimals = std::max(0, digits - 1 - before);
    const std::string whole = "#,##0";
    return decimals == 0 ? whole
                         : whole + "." + std::string(static_cast<std::size_t>(decimals), '0');
}

// --- the archive, read back: the library does not see when a temporary file could not be written

std::uint32_t little(std::string_view bytes, std::size_t at, std::size_t count) {
    std::uint32_t value = 0;
    for (std::size_t i = 0; i < count; ++i) {
        if (at + i >= bytes.size()) return 0;
        value |= static_cast<std::uint32_t>(static_cast<unsigned char>(bytes[at + i])) << (8 * i);
    }
    return value;
}

/// The inside of an entry of a zip archive; empty when it cannot be read.
std::string unpacked(std::string_view packed, std::size_t size) {
    std::string text(size, '\0');
    z_stream stream{};
    if (inflateInit2(&stream, -MAX_WBITS) != Z_OK) return {};
    stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed.data()));  // NOLINT
    stream.avail_in = static_cast<uInt>(packed.size());
    stream.next_out = reinterpret_cast<Bytef*>(text.data());
    stream.avail_out = static_cast<uInt>(size);
    const int outcome = inflate(&stream, Z_FINISH);
    inflateEnd(&stream);
    return outcome == Z_STREAM_END ? text : std::string();
}

/// Ends with the closing tag of its first element.
bool is_whole_xml(std::string_view text) {
    std::size_t at = text.find('<');
    if (text.substr(at == std::string_view::npos ? 0 : at).starts_with("<?"))
        at = text.find('<', at + 1);
    if (at == std::string_view::npos) return false;
    const std::size_t end = text.find_first_of(" />\n", at + 1);
    if (end == std::string_view::npos) return false;
    const std::string_view name = text.substr(at + 1, end - at - 1);
    const std::size_t last = text.find_last_not_of('\n');
    const std::string_view whole = text.substr(0, last + 1);
    return whole.ends_with(fmt::format("</{}>", name)) ||
           (whole.ends_with("/>") && whole.find('<', end) == std::string_view::npos);
}

bool is_whole_archive(std::string_view bytes) {
    const std::size_t end = bytes.rfind(std::string_view("PK\5\6", 4));
    if (end == std::string_view::npos) return false;
    std::size_t at = little(bytes, end + 16, 4);
    const std::uint32_t entries = little(bytes, end + 10, 2);
    for (std::uint32_t k = 0; k < entries; ++k) {
        if (at + 46 > bytes.size()) return false;
        const std::size_t packed = little(bytes, at + 20, 4), size = little(bytes, at + 24, 4);
        const std::size_t local = little(bytes, at + 42, 4);
        const std::size_t data =
            local + 30 + little(bytes, local + 26, 2) + little(bytes, local + 28, 2);
        if (data + packed > bytes.size()) return false;
        if (!is_whole_xml(unpacked(bytes.substr(data, packed), size))) return false;
        at +=
            46 + little(bytes, at + 28, 2) + little(bytes, at + 30, 2) + little(bytes, at + 32, 2);
    }
    return entries > 0;
}

}  // namespace

std::string column_letters(std::size_t column) {
    std::string letters;
    for (std::size_t rest = column + 1; rest > 0; rest = (rest - 1) / 26)
        letters.insert(letters.begin(), static_cast<char>('A' + (rest - 1) % 26));
    return letters;
}

std::string cell_name(std::size_t row, std::size_t column, bool fixed) {
    return fixed ? fmt::format("${}${}", column_letters(column), row + 1)
                 : fmt::format("{}{}", column_letters(column), row + 1);
}

std::string range_name(std::size_t row, std::size_t column, std::size_t last_row,
                       std::size_t last_column) {
    return cell_name(row, column, true) + ":" + cell_name(last_row, last_column, true);
}

std::string formula_number(double value) {
    std::string text = shortest(value);
    std::ranges::replace(text, 'e', 'E');
    return text;
}

Book::Book(const std::string& title) {
    std::error_code error;
    const fs::path parent = fs::temp_directory_path(error);
    if (error) refuse_temporary(parent, error.message());
    std::string name = (parent / "deckle-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) refuse_temporary(parent, std::strerror(errno));
    folder_ = name;
    folder_name_ = name;
    file_ = (folder_ / "workbook.xlsx").string();
    lxw_workbook_options options{};
    options.tmpdir = folder_name_.data();
    book_ = workbook_new_opt(file_.c_str(), &options);
    if (book_ == nullptr) throw std::runtime_error("no memory for a workbook");
    std::string shown = cell_text(title);
    lxw_doc_properties properties{};
    properties.title = shown.data();
    properties.created = made_on;
    workbook_set_properties(book_, &properties);
}

Book::~Book() {
    if (book_ != nullptr) close_quietly(book_);  // an error is on its way already
    std::error_code ignored;
    if (!folder_.empty()) fs::remove_all(folder_, ignored);
}

BookSheet Book::add(const std::string& name, bool wide) {
    lxw_worksheet* sheet = workbook_add_worksheet(book_, name.c_str());
    if (sheet == nullptr) throw std::logic_error("a workbook refuses the sheet " + name);
    worksheet_set_landscape(sheet);
    worksheet_set_paper(sheet, wide ? a3 : a4);
    worksheet_fit_to_pages(sheet, 1, 0);
    worksheet_set_margins(sheet, 0.5, 0.5, 0.6, 0.6);
    worksheet_set_footer(sheet, "&L&A&Rpage &P of &N");
    return {*this, sheet};
}

void Book::define(const std::string& name, const std::string& range) {
    workbook_define_name(book_, name.c_str(), ("=" + range).c_str());
}

std::string Book::bytes() {
    lxw_workbook* const book = std::exchange(book_, nullptr);
    const lxw_error outcome = close_quietly(book);
    if (outcome != LXW_NO_ERROR) refuse_temporary(folder_.parent_path(), lxw_strerror(outcome));
    std::ifstream file(file_, std::ios::binary);
    std::string bytes((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
    if (!file || !is_whole_archive(bytes))
        refuse_temporary(folder_.parent_path(), "they did not become whole");
    return bytes;
}

lxw_format* Book::new_format(CellLook look, const std::string& number_format) {
    constexpr lxw_color_t line = 0x9AA5B1, ground = 0xE8EDF2, may_change = 0xFFF6D6;
    lxw_format* format = workbook_add_format(book_);
    format_set_num_format(format, number_format.c_str());
    format_set_align(format, LXW_ALIGN_VERTICAL_TOP);
    if (look == CellLook::wrapped || look == CellLook::head) format_set_text_wrap(format);
    if (look == CellLook::head || look == CellLook::title || look == CellLook::strong)
        format_set_bold(format);
    if (look == CellLook::title) format_set_font_size(format, 15);
    if (look == CellLook::head) {
        format_set_bg_color(format, ground);
        format_set_bottom(format, LXW_BORDER_THIN);
        format_set_bottom_color(format, line);
    }
    if (look == CellLook::unit) format_set_indent(format, 1);
    if (look == CellLook::left_number) format_set_align(format, LXW_ALIGN_LEFT);
    if (look == CellLook::input) {
        format_set_bg_color(format, may_change);
        format_set_border(format, LXW_BORDER_THIN);
        format_set_border_color(format, line);
        format_set_unlocked(format);
    }
    return format;
}

lxw_format* Book::format(CellLook look, double value, int digits) {
    std::string number_format = "@";  // a text stays one when its cell is edited
    if (look == CellLook::number || look == CellLook::strong)
        number_format = number_format_of(value, digits);
    if (look == CellLook::input) number_format = "General";
    if (look == CellLook::percent) number_format = "0.0";
    if (look == CellLook::left_number || look == CellLook::exponent) number_format = "0.0E+00";
    auto& format = formats_[{look, number_format}];
    if (format == nullptr) format = new_format(look, number_format);
    return format;
}

void BookSheet::text(std::size_t row, std::size_t column, std::string_view text, CellLook look) {
    if (text.empty() && look != CellLook::head) return;
    lxw_format* format =
        look == CellLook::strong ? book_->formats_[{look, "@"}] : book_->format(look, 0.0, 1);
    if (format == nullptr) format = book_->formats_[{look, "@"}] = book_->new_format(look, "@");
    const lxw_error outcome = worksheet_write_string(sheet_, as_row(row), as_column(column),
                                                     cell_text(text).c_str(), format);
    if (outcome != LXW_NO_ERROR) throw std::logic_error(lxw_strerror(outcome));
}

void BookSheet::number(std::size_t row, std::size_t column, double value, CellLook look,
                       int digits) {
    worksheet_write_number(sheet_, as_row(row), as_column(column), value,
                           book_->format(look, value, digits));
}

void BookSheet::formula(std::size_t row, std::size_t column, const std::string& formula,
                        double value, CellLook look, int digits) {
    if (formula.size() >= longest_formula)
        throw std::logic_error("a formula of a workbook is too long");
    worksheet_write_formula_num(sheet_, as_row(row), as_column(column), ("=" + formula).c_str(),
                                book_->format(look, value, digits), value);
}

void BookSheet::text_formula(std::size_t row, std::size_t column, const std::string& formula,
                             const std::string& value) {
    worksheet_write_formula_str(sheet_, as_row(row), as_column(column), ("=" + formula).c_str(),
                                nullptr, value.c_str());
}

void BookSheet::array(std::size_t row, std::size_t column, std::size_t rows, std::size_t columns,
                      const std::string& formula, std::span<const double> values) {
    worksheet_write_array_formula_num(sheet_, as_row(row), as_column(column),
                                      as_row(row + rows - 1), as_column(column + columns - 1),
                                      ("{=" + formula + "}").c_str(),
                                      book_->format(CellLook::number, values[0], 6), values[0]);
    for (std::size_t k = 1; k < values.size(); ++k)  // what the other cells of the range come to
        number(row + k / columns, column + k % columns, values[k], CellLook::number, 6);
}

void BookSheet::heads(std::size_t row, std::span<const std::string_view> texts) {
    for (std::size_t k = 0; k < texts.size(); ++k) text(row, k, texts[k], CellLook::head);
}

void BookSheet::widths(std::initializer_list<double> characters) {
    std::size_t column = 0;
    for (const double one : characters) width(column++, 1, one);
}

void BookSheet::width(std::size_t first, std::size_t count, double characters) {
    if (count == 0) return;
    worksheet_set_column(sheet_, as_column(first), as_column(first + count - 1), characters,
                         nullptr);
}

void BookSheet::height(std::size_t row, double points) {
    worksheet_set_row(sheet_, as_row(row), points, nullptr);
}

void BookSheet::freeze(std::size_t rows, std::size_t columns) {
    worksheet_freeze_panes(sheet_, as_row(rows), as_column(columns));
    if (rows > 0) worksheet_repeat_rows(sheet_, 0, as_row(rows - 1));
}

void BookSheet::filter(std::size_t first_row, std::size_t last_row, std::size_t last_column) {
    worksheet_autofilter(sheet_, as_row(first_row), 0, as_row(last_row), as_column(last_column));
}

}  // namespace deckle
