#include "capture/signal_table.h"

#include <algorithm>
#include <cmath>

#include "base/parallel.h"

namespace mamelon::detail {
namespace {

constexpr std::size_t nodes = 9;

}  // namespace

SignalTable::SignalTable(const CardFit& fit, const std::array<double, 3>& low,
                         const std::array<double, 3>& high, PointPx at)
    : low_(low), light_(fit.correction->light(at)), values_(nodes * nodes * nodes) {
  const Xyz white = white_point(fit.viewing);
  for (std::size_t c = 0; c < 3; ++c) step_[c] = (high[c] - low[c]) / (nodes - 1);
  parallel_for(values_.size(), nodes, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      const Vec3 rgb = {low[0] + step_[0] * static_cast<double>(i / (nodes * nodes)),
                        low[1] + step_[1] * static_cast<double>(i / nodes % nodes),
                        low[2] + step_[2] * static_cast<double>(i % nodes)};
      const Xyz xyz = to_xyz(fit.correction->lab(rgb, Mat3{}, at).value, white);
      values_[i] = {xyz.x, xyz.y, xyz.z};
    }
  });
}

Xyz SignalTable::at(const Vec3& rgb, double light) const {
  std::array<std::size_t, 3> cell{};
  std::array<double, 3> part{};
  for (std::size_t c = 0; c < 3; ++c) {
    const double position = (rgb[c] - low_[c]) / step_[c];
    cell[c] = static_cast<std::size_t>(std::clamp(std::floor(position), 0.0, nodes - 2.0));
    part[c] = position - static_cast<double>(cell[c]);
  }
  Vec3 sum{};
  for (std::size_t corner = 0; corner < 8; ++corner) {
    double weight = light_ / light;
    std::size_t index = 0;
    for (std::size_t c = 0; c < 3; ++c) {
      const std::size_t up = (corner >> c) & 1U;
      weight *= up != 0 ? part[c] : 1 - part[c];
      index = index * nodes + cell[c] + up;
    }
    for (std::size_t c = 0; c < 3; ++c) sum[c] += weight * values_[index][c];
  }
  return {sum[0], sum[1], sum[2]};
}

}  // namespace mamelon::detail
