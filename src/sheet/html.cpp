#include "sheet/html.h"

#include <cmath>

#include "base/markup.h"
#include "base/numbers.h"
#include "io/text_stream.h"

namespace mamelon::detail {

std::string escaped(std::string_view text, std::size_t longest) {
  std::string out;
  std::size_t characters = 0;
  for (const char c : to_utf8(std::string(text))) {
    const bool starts_character = (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
    if (starts_character && ++characters > longest) {
      out += "…";
      break;
    }
    // Control characters are not allowed in HTML text.
    append_escaped(out, static_cast<unsigned char>(c) < 0x20 ? ' ' : c);
  }
  return out;
}

Swatch swatch_of(const Lab& lab, const Viewing& viewing) {
  const DisplayColour colour = to_display(lab, white_point(viewing));
  return {to_hex(colour), colour.clipped};
}

std::string percent(double chance) {
  if (chance > 0.99 && chance < 1) return ">99 %";
  if (chance < 0.01 && chance > 0) return "<1 %";
  return format_fixed(100 * chance, 0) + " %";
}

std::string number_text(double value, int decimals) {
  std::string text = format_fixed(value, decimals);
  if (text.starts_with('-')) text.replace(0, 1, "−");
  return text;
}

std::string lab_text(const Lab& lab) {
  return number_text(lab.l, 1) + ", " + number_text(lab.a, 1) + ", " + number_text(lab.b, 1);
}

std::string shift_text(const Lab& shift) {
  const auto part = [](const char* name, double value) {
    return std::string(name) + (std::round(value * 100) < 0 ? " −" : " +") +
           format_fixed(std::fabs(value), 2);
  };
  return part("ΔL*", shift.l) + ", " + part("Δa*", shift.a) + ", " + part("Δb*", shift.b);
}

std::string_view confidence_word(double chance) {
  if (chance >= 0.9) return "high";
  if (chance >= 0.6) return "fair";
  if (chance >= 0.3) return "low";
  return "very low";
}

}  // namespace mamelon::detail
