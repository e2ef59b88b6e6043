#pragma once
// The inner loop of the search: a box of thicknesses to sums over bands.

#include <array>
#include <cstddef>

#include "plan/tables.h"

namespace mamelon::detail {

inline constexpr std::size_t most_layers = 3;
inline constexpr std::size_t most_slopes = most_layers + most_floor_errors;
// Pairs u ≤ v of layers, at v (v + 1) / 2 + u.
inline constexpr std::size_t most_pairs = most_layers * (most_layers + 1) / 2;
constexpr std::size_t pair_of(std::size_t u, std::size_t v) {
  return u <= v ? v * (v + 1) / 2 + u : u * (u + 1) / 2 + v;
}

// Rows of the tables at the least, the expansion and the greatest thickness of each layer:
// `Tables::first` for the first, `Tables::layer` for the others.
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

// Sums of one view at the expansion point, and how far they can go within the box. Slopes are of
// the layers first, then of the floor's errors; at `CellDepth::box` they stand in the middle of
// their ranges rather than at the point.
struct CellSums {
  std::array<float, 3> xyz;
  std::array<float, 3> below;                           // most that X, Y, Z can fall within the box
  std::array<float, 3> above;                           // most that they can rise
  std::array<std::array<float, 3>, most_slopes> slope;  // dXYZ/dd
  // Most that the slopes change within the box: in each coordinate of y, were df/dXYZ that of the
  // target, and in each of X, Y, Z.
  std::array<std::array<float, 3>, most_slopes> slope_off_y;
  std::array<std::array<float, 3>, most_slopes> slope_off;
  // As the slopes, when the second layer gives what the first, or the third, takes.
  std::array<std::array<float, 3>, 2> exchange;
  std::array<std::array<float, 3>, 2> exchange_off_y;
  std::array<std::array<float, 3>, 2> exchange_off;
  std::array<std::array<float, 3>, most_pairs> bend;  // d²XYZ/dd²
  std::array<std::array<float, 3>, most_pairs> bend_off_y;
  std::array<std::array<float, 3>, most_pairs> bend_off;
};

// How much of `CellSums` is worked out: at the point `xyz` and `slope`; in the box all but the
// bends; `curved` all.
enum class CellDepth { point, box, curved };

// `out` has one element a view.
void cell_sums(const Tables& tables, const CellInput& input, CellDepth depth, CellSums* out);

}  // namespace mamelon::detail
