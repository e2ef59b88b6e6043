#include "mamelon/error.h"

#include <algorithm>
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

// Whether a well-formed sequence changes how a terminal shows what follows it: the C1 controls
// (U+0080–U+009F) and the marks that turn the direction of text (U+202A–U+202E, U+2066–U+2069).
bool is_control(std::string_view sequence) {
  const auto byte = [sequence](std::size_t i) { return static_cast<unsigned char>(sequence[i]); };
  if (sequence.size() == 1) return byte(0) < 0x20 || byte(0) == 0x7f;
  if (sequence.size() == 2) return byte(0) == 0xc2 && byte(1) < 0xa0;
  return sequence.size() == 3 && byte(0) == 0xe2 &&
         ((byte(1) == 0x80 && byte(2) >= 0xaa && byte(2) <= 0xae) ||
          (byte(1) == 0x81 && byte(2) >= 0xa6 && byte(2) <= 0xa9));
}

}  // namespace

std::string printable(std::string_view text) {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string result;
  result.reserve(text.size());
  while (!text.empty()) {
    const std::size_t length = sequence_length(text);
    const std::string_view sequence = text.substr(0, std::max<std::size_t>(length, 1));
    if (length == 0 || is_control(sequence)) {
      for (const char c : sequence) {
        const auto byte = static_cast<unsigned char>(c);
        result.append("\\x").append({digits[byte >> 4], digits[byte & 15U]});
      }
    } else {
      result.append(sequence);
    }
    text.remove_prefix(sequence.size());
  }
  return result;
}

}  // namespace mamelon
