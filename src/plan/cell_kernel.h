#pragma once
// The inner loop of the search: a box of thicknesses to sums over bands.

#include <array>
#include <cstddef>

#include "plan/tables.h"

namespace mamelon::detail {

inline constexpr std::size_t most_layers = 3;

// Rows of `Tables::layer` at the least, the expansion and the greatest thickness of each layer.
struct CellInput {
  std::size_t layers = 0;
  std::array<const float*, most_layers> low{};
  std::array<const float*, most_layers> mid{};
  std::array<const float*, most_layers> high{};
  std::array<const float*, most_layers> material{};
  float pass = 0;  // (1 − k1)(1 − k2) of the surface
  float k2 = 0;
  float added = 0;  // k1 where specular is included
  // Most that the first and the third thickness differ from the point; the second gives way.
  float reach_first = 0;
  float reach_third = 0;
};

// Sums of one view: at the expansion point, and how far they can go within the box.
struct CellSums {
  std::array<float, 3> xyz;
  std::array<float, 3> below;                           // most that X, Y, Z can fall within the box
  std::array<float, 3> above;                           // most that they can rise
  std::array<std::array<float, 3>, most_layers> slope;  // dXYZ/dd of each layer
  std::array<float, most_layers> deviation;  // Σ length · |slope − slope at the point|
  std::array<float, most_layers> crude_deviation;
};

// Everything about a box. `out` has one element a view.
void cell_sums(const Tables& tables, const CellInput& input, CellSums* out);

// The expansion point alone: `xyz` and `slope`.
void point_sums(const Tables& tables, const CellInput& input, CellSums* out);

}  // namespace mamelon::detail
