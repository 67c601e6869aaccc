// Writes the evaluator of the live page, made from the table of operations, to the file named.
#include <cstdio>
#include <string>

#include "engine/graph/faces.h"

int main(int count, char** words) {
    if (count != 2) {
        std::fputs("usage: write_evaluator FILE\n", stderr);
        return 2;
    }
    std::FILE* file = std::fopen(words[1], "wb");
    if (file == nullptr) return 2;
    const std::string text = deckle::browser_evaluator();
    const bool written = std::fwrite(text.data(), 1, text.size(), file) == text.size();
    return std::fclose(file) == 0 && written ? 0 : 2;
}
