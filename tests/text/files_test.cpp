// Texts that can be read and bytes that cannot: UTF-8 by RFC 3629, sizes, folders, places.
#include <catch2/catch.hpp>

#include <filesystem>
#include <fstream>
#include <random>

#include "engine/text/files.h"
#include "engine/text/problem.h"

namespace {

using namespace deckle;
namespace fs = std::filesystem;

/// What adding a text reports; no problem when it is taken.
std::vector<Problem> adding(const std::string& text) {
    Files files;
    try {
        files.add("x.yaml", text);
    } catch (const InputError& error) {
        return error.problems;
    }
    return {};
}

std::vector<Problem> reading(const std::string& path) {
    Files files;
    try {
        files.read(path);
    } catch (const InputError& error) {
        return error.problems;
    }
    return {};
}

class Folder {
public:
    Folder()
        : path(fs::temp_directory_path() /
               ("deckle_text_" + std::to_string(std::random_device{}()))) {
        fs::create_directory(path);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    ~Folder() {
        std::error_code ignored;
        fs::remove_all(path, ignored);
    }
    fs::path path;
};

}  // namespace

TEST_CASE("files: the sequences of RFC 3629, 4, and no others", "[text]") {
    // first and last of each row of its grammar
    for (const char* good :
         {"\x7E", "\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xE1\x80\x80", "\xEC\xBF\xBF",
          "\xED\x80\x80", "\xED\x9F\xBF", "\xEE\x80\x80", "\xEF\xBF\xBF", "\xF0\x90\x80\x80",
          "\xF3\xBF\xBF\xBF", "\xF4\x80\x80\x80", "\xF4\x8F\xBF\xBF"}) {
        CAPTURE(good);
        CHECK(adding(std::string("a: ") + good).empty());
    }
    // its security considerations (10): overlong forms, surrogates, beyond U+10FFFF; cut sequences
    for (const char* bad :
         {"\x80", "\xBF", "\xC0\x80", "\xC1\xBF", "\xC2", "\xC2\x41", "\xE0\x80\x80",
          "\xE0\x9F\xBF", "\xED\xA0\x80", "\xED\xBF\xBF", "\xE2\x82", "\xF0\x80\x80\x80",
          "\xF0\x8F\xBF\xBF", "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xFE", "\xFF"}) {
        CAPTURE(bad);
        const auto problems = adding(std::string("a: ") + bad);
        REQUIRE(problems.size() == 1);
        CHECK(problems[0].code == "not-utf8");
        CHECK(problems[0].where.line == 1);
        CHECK(problems[0].where.column == 4);
        CHECK(problems[0].message.starts_with("byte 0x"));
    }
}

TEST_CASE("files: Latin-1 is named with line, column and byte", "[text]") {
    const auto problems = adding("a: 1\ntitle: F\xFCllstoff\n");  // ü is 0xFC in ISO 8859-1
    REQUIRE(problems.size() == 1);
    CHECK(problems[0].code == "not-utf8");
    CHECK(problems[0].where.line == 2);
    CHECK(problems[0].where.column == 9);
    CHECK(problems[0].message == "byte 0xfc is not UTF-8");
    CHECK(problems[0].hint.find("Latin-1") != std::string::npos);
}

TEST_CASE("files: control characters and other encodings are no text", "[text]") {
    for (const std::string& bad :
         {std::string("a: \x01"), std::string("a: \0", 4), std::string("a: \x1b[1m"),
          std::string("a: \x7f"), std::string("a\0:\0 \0", 6)}) {
        const auto problems = adding(bad);
        REQUIRE(problems.size() == 1);
        CHECK(problems[0].code == "binary-file");
    }
    CHECK(adding("\xFF\xFE"
                 "a")
              .at(0)
              .code == "not-utf8");  // UTF-16 with its byte order mark
    CHECK(adding("a:\t1\r\nb: 2\n").empty());
}

TEST_CASE("files: one byte order mark is taken off, at the start only", "[text]") {
    Files files;
    files.add("x",
              "\xEF\xBB\xBF"
              "a: 1\n");
    CHECK(files.at(1).text == "a: 1\n");
    files.add("y", "\xEF\xBB\xBF");
    CHECK(files.at(2).text.empty());
}

TEST_CASE("files: a line and its place, with and without a last line end", "[text]") {
    Files files;
    files.add("x.yaml", "one\r\n\nthree");
    CHECK(files.line({1, 1, 1, 1}) == "one");
    CHECK(files.line({1, 2, 1, 1}).empty());
    CHECK(files.line({1, 3, 1, 1}) == "three");
    CHECK(files.line({1, 4, 1, 1}).empty());
    CHECK(files.line({}).empty());
    CHECK(files.where({1, 3, 2, 1}) == "x.yaml:3:2");
    CHECK(files.where({1, 0, 0, 0}) == "x.yaml");
    CHECK(files.where({}).empty());
}

TEST_CASE("files: what is missing, a folder, a device or too large is refused unread", "[text]") {
    const Folder folder;
    CHECK(reading(folder.path / "none.yaml").at(0).code == "missing-file");
    CHECK(reading(folder.path).at(0).code == "not-a-file");
    CHECK(reading("/dev/zero").at(0).code == "not-a-file");
    fs::create_symlink(folder.path / "round.yaml", folder.path / "round.yaml");
    CHECK(reading(folder.path / "round.yaml").at(0).code == "unreadable-file");
    const fs::path large = folder.path / "large.yaml";
    std::ofstream(large) << "a: 1\n";
    constexpr std::uintmax_t mib = 1024 * 1024;
    fs::resize_file(large, 100 * mib);  // sparse: takes no room
    const auto problems = reading(large);
    REQUIRE(problems.size() == 1);
    CHECK(problems[0].code == "file-too-large");
    fs::resize_file(large, 64 * mib);  // as large as allowed, but full of zeros
    CHECK(reading(large).at(0).code == "binary-file");
}

TEST_CASE("files: one path is read once", "[text]") {
    const Folder folder;
    const std::string path = folder.path / "x.yaml";
    std::ofstream(path) << "a: 1\n";
    Files files;
    CHECK(files.read(path) == 1);
    std::ofstream(path) << "a: 2\n";
    CHECK(files.read(path) == 1);
    CHECK(files.at(1).text == "a: 1\n");
    CHECK(files.count() == 1);
}

TEST_CASE("files: held in memory they are all there is, and keep their byte order mark", "[text]") {
    Files files;
    files.read_only_from({{"a.yaml", "\xEF\xBB\xBFx: 1\n"}, {"b.yaml", "y: 2\n"}});
    CHECK(files.at(files.read("a.yaml")).text == "x: 1\n");
    CHECK(files.bytes_of(1) == "\xEF\xBB\xBFx: 1\n");
    CHECK(files.bytes_of(files.read("b.yaml")) == "y: 2\n");
    CHECK(files.read("a.yaml") == 1);
    CHECK_THROWS_AS(files.read("/etc/hostname"), InputError);
    CHECK(files.count() == 2);
}
