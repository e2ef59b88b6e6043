#pragma once
/// @file
/// What differences mean: thresholds with their sources, words, translucency and coverage.

#include <span>
#include <string_view>

#include "mamelon/difference.h"

namespace mamelon {

/// 50:50 % thresholds of the median observer.
namespace threshold {
/// Perceptibility and acceptability, CIEDE2000(1:1:1): Paravina et al. 2015, J Esthet Restor Dent
/// 27:S1–S9; the values ISO/TR 28642:2016 gives (from memory).
inline constexpr double perceptible_de00 = 0.8;
inline constexpr double acceptable_de00 = 1.8;
/// The same study in ΔE*ab.
inline constexpr double perceptible_de76 = 1.2;
inline constexpr double acceptable_de76 = 2.7;
}  // namespace threshold

/// Graded by PT, AT, 2·AT, 3·AT (Paravina, Perez, Ghinea 2019, J Esthet Restor Dent 31:103–112,
/// from memory).
enum class Grade { excellent, acceptable, moderate_mismatch, clear_mismatch, extreme_mismatch };
[[nodiscard]] Grade grade(double de00);
[[nodiscard]] std::string_view to_string(Grade grade);

/// Translucency parameter: colour difference between the same layer over white and over black.
[[nodiscard]] double translucency_ab(const Lab& over_white, const Lab& over_black);
[[nodiscard]] double translucency_00(const Lab& over_white, const Lab& over_black,
                                     const DifferenceWeights& weights = {});
/// Contrast ratio Y_black / Y_white.
[[nodiscard]] double contrast_ratio(double y_over_black, double y_over_white);

/// Coverage error: mean over `teeth` of the least CIEDE2000 to any of `tabs`.
[[nodiscard]] double coverage_error(std::span<const Lab> teeth, std::span<const Lab> tabs,
                                    const DifferenceWeights& weights = {});

}  // namespace mamelon
