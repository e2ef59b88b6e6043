#pragma once
// A camera's own tone curve, known only through neutral patches.

#include <array>
#include <vector>

#include <Eigen/Dense>

#include "capture/colour_map.h"

namespace mamelon::detail {

// Per channel a monotone cubic (Fritsch and Carlson 1980, SIAM J Numer Anal 17:238) from the file's
// light to true light through the neutral patches, drawn on cube roots, where both are nearly even.
// It goes through the origin and goes on straight beyond the lightest neutral.
class Tone {
 public:
  // Knots of one channel: (file's light, true light), in any order.
  explicit Tone(const std::array<std::vector<std::array<double, 2>>, 3>& knots);

  [[nodiscard]] Eigen::Vector3d operator()(const Eigen::Vector3d& rgb) const;
  // Slopes of the three curves.
  [[nodiscard]] Eigen::Vector3d slope(const Eigen::Vector3d& rgb) const;

 private:
  struct Curve {
    std::vector<double> x, y, slope;
    [[nodiscard]] std::array<double, 2> at(double value) const;  // value and slope
  };
  std::array<Curve, 3> curves_;
};

inline constexpr std::size_t min_tone_neutrals = 5;

// The tone from the neutral patches among `patches` (raw signals and light gains). Throws
// CaptureError when they are fewer than `min_tone_neutrals`.
Tone fit_tone(const std::vector<TrainingPatch>& patches);
// Sets the corrected signal of a patch from its raw one.
void apply_tone(const Tone& tone, TrainingPatch& patch);

}  // namespace mamelon::detail
