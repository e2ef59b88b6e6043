#pragma once
// How sure an outline is, and what it matters.

#include <algorithm>
#include <array>
#include <cstdint>

#include <opencv2/core.hpp>

#include "mamelon/measured.h"

#include "capture/long_axis.h"
#include "capture/outline.h"

namespace mamelon::detail {

// Distance to the outline in pixels of the view, positive inside.
cv::Mat1f signed_distance(const cv::Mat1b& tooth, float rim);

// The zone of each of the view's pixels; empty where the zones are thirds of the axis.
using ZonePlaces = cv::Mat1b;
inline constexpr std::uint8_t in_no_zone = 255;

// The third at a place along the axis, 0 at its cervical end and 1 at the other.
inline std::size_t third_at(float along) {
  return static_cast<std::size_t>(std::clamp(static_cast<int>(3 * along), 0, 2));
}

// For each zone: how far L*, a* and b* move when the rim moves outwards by 0.3 mm.
std::array<Vec3, 3> rim_shifts(const Outline& outline, const cv::Mat1b& glare, const LongAxis& axis,
                               const ZonePlaces& places, double margin_mm);

// Chance that the outline overlaps the tooth by 0.8 or more and its middle third is within 1 ΔE00.
double outline_confidence(const Outline& outline, const Vec3& middle_shift);

}  // namespace mamelon::detail
