#include <algorithm>
#include <array>
#include <cmath>
#include <list>
#include <mutex>

#include "mamelon/viewing.h"

#include "tables/observers_1nm.h"

namespace mamelon {
namespace {

// ASTM E308 and this library integrate over 360–780 nm at 1 nm.
constexpr std::size_t bands = 421;
constexpr double first_nm = 360;

// Colour-matching function times illuminant, scaled to ΣY = 1.
struct Stimulus {
  std::array<std::array<double, bands>, 3> product{};
};

Stimulus stimulus_of(const Viewing& viewing) {
  const Power power = resample(viewing.illuminant.power(), {first_nm, 1, bands},
                               Interpolation::linear, Extrapolation::zero);
  const std::size_t offset = viewing.observer == Observer::deg2 ? 1 : 4;
  Stimulus stimulus;
  double sum = 0;
  for (std::size_t i = 0; i < bands; ++i) {
    const auto& row = tables::observers_1nm::rows[i];
    for (std::size_t c = 0; c < 3; ++c) stimulus.product[c][i] = power[i] * row[offset + c];
    sum += stimulus.product[1][i];
  }
  if (!(sum > 0))
    throw ArgumentError("illuminant '" + viewing.illuminant.name() +
                        "' has no power that the eye sees, between 360 and 780 nm");
  for (auto& channel : stimulus.product)
    for (double& value : channel) value /= sum;
  return stimulus;
}

// Lagrange coefficients of the nodes at `position` (in steps), ASTM E2022: cubic through the four
// nearest bands, quadratic through three in the first and last interval.
struct Lagrange {
  std::size_t first = 0;
  std::size_t count = 0;
  std::array<double, 4> weight{};
};

Lagrange lagrange_at(double position, std::size_t count) {
  const auto interval = std::min(static_cast<std::size_t>(std::max(position, 0.0)), count - 2);
  Lagrange result;
  result.first = interval == 0 ? 0 : interval - 1;
  const std::size_t last = std::min(interval + 2, count - 1);
  result.count = last - result.first + 1;
  for (std::size_t i = 0; i < result.count; ++i) {
    double weight = 1;
    for (std::size_t j = 0; j < result.count; ++j) {
      if (j == i) continue;
      const double node_i = static_cast<double>(result.first + i);
      const double node_j = static_cast<double>(result.first + j);
      weight *= (position - node_j) / (node_i - node_j);
    }
    result.weight[i] = weight;
  }
  return result;
}

Weights make_weights(const Grid& grid, const Viewing& viewing) {
  check_grid(grid);
  const Stimulus stimulus = stimulus_of(viewing);
  Weights weights{grid, std::vector<double>(grid.count), std::vector<double>(grid.count),
                  std::vector<double>(grid.count)};
  const std::array<std::vector<double>*, 3> channels = {&weights.x, &weights.y, &weights.z};
  for (std::size_t i = 0; i < bands; ++i) {
    const double position = (first_nm + static_cast<double>(i) - grid.first_nm) / grid.step_nm;
    // Beyond the measured range the nearest measured value stands (ASTM E308, 7.3).
    const double inside = std::clamp(position, 0.0, static_cast<double>(grid.count - 1));
    const Lagrange lagrange = lagrange_at(inside, grid.count);
    for (std::size_t c = 0; c < 3; ++c)
      for (std::size_t j = 0; j < lagrange.count; ++j)
        (*channels[c])[lagrange.first + j] += stimulus.product[c][i] * lagrange.weight[j];
  }
  return weights;
}

struct Cached {
  Viewing viewing;
  std::shared_ptr<const Weights> weights;
};

}  // namespace

std::shared_ptr<const Weights> weights(const Grid& grid, const Viewing& viewing) {
  // A loop that needs no lock holds the pointer it was given. The list is bounded because a user
  // may bring any number of lights.
  static std::mutex guard;
  static std::list<Cached> cache;
  constexpr std::size_t most = 256;
  const std::scoped_lock lock(guard);
  for (auto it = cache.begin(); it != cache.end(); ++it)
    if (it->weights->grid == grid && it->viewing == viewing) {
      cache.splice(cache.begin(), cache, it);
      return cache.front().weights;
    }
  auto made = std::make_shared<const Weights>(make_weights(grid, viewing));
  cache.push_front({viewing, made});
  if (cache.size() > most) cache.pop_back();
  return made;
}

Xyz to_xyz(const Reflectance& reflectance, const Weights& weights) {
  if (reflectance.grid() != weights.grid)
    throw ArgumentError("the reflectance and the weighting table stand on different grids");
  Xyz xyz;
  for (std::size_t i = 0; i < reflectance.size(); ++i) {
    xyz.x += weights.x[i] * reflectance[i];
    xyz.y += weights.y[i] * reflectance[i];
    xyz.z += weights.z[i] * reflectance[i];
  }
  return xyz;
}

Xyz to_xyz(const Reflectance& reflectance, const Viewing& viewing, Integration integration) {
  check_grid(reflectance.grid());
  check_reflectance(reflectance, "tristimulus values");
  if (integration == Integration::weighting)
    return to_xyz(reflectance, *weights(reflectance.grid(), viewing));
  const Reflectance fine =
      resample(reflectance, {first_nm, 1, bands}, Interpolation::sprague, Extrapolation::hold);
  return to_xyz(fine, *weights(fine.grid(), viewing));
}

Xyz white_point(const Viewing& viewing) {
  const auto table = weights({first_nm, 1, bands}, viewing);
  Xyz white;
  for (std::size_t i = 0; i < bands; ++i) {
    white.x += table->x[i];
    white.y += table->y[i];
    white.z += table->z[i];
  }
  return white;
}

Lab to_lab(const Reflectance& reflectance, const Viewing& viewing, Integration integration) {
  return to_lab(to_xyz(reflectance, viewing, integration), white_point(viewing));
}

}  // namespace mamelon
