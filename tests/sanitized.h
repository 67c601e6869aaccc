// Sanitizers watch memory and arithmetic of the language, some thirty times slower than the program
// runs, and a loop shows them the same faults in each of its rounds. Properties that go over
// thousands of results look there at one in `one_in`.
#pragma once

#include <cstddef>

namespace deckle::test {

#if defined(__has_feature)
#if __has_feature(address_sanitizer)
inline constexpr std::size_t one_in = 20;
#else
inline constexpr std::size_t one_in = 1;
#endif
#else
inline constexpr std::size_t one_in = 1;
#endif

}  // namespace deckle::test
