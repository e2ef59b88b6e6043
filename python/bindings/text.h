#pragma once
// Short texts for repr and messages, the same under every locale.

#include <charconv>
#include <string>
#include <string_view>

namespace mamelon::python {

// Six significant digits.
inline std::string short_number(double value) {
  char buffer[40];
  const auto end =
      std::to_chars(buffer, buffer + sizeof buffer, value, std::chars_format::general, 6);
  return {buffer, end.ptr};
}

inline std::string in_quotes(std::string_view text) {
  constexpr std::size_t longest = 40;
  std::string shown = "'";
  for (const char c : text.substr(0, longest)) {
    if (c == '\'' || c == '\\') shown += '\\';
    shown += c == '\n' ? ' ' : c;
  }
  // Never cut inside a UTF-8 sequence: drop continuation bytes and their lead.
  if (text.size() > longest) {
    while (!shown.empty() && (static_cast<unsigned char>(shown.back()) & 0xC0U) == 0x80U)
      shown.pop_back();
    if (!shown.empty() && static_cast<unsigned char>(shown.back()) >= 0xC0U) shown.pop_back();
    shown += "…";
  }
  return shown + "'";
}

}  // namespace mamelon::python
