#pragma once
// Text that goes into HTML, and the numbers and colours drawn there.

#include <string>
#include <string_view>

#include "mamelon/colour.h"
#include "mamelon/viewing.h"

namespace mamelon::detail {

// `text` with the characters that mean something in HTML or SVG replaced, and cut at `longest`
// characters with an ellipsis.
std::string escaped(std::string_view text, std::size_t longest = 120);

// A colour as `#rrggbb` and whether the display can show it.
struct Swatch {
  std::string hex;
  bool clipped = false;
};
Swatch swatch_of(const Lab& lab, const Viewing& viewing);

// `chance` in whole percent, `<1 %` and `>99 %` at the ends.
std::string percent(double chance);

// L*, a*, b* with one decimal and a true minus sign.
std::string lab_text(const Lab& lab);
// "ΔL* −0.80, Δa* +0.10, Δb* +0.40".
std::string shift_text(const Lab& shift);
// With `decimals` decimals and a true minus sign.
std::string number_text(double value, int decimals);

// Confidence in words from the chance that the first tab is the best and that the difference is
// acceptable.
std::string_view confidence_word(double chance);

}  // namespace mamelon::detail
