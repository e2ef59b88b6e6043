#pragma once
// The coarse search: all pastes at once as outermost layer on one set of lower layers.

#include <cstddef>
#include <span>
#include <vector>

namespace mamelon::detail {

struct CoarseView {
  std::vector<float> weights;  // x, y, z over the white's, one triple a band
  float target[3] = {};        // L*, a*, b*
  // U of the metric Uᵀ U, its upper triangle row by row, times the square root of the view's
  // weight.
  float root[6] = {};
};

struct CoarseTask {
  std::size_t bands = 0;
  std::size_t lanes = 0;
  std::size_t first_lane = 0;    // those before it are passed over; a multiple of the widest vector
  const float* top = nullptr;    // as `Tables::top`
  const float* below = nullptr;  // reflectance of the lower layers, one a band
  const float* slopes = nullptr;  // `columns` rows of one a band: its change per mm and per error
  int layers_below = 0;
  int columns = 0;
  std::span<const CoarseView> views;
  float thickness_variance = 0;
  bool total_held = false;
  float move_mm = 0;               // how far from the split at hand its best neighbour is guessed
  const float* penalty = nullptr;  // one a lane, added to its value
  const float* model_variance = nullptr;  // of each paste's engine, one a lane
  float model_variance_below = 0;
  float model_ms = 0;  // mean square that a variance of 1 brings
  float constant_ms = 0;
  float* best = nullptr;  // one a lane: the least value so far, and where it was
  float* place = nullptr;
  float place_of_this = 0;
};

// Lowers `best` to the mean square that the goal is guessed to have at the best split within reach.
void lower_best(const CoarseTask& task);

}  // namespace mamelon::detail
