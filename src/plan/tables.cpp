#include "plan/tables.h"

#include <algorithm>
#include <cmath>

namespace mamelon::detail {
namespace {

constexpr double grid_step_mm = 0.01;
constexpr std::size_t fewest_steps = 32;
constexpr std::size_t most_steps = 320;

void append_padded(std::vector<float>& to, const std::vector<double>& values, std::size_t padded,
                   float filler) {
  for (const double value : values) {
    to.push_back(static_cast<float>(value));
  }
  to.insert(to.end(), padded - values.size(), filler);
}

}  // namespace

std::size_t padded_bands(const Problem& problem) {
  return (problem.floor.size() + lanes - 1) / lanes * lanes;
}

Tables make_tables(const Problem& problem, std::vector<ViewTable> views) {
  Tables tables;
  tables.views = std::move(views);
  tables.bands = padded_bands(problem);
  tables.steps = std::clamp(static_cast<std::size_t>(std::ceil(problem.depth_mm / grid_step_mm)),
                            fewest_steps, most_steps);
  tables.step_mm = problem.depth_mm / static_cast<double>(tables.steps);
  const std::size_t bands = problem.floor.size();
  if (!problem.floor_errors.empty()) {
    for (std::size_t e = 0; e < most_floor_errors; ++e) {
      append_padded(
          tables.floor_errors,
          e < problem.floor_errors.size() ? problem.floor_errors[e] : std::vector<double>(bands, 0),
          tables.bands, 0);
    }
  }
  const std::size_t rows = problem.materials.size() * (tables.steps + 1) * 2 * tables.bands;
  tables.layers.reserve(rows);
  tables.firsts.reserve(rows);
  for (const Material& m : problem.materials) {
    append_padded(tables.constants, m.k, tables.bands, 0);
    append_padded(tables.constants, m.s, tables.bands, 0);
    // One step's layer added again and again (Kubelka 1954) costs no exponentials; the error grows
    // by one rounding a step, far below single precision.
    std::vector<double> r1(bands);
    std::vector<double> t1(bands);
    for (std::size_t i = 0; i < bands; ++i) {
      const LayerOptics layer = layer_optics(m.k[i], m.s[i], tables.step_mm);
      r1[i] = layer.r0;
      t1[i] = layer.t;
    }
    std::vector<double> r(bands, 0);
    std::vector<double> t(bands, 1);
    for (std::size_t g = 0; g <= tables.steps; ++g) {
      append_padded(tables.layers, r, tables.bands, 0);
      append_padded(tables.layers, t, tables.bands, 1);
      std::vector<double> seen(bands);
      std::vector<double> gain(bands);
      for (std::size_t i = 0; i < bands; ++i) {
        const double escape = t[i] / (1 - r[i] * problem.floor[i]);
        seen[i] = r[i] + t[i] * escape * problem.floor[i];
        gain[i] = escape * escape;
      }
      append_padded(tables.firsts, seen, tables.bands, 0);
      append_padded(tables.firsts, gain, tables.bands, 0);
      for (std::size_t i = 0; i < bands; ++i) {
        const double escape = 1 / (1 - r1[i] * r[i]);
        r[i] = r1[i] + t1[i] * t1[i] * r[i] * escape;
        t[i] = t1[i] * t[i] * escape;
      }
    }
  }
  return tables;
}

}  // namespace mamelon::detail
