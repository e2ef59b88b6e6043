#pragma once
// The inner loop of the search: a box of thicknesses to sums over bands.

#include <array>
#include <cstddef>
#include <vector>

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

// How much of `CellSums` is worked out: of the colour `xyz`; of the range (`range_sums`) `xyz`,
// `below` and `above`; at the point `xyz` and `slope`; in the box all but the bends; `curved` all.
enum class CellDepth { colour, range, point, box, curved };

// `out` has one element a view.
void cell_sums(const Tables& tables, const CellInput& input, CellDepth depth, CellSums* out);

// Middle and half width of the ranges, band by band, of what the reflectance gains when the second
// layer gives what the first, or the third, takes.
struct Exchanges {
  explicit Exchanges(std::size_t padded_bands = 0) : bands(padded_bands), rows(4 * padded_bands) {}
  [[nodiscard]] float* middle(std::size_t axis) { return rows.data() + 2 * axis * bands; }
  [[nodiscard]] float* half(std::size_t axis) { return rows.data() + (2 * axis + 1) * bands; }
  [[nodiscard]] const float* middle(std::size_t axis) const {
    return rows.data() + 2 * axis * bands;
  }
  [[nodiscard]] const float* half(std::size_t axis) const {
    return rows.data() + (2 * axis + 1) * bands;
  }

  std::size_t bands = 0;
  std::vector<float> rows;
};

// `CellDepth::range`, and the exchanges.
void range_sums(const Tables& tables, const CellInput& input, CellSums* out, Exchanges& exchanges);

// Middle and half width of the range of one exchange, weighted over bands by `coefficient` · XYZ.
struct Lean {
  float middle = 0;
  float half = 0;
};
Lean lean_of(const ViewTable& view, const std::array<float, 3>& coefficient,
             const Exchanges& exchanges, std::size_t axis);

}  // namespace mamelon::detail
