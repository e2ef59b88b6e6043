#pragma once
// How sure an outline is, and what it matters.

#include <array>

#include <opencv2/core.hpp>

#include "mamelon/measured.h"

#include "capture/long_axis.h"
#include "capture/outline.h"

namespace mamelon::detail {

// Distance to the outline in pixels of the view, positive inside.
cv::Mat1f signed_distance(const cv::Mat1b& tooth, float rim);

// For each third: how far L*, a* and b* move when the rim moves outwards by 0.3 mm.
std::array<Vec3, 3> rim_shifts(const Outline& outline, const cv::Mat1b& glare, const LongAxis& axis,
                               double margin_mm);

// Chance that the outline overlaps the tooth by 0.8 or more and its middle third is within 1 ΔE00.
double outline_confidence(const Outline& outline, const Vec3& middle_shift);

}  // namespace mamelon::detail
