#include "engine/declaration/exact.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

namespace deckle {
namespace {

constexpr int base = 10;

int digit(char c) noexcept { return c - '0'; }
char shown(int value) noexcept { return static_cast<char>('0' + value); }

/// The digit that counts base^place, 0 beyond the number.
int digit_at(const std::string& digits, std::size_t place) noexcept {
    return place < digits.size() ? digit(digits[digits.size() - 1 - place]) : 0;
}

std::string without_zeros(std::string digits) {
    digits.erase(0, std::min(digits.find_first_not_of('0'), digits.size()));
    return digits;
}

bool is_below(const std::string& a, const std::string& b) noexcept {
    return a.size() != b.size() ? a.size() < b.size() : a < b;
}

std::string sum_of(const std::string& a, const std::string& b) {
    std::string sum;
    int carry = 0;
    for (std::size_t i = 0; i < std::max(a.size(), b.size()) || carry != 0; ++i) {
        carry += digit_at(a, i) + digit_at(b, i);
        sum += shown(carry % base);
        carry /= base;
    }
    std::ranges::reverse(sum);
    return without_zeros(sum);
}

/// a − b where b is not above a.
std::string difference_of(const std::string& a, const std::string& b) {
    std::string rest;
    int borrowed = 0;
    for (std::size_t i = 0; i < a.size(); ++i) {
        const int left = digit_at(a, i) - digit_at(b, i) - borrowed;
        borrowed = left < 0 ? 1 : 0;
        rest += shown(left + borrowed * base);
    }
    std::ranges::reverse(rest);
    return without_zeros(rest);
}

std::string product_of(const std::string& a, const std::string& b) {
    std::string product(a.size() + b.size(), '0');
    for (std::size_t i = 0; i < a.size(); ++i) {
        int carry = 0;
        for (std::size_t k = 0; k < b.size() || carry != 0; ++k) {
            char& here = product[product.size() - 1 - i - k];
            carry += digit(here) + digit_at(a, i) * digit_at(b, k);
            here = shown(carry % base);
            carry /= base;
        }
    }
    return without_zeros(product);
}

/// The whole part of digits ÷ divisor.
std::string quotient_of(const std::string& digits, int divisor) {
    std::string quotient;
    long long rest = 0;
    for (const char c : digits) {
        rest = rest * base + digit(c);
        quotient += shown(static_cast<int>(rest / divisor));
        rest %= divisor;
    }
    return without_zeros(quotient);
}

/// × base^power
std::string shifted(std::string digits, int power) {
    if (!digits.empty()) digits.append(static_cast<std::size_t>(power), '0');
    return digits;
}

}  // namespace

Exact::Exact(long long units, int places)
    : Exact(units < 0, fmt::format("{}", units < 0 ? -units : units), places) {}

Exact::Exact(bool negative, std::string digits, int places)
    : negative_(negative), digits_(without_zeros(std::move(digits))), places_(places) {
    if (digits_.empty()) negative_ = false;
}

std::optional<Exact> Exact::from(std::string_view text) {
    const bool negative = text.starts_with('-');
    if (negative || text.starts_with('+')) text.remove_prefix(1);
    const auto is_digit = [](char c) { return c >= '0' && c <= '9'; };
    const std::size_t point = text.find('.');
    const std::string_view whole = text.substr(0, point);
    const std::string_view part =
        point == std::string_view::npos ? std::string_view{} : text.substr(point + 1);
    if (whole.empty() || (part.empty() && point != std::string_view::npos) ||
        !std::ranges::all_of(whole, is_digit) || !std::ranges::all_of(part, is_digit))
        return std::nullopt;
    return Exact(negative, std::string(whole) + std::string(part), static_cast<int>(part.size()));
}

std::optional<Exact> Exact::rounded(double value, int places) {
    constexpr double largest = 1e20;
    if (!(std::abs(value) < largest)) return std::nullopt;
    return from(fmt::format("{:.{}f}", value, places));
}

double Exact::value() const {
    const std::string written = text();
    double value = 0.0;
    std::from_chars(written.data(), written.data() + written.size(), value);
    return value;
}

std::string Exact::text() const {
    const auto places = static_cast<std::size_t>(places_);
    std::string written = digits_;
    if (written.size() <= places) written.insert(0, places + 1 - written.size(), '0');
    if (places > 0) written.insert(written.size() - places, 1, '.');
    return negative_ ? "-" + written : written;
}

Exact Exact::times(const Exact& other) const {
    return {negative_ != other.negative_, product_of(digits_, other.digits_),
            places_ + other.places_};
}

Exact Exact::over(int divisor, int places) const {
    // one place more than asked for, then that one rounded
    const int more = std::max(0, places + 1 - places_);
    std::string digits = quotient_of(shifted(digits_, more), divisor);
    const auto dropped = static_cast<std::size_t>(places_ + more - places);
    const bool up = digit_at(digits, dropped - 1) >= base / 2;
    digits.resize(digits.size() < dropped ? 0 : digits.size() - dropped);
    return {negative_, up ? sum_of(digits, "1") : std::move(digits), places};
}

Exact Exact::half_place() const { return {digits_.empty() ? 0 : base / 2, places_ + 1}; }

Exact operator+(const Exact& a, const Exact& b) {
    const int places = std::max(a.places_, b.places_);
    const std::string one = shifted(a.digits_, places - a.places_),
                      other = shifted(b.digits_, places - b.places_);
    if (a.negative_ == b.negative_) return {a.negative_, sum_of(one, other), places};
    if (is_below(one, other)) return {b.negative_, difference_of(other, one), places};
    return {a.negative_, difference_of(one, other), places};
}

}  // namespace deckle
