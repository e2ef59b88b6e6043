#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <cstddef>

#include "mamelon/viewing.h"

#include "base/numbers.h"
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

// The nodes that a full table for this grid would have: the measured bands, extended by whole steps
// over 360–780 nm and cut to the bands that enclose it.
struct Nodes {
  double first_nm = 0;
  std::size_t count = 0;
  std::ptrdiff_t first_band = 0;  ///< index on the measured grid; negative before its start
};

Nodes nodes_of(const Grid& grid) {
  const double last_nm = first_nm + static_cast<double>(bands - 1);
  const auto whole_steps = [&grid](double distance_nm) {
    return static_cast<std::ptrdiff_t>(std::floor(distance_nm / grid.step_nm + 1e-9));
  };
  // Bands to add before the first and after the last where positive, to leave out where negative.
  const std::ptrdiff_t before = grid.first_nm > first_nm ? whole_steps(grid.first_nm - first_nm)
                                                         : -whole_steps(first_nm - grid.first_nm);
  const std::ptrdiff_t after = grid.last_nm() < last_nm ? whole_steps(last_nm - grid.last_nm())
                                                        : -whole_steps(grid.last_nm() - last_nm);
  const std::ptrdiff_t count = static_cast<std::ptrdiff_t>(grid.count) + before + after;
  const std::ptrdiff_t kept = static_cast<std::ptrdiff_t>(grid.count) +
                              std::min<std::ptrdiff_t>(before, 0) +
                              std::min<std::ptrdiff_t>(after, 0);
  if (kept < 3)
    throw ArgumentError(
        "a reflectance on " + detail::format_short(grid.first_nm, 6) + "-" +
        detail::format_short(grid.last_nm(), 6) +
        " nm has fewer than 3 bands within 360-780 nm; measure over the visible range");
  return {grid.first_nm - static_cast<double>(before) * grid.step_nm,
          static_cast<std::size_t>(count), -before};
}

Weights make_weights(const Grid& grid, const Viewing& viewing) {
  check_grid(grid);
  const Nodes nodes = nodes_of(grid);
  const Stimulus stimulus = stimulus_of(viewing);
  Weights weights{grid, std::vector<double>(grid.count), std::vector<double>(grid.count),
                  std::vector<double>(grid.count)};
  const std::array<std::vector<double>*, 3> channels = {&weights.x, &weights.y, &weights.z};
  const auto last_band = static_cast<std::ptrdiff_t>(grid.count - 1);
  for (std::size_t i = 0; i < bands; ++i) {
    const double position = (first_nm + static_cast<double>(i) - nodes.first_nm) / grid.step_nm;
    const Lagrange lagrange =
        lagrange_at(std::clamp(position, 0.0, static_cast<double>(nodes.count - 1)), nodes.count);
    for (std::size_t j = 0; j < lagrange.count; ++j) {
      // The weight of a band that was not measured goes to the last measured one (ASTM E308, 7.3).
      const std::ptrdiff_t band = std::clamp<std::ptrdiff_t>(
          nodes.first_band + static_cast<std::ptrdiff_t>(lagrange.first + j), 0, last_band);
      for (std::size_t c = 0; c < 3; ++c)
        (*channels[c])[static_cast<std::size_t>(band)] +=
            stimulus.product[c][i] * lagrange.weight[j];
    }
  }
  return weights;
}

// Tables made so far, as a list that only grows at its head: readers walk it without a lock. It
// stops growing at a bound, since a user may bring any number of lights; a table past it is made
// anew for each call, which costs tens of microseconds.
class Tables {
 public:
  Tables() = default;
  Tables(const Tables&) = delete;
  Tables& operator=(const Tables&) = delete;
  ~Tables() {
    for (const Node* node = head_.load(); node != nullptr;) {
      const Node* next = node->next;
      delete node;
      node = next;
    }
  }

  std::shared_ptr<const Weights> get(const Grid& grid, const Viewing& viewing) {
    const Node* head = head_.load(std::memory_order_acquire);
    for (const Node* node = head; node != nullptr; node = node->next)
      if (node->weights->grid == grid && node->viewing == viewing) return node->weights;
    auto made = std::make_shared<const Weights>(make_weights(grid, viewing));
    constexpr std::size_t most = 512;
    const std::size_t position = head == nullptr ? 0 : head->position + 1;
    if (position >= most) return made;
    // Two threads may add the same table at once; both copies hold the same numbers.
    auto* node = new Node{viewing, made, head, position};
    while (!head_.compare_exchange_weak(node->next, node, std::memory_order_release,
                                        std::memory_order_relaxed)) {
    }
    return made;
  }

 private:
  struct Node {
    Viewing viewing;
    std::shared_ptr<const Weights> weights;
    const Node* next;
    std::size_t position;
  };
  std::atomic<const Node*> head_{nullptr};
};

}  // namespace

std::shared_ptr<const Weights> weights(const Grid& grid, const Viewing& viewing) {
  static Tables tables;
  return tables.get(grid, viewing);
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

Mat3 xyz_covariance(const Weights& weights, std::span<const double> band_sd) {
  if (band_sd.size() != weights.grid.count ||
      !std::all_of(band_sd.begin(), band_sd.end(), [](double sd) { return sd >= 0; }))
    throw ArgumentError("a weighting table of " + std::to_string(weights.grid.count) +
                        " bands needs as many standard deviations of 0 or more, got " +
                        std::to_string(band_sd.size()));
  const std::array<const std::vector<double>*, 3> channels = {&weights.x, &weights.y, &weights.z};
  Mat3 covariance{};
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = i; j < 3; ++j) {
      double sum = 0;
      for (std::size_t band = 0; band < band_sd.size(); ++band)
        sum += (*channels[i])[band] * (*channels[j])[band] * band_sd[band] * band_sd[band];
      covariance[i][j] = covariance[j][i] = sum;
    }
  return covariance;
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
