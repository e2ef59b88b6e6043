#pragma once
// Numbers as text, the same under every locale.

#include <optional>
#include <string>
#include <string_view>

namespace mamelon::detail {

// The whole of `text` (spaces around it allowed, a leading plus too) as a double, or nothing.
// `nan`, `inf` and values out of range are nothing.
std::optional<double> parse_number(std::string_view text);

// Shortest text that reads back as the same double.
std::string format_number(double value);

// `value` with a fixed number of decimals.
std::string format_fixed(double value, int decimals);

// With one step of `%g`-like rounding to `digits` significant digits, for messages.
std::string format_short(double value, int digits = 4);

// The number nearest to `value` that has so many significant digits; not a number stays what it is.
double rounded(double value, int significant_digits);

}  // namespace mamelon::detail
