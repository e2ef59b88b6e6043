#include "mamelon/error.h"

#include <array>
#include <cstddef>

namespace mamelon {
namespace {

// Length of the well-formed UTF-8 sequence at the start of `text`, 0 where there is none
// (Unicode 15, table 3-7).
std::size_t sequence_length(std::string_view text) {
  const auto byte = [text](std::size_t i) -> unsigned {
    return i < text.size() ? static_cast<unsigned char>(text[i]) : 0;
  };
  const auto within = [](unsigned value, unsigned low, unsigned high) {
    return low <= value && value <= high;
  };
  const unsigned first = byte(0);
  if (first < 0x80) return 1;
  if (within(first, 0xc2, 0xdf)) return within(byte(1), 0x80, 0xbf) ? 2 : 0;
  if (within(first, 0xe0, 0xef)) {
    const unsigned low = first == 0xe0 ? 0xa0 : 0x80;
    const unsigned high = first == 0xed ? 0x9f : 0xbf;
    return within(byte(1), low, high) && within(byte(2), 0x80, 0xbf) ? 3 : 0;
  }
  if (within(first, 0xf0, 0xf4)) {
    const unsigned low = first == 0xf0 ? 0x90 : 0x80;
    const unsigned high = first == 0xf4 ? 0x8f : 0xbf;
    return within(byte(1), low, high) && within(byte(2), 0x80, 0xbf) && within(byte(3), 0x80, 0xbf)
               ? 4
               : 0;
  }
  return 0;
}

}  // namespace

std::string printable(std::string_view text) {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string result;
  result.reserve(text.size());
  while (!text.empty()) {
    const auto byte = static_cast<unsigned char>(text.front());
    const std::size_t length = sequence_length(text);
    const bool control = byte < 0x20 || byte == 0x7f;
    if (length == 0 || control) {
      result.append("\\x").append({digits[byte >> 4], digits[byte & 15U]});
      text.remove_prefix(1);
    } else {
      result.append(text.substr(0, length));
      text.remove_prefix(length);
    }
  }
  return result;
}

}  // namespace mamelon
