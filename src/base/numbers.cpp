#include "base/numbers.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <system_error>

namespace mamelon::detail {
namespace {

#ifdef __cpp_lib_to_chars

std::optional<double> parsed(std::string_view text) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size()) return {};
  return value;
}

std::string shortest(double value) {
  std::array<char, 32> buffer{};
  const auto result = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  return {buffer.data(), result.ptr};
}

template <std::chars_format format>
std::string with_precision(double value, int digits) {
  std::array<char, 400> buffer{};
  const auto result =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, format, digits);
  return {buffer.data(), result.ptr};
}

#else

// The standard library of WebAssembly's compiler has neither function for doubles. Its C library
// knows one locale only and rounds exactly, so that the same characters come out.

std::optional<double> parsed(std::string_view text) {
  if (text.empty() || text.front() == '+' ||
      text.find_first_not_of("0123456789+-.eE") != std::string_view::npos) {
    return {};
  }
  const std::string ended(text);
  char* end = nullptr;
  const double value = std::strtod(ended.c_str(), &end);
  if (end != ended.c_str() + ended.size()) return {};
  if (value == 0 && text.substr(0, text.find_first_of("eE")).find_first_of("123456789") !=
                        std::string_view::npos) {
    return {};  // too small to be held
  }
  return value;
}

template <std::chars_format format>
std::string with_precision(double value, int digits) {
  std::array<char, 400> buffer{};
  const char* const text = format == std::chars_format::fixed        ? "%.*f"
                           : format == std::chars_format::scientific ? "%.*e"
                                                                     : "%.*g";
  const int size = std::snprintf(buffer.data(), buffer.size(), text, digits, value);
  return {buffer.data(), static_cast<std::size_t>(size)};
}

// The fewest digits that read back the same, in the shorter of the two notations.
std::string shortest(double value) {
  std::string scientific;
  int digits = 0;
  do {
    scientific = with_precision<std::chars_format::scientific>(value, digits++);
  } while (digits < 17 && std::strtod(scientific.c_str(), nullptr) != value);
  const int exponent = std::atoi(scientific.c_str() + scientific.find('e') + 1);
  if (exponent > 30 || exponent < -10) return scientific;
  std::string fixed =
      with_precision<std::chars_format::fixed>(value, std::max(0, digits - 1 - exponent));
  return fixed.size() <= scientific.size() ? fixed : scientific;
}

#endif

}  // namespace

std::optional<double> parse_number(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  if (text.size() > 1 && text.front() == '+' && text[1] != '-') text.remove_prefix(1);
  const std::optional<double> value = parsed(text);
  return value && std::isfinite(*value) ? value : std::nullopt;
}

std::string format_number(double value) {
  return shortest(value);
}

std::string format_fixed(double value, int decimals) {
  std::string text = with_precision<std::chars_format::fixed>(value, decimals);
  if (text.starts_with('-') && text.find_first_not_of("-0.") == std::string::npos) text.erase(0, 1);
  return text;
}

double rounded(double value, int significant_digits) {
  if (!std::isfinite(value)) return value;
  return parsed(format_short(value, significant_digits)).value_or(value);
}

std::string format_short(double value, int digits) {
  return with_precision<std::chars_format::general>(value, digits);
}

}  // namespace mamelon::detail
