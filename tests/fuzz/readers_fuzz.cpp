// Any bytes through the readers of tables, mills and products: they report problems or give
// structs, and never crash, hang or throw anything but InputError. Seeds: the shipped files.
#include <cstddef>
#include <cstdint>
#include <string>

#include "engine/mill/mill.h"
#include "engine/product/product.h"
#include "engine/tables/factor.h"
#include "engine/text/problem.h"

namespace {

using namespace deckle;

void read_as_everything(const std::string& text) {
    Files files;
    Problems problems;
    try {
        const std::uint32_t yaml = files.add("seed.yaml", text);
        const std::uint32_t csv = files.add("seed.csv", text);
        Tables tables;
        read_table_file(files, yaml, tables, problems);
        (void)read_mill(files, yaml, problems);
        const std::uint32_t both[] = {yaml, csv};
        (void)read_products(files, both, problems);
        problems.throw_if_any();
    } catch (const InputError& error) {
        (void)problems_text(error.problems, files);
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    read_as_everything(std::string(reinterpret_cast<const char*>(data), size));
    return 0;
}
