#pragma once
// Lower bounds of the objective over boxes of thicknesses.

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "plan/cell_kernel.h"
#include "plan/direction_look.h"
#include "plan/problem.h"
#include "plan/view_look.h"

namespace mamelon::detail {

// A sequence of pastes from the floor outward.
struct Sequence {
  std::size_t layers = 0;
  std::array<std::size_t, most_layers> paste{};
};

// Ranges of the free thicknesses in grid steps. One layer (`slack_layer`) takes what the others
// leave of the depth.
struct Box {
  std::array<std::uint16_t, 2> low{};
  std::array<std::uint16_t, 2> high{};
  friend bool operator==(const Box&, const Box&) = default;
};

using Steps = std::array<int, most_layers>;  // thickness of each layer in grid steps

struct BoxValue {
  double bound = 0;      // no allowed thicknesses in the box have a lower objective
  double at_point = 0;   // objective at `point`; infinite where it is no lower than what was enough
  Steps point{};         // a point of the box
  double promise = 0;    // about the least ΔE00 seen in it
  std::size_t axis = 0;  // the free thickness to split next
  Box inner;             // outside it the objective is at least what was enough
  bool empty = false;    // nothing is left of it
};

// Room for one bound at a time, reused because a search asks for a million.
struct Workspace {
  std::vector<CellSums> sums;
  std::vector<ViewLook> looks;
  Exchanges exchanges;
  std::vector<SeenColour> colours;  // of the views at the expansion point
  std::vector<double> least_de;     // of the views within a wide box
  GroundPoint middle{};             // the expansion point
};

// Bounds, built once for a problem.
class Bounder {
 public:
  // `trust` scales the ranges: 1 is rigorous, less is quick.
  Bounder(const Problem& problem, double trust);

  [[nodiscard]] const Tables& tables() const { return tables_; }
  [[nodiscard]] double step_mm() const { return tables_.step_mm; }
  // Most that single precision can raise a bound.
  [[nodiscard]] double rounding() const { return rounding_; }

  // The whole allowed region of a sequence; false when it is empty.
  [[nodiscard]] bool whole(const Sequence& sequence, Box& box) const;
  // Shrinks a box to what the depth allows; false when nothing is left.
  [[nodiscard]] bool trim(const Sequence& sequence, Box& box) const;
  // Bounds below `enough` are made as sharp as they can be.
  [[nodiscard]] BoxValue bound(const Sequence& sequence, const Box& box, double enough,
                               Workspace& room) const;
  [[nodiscard]] Workspace workspace() const;
  // The objective at a grid point; infinite outside the limits of a paste.
  [[nodiscard]] double value(const Sequence& sequence, const Steps& steps, Workspace& room) const;
  // The same, whatever the limits.
  [[nodiscard]] double unlimited_value(const Sequence& sequence, const Steps& steps,
                                       Workspace& room) const;

 private:
  struct Range {
    int low = 0;
    int high = 0;
  };
  [[nodiscard]] double constant(const Sequence& sequence) const;
  [[nodiscard]] Range limits_of(const Material& m) const;
  [[nodiscard]] Range slack_range(const Sequence& sequence, const Box& box) const;
  [[nodiscard]] Steps expansion_point(const Sequence& sequence, const Box& box) const;
  [[nodiscard]] const float* row(const Sequence& sequence, std::size_t layer, int steps) const;
  [[nodiscard]] CellInput input(const Sequence& sequence, const Steps& at) const;
  [[nodiscard]] Travel travel(const Sequence& sequence, const Box& box, const Steps& point) const;
  [[nodiscard]] CellInput ranges(const Sequence& sequence, const Box& box,
                                 const Steps& point) const;
  [[nodiscard]] Ground ground_of(const Sequence& sequence, const Box& box) const;
  [[nodiscard]] Steps steps_at(const Sequence& sequence, const GroundPoint& at) const;
  [[nodiscard]] Slopes slopes_of(const Facing& towards, std::size_t view, std::size_t axes,
                                 const Workspace& room) const;
  [[nodiscard]] bool look_along(const Sequence& sequence, std::size_t view, double within,
                                Ground& ground, BoxValue& result, Workspace& room) const;
  [[nodiscard]] BoxValue wide_bound(const Sequence& sequence, const Box& box, double enough,
                                    Workspace& room) const;
  // `others`: least of the objective's square.
  void contract(const std::vector<ViewLook>& looks, double others, double enough,
                const Travel& moves, const Box& box, BoxValue& result) const;
  void bound_rounding();
  [[nodiscard]] double objective(const Sequence& sequence, const std::vector<CellSums>& sums) const;

  const Problem& problem_;
  double trust_;
  std::vector<ViewFrame> frames_;
  Tables tables_;
  std::vector<Range> limits_;  // of the pastes
  double rounding_ = 0;
  double slope_rounding_ = 0;  // the same of a slope of y, per mm
};

}  // namespace mamelon::detail
