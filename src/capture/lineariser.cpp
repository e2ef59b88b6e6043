#include "capture/lineariser.h"

#include <algorithm>
#include <cmath>

namespace mamelon::detail {
namespace {

// IEC 61966-2-1, code to light.
double srgb_to_light(double code) {
  return code <= 0.04045 ? code / 12.92 : std::pow((code + 0.055) / 1.055, 2.4);
}

std::uint16_t to_16_bit(double light) {
  return static_cast<std::uint16_t>(std::lround(std::clamp(light, 0.0, 1.0) * 65535.0));
}

template <class Curve>
void fill_same_curves(Lineariser& l, std::size_t levels, const Curve& curve) {
  for (auto& table : l.curves) {
    table.resize(levels);
    for (std::size_t i = 0; i < levels; ++i) {
      table[i] = to_16_bit(curve(static_cast<double>(i) / static_cast<double>(levels - 1)));
    }
  }
}

void use_profile(Lineariser& l, const RasterFacts& facts, std::size_t levels,
                 const std::string& source) {
  l.profile = std::make_unique<IccProfile>(facts.icc, source);
  l.description = l.profile->description();
  l.encoding = l.profile->is_linear() ? Encoding::linear : Encoding::profile;
  if (!l.profile->is_matrix()) return;
  const auto curves = l.profile->curves(levels);
  for (std::size_t c = 0; c < 3; ++c) {
    l.curves[c].resize(levels);
    std::transform(curves[c].begin(), curves[c].end(), l.curves[c].begin(), to_16_bit);
  }
  l.profile.reset();
}

}  // namespace

Lineariser choose_lineariser(const RasterFacts& facts, const PhotoOptions& options,
                             const std::string& source) {
  Lineariser l;
  const std::size_t levels = facts.bits == 16 ? 65536 : 256;
  if (!facts.icc.empty()) {
    use_profile(l, facts, levels, source);
  } else if (facts.file_gamma && !facts.declared_srgb) {
    const double exponent = 1.0 / *facts.file_gamma;
    l.encoding = std::abs(exponent - 1.0) < 1e-3 ? Encoding::linear : Encoding::profile;
    fill_same_curves(l, levels, [&](double code) { return std::pow(code, exponent); });
  } else {
    fill_same_curves(l, levels, srgb_to_light);
    if (!facts.declared_srgb) {
      l.warnings.emplace_back("the photo carries no colour profile: sRGB is assumed");
    }
  }
  if (options.camera_rendering && l.encoding != Encoding::linear) {
    l.encoding = Encoding::camera_rendering;
  }
  return l;
}

}  // namespace mamelon::detail
