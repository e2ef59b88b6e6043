#include <algorithm>
#include <cmath>
#include <string_view>

#include "mamelon/colour.h"

#include "colour/vectors.h"

namespace mamelon {
namespace {

// White and primaries of IEC 61966-2-1 as chromaticities.
constexpr double white_x = 0.3127;
constexpr double white_y = 0.3290;
constexpr Xyz display_white = {white_x / white_y, 1, (1 - white_x - white_y) / white_y};
constexpr Mat3 primaries = {{{0.64, 0.30, 0.15}, {0.33, 0.60, 0.06}, {0.03, 0.10, 0.79}}};

struct DisplayMatrices {
  Mat3 to_xyz;
  Mat3 from_xyz;
};

const DisplayMatrices& matrices() {
  static const DisplayMatrices value = [] {
    const Vec3 scale = multiply(detail::inverse(primaries),
                                Vec3{display_white.x, display_white.y, display_white.z});
    const Mat3 forward = multiply(primaries, diagonal(scale));
    return DisplayMatrices{forward, detail::inverse(forward)};
  }();
  return value;
}

double encode(double linear) {
  return linear <= 0.0031308 ? 12.92 * linear : 1.055 * std::pow(linear, 1 / 2.4) - 0.055;
}

}  // namespace

Vec3 to_linear_srgb(const Xyz& xyz, const Xyz& white) {
  const Xyz d65 = adapt(xyz, white, display_white, Adaptation::bradford);
  return multiply(matrices().from_xyz, Vec3{d65.x, d65.y, d65.z});
}

Xyz from_linear_srgb(const Vec3& rgb, const Xyz& white) {
  const Vec3 d65 = multiply(matrices().to_xyz, rgb);
  return adapt({d65[0], d65[1], d65[2]}, display_white, white, Adaptation::bradford);
}

DisplayColour to_display(const Vec3& linear) {
  // The white itself must not count as clipped because of rounding.
  constexpr double slack = 1e-9;
  DisplayColour colour;
  Vec3 encoded{};
  for (std::size_t i = 0; i < 3; ++i) {
    if (!(linear[i] >= -slack && linear[i] <= 1 + slack)) colour.clipped = true;
    encoded[i] = std::clamp(encode(std::clamp(linear[i], 0.0, 1.0)), 0.0, 1.0);
  }
  colour.r = encoded[0];
  colour.g = encoded[1];
  colour.b = encoded[2];
  return colour;
}

DisplayColour to_display(const Lab& lab, const Xyz& white) {
  return to_display(to_linear_srgb(to_xyz(lab, white), white));
}

std::string to_hex(const DisplayColour& colour) {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string text = "#";
  for (const double component : {colour.r, colour.g, colour.b}) {
    const auto byte = static_cast<std::size_t>(std::lround(std::clamp(component, 0.0, 1.0) * 255));
    text += digits[byte / 16];
    text += digits[byte % 16];
  }
  return text;
}

}  // namespace mamelon
