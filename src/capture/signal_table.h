#pragma once
// A fit's correction as a table, for pictures of many pixels.

#include <array>
#include <cstddef>
#include <vector>

#include "mamelon/card.h"

namespace mamelon::detail {

// XYZ over a range of signals, tabulated at even steps: the correction itself takes some
// microseconds a colour and is all but linear between them.
class SignalTable {
 public:
  // Over the signals `low` to `high` of each channel, `low` below `high`, under the light at `at`.
  SignalTable(const CardFit& fit, const std::array<double, 3>& low,
              const std::array<double, 3>& high, PointPx at);

  // Of a signal in the range, under the light `light` of the correction.
  [[nodiscard]] Xyz at(const Vec3& rgb, double light) const;

 private:
  std::array<double, 3> low_{};
  std::array<double, 3> step_{};
  double light_;
  std::vector<Vec3> values_;
};

}  // namespace mamelon::detail
