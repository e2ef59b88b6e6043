#include "plan/bound.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "plan/small_algebra.h"

namespace mamelon::detail {
namespace {

// Boxes up to this wide have their second derivatives looked at; in wider ones they say nothing.
constexpr double curved_width_mm = 0.17;
// Wider boxes are looked at along a direction of colour only: their slopes say next to nothing.
// Where ranges are believed in less, boxes are as good as narrower.
constexpr double wide_mm = 0.2;
// Share of the distance asked for that a better centre must promise before its colour is worked
// out.
constexpr double worth_moving = 0.7;
// Colours this much farther from the target than what was enough may still lead to a better plan
// downhill.
constexpr double worth_a_value = 1.2;

}  // namespace

Bounder::Bounder(const Problem& problem, double trust) : problem_(problem), trust_(trust) {
  std::vector<ViewTable> tables;
  for (const View& view : problem.views) {
    if (view.weight > 0) {
      frames_.push_back(make_frame(problem, view));
      tables.push_back(
          make_view_table(frames_.back(), problem.floor.size(), padded_bands(problem)));
    }
  }
  tables_ = make_tables(problem, std::move(tables));
  for (const Material& m : problem.materials) {
    limits_.push_back(limits_of(m));
  }
  bound_rounding();
}

// Every operation in single precision is off by half a unit in the last place, u. With r the
// greatest reflectance that these pastes reach inside in a band, 1 − R0 Rg is off by
// 3 r² / (1 − r²) + 1 of them, and a layer adds 2 + r (6 + 3 r² / (1 − r²)) to what it carries
// without amplifying it, for dR/dRg ≤ 1. A slope is off by what 2(K + S) makes of that. Colours
// within reach of an answer have df/dX within half again of the target's.
void Bounder::bound_rounding() {
  constexpr double unit = 1.0 / (1 << 24);
  constexpr double surface_units = 6;
  constexpr double sum_units = 8;
  constexpr double half_again = 1.5;
  double steepest_surface = 0;
  double k2 = 0;
  for (const Material& m : problem_.materials) {
    steepest_surface = std::max(steepest_surface, (1 - m.surface.k1) * (1 - m.surface.k2));
    k2 = std::max(k2, m.surface.k2);
  }
  for (const ViewTable& table : tables_.views) {
    double colour = 0;
    std::vector<double> gradient(problem_.materials.size(), 0);
    for (std::size_t i = 0; i < problem_.floor.size(); ++i) {
      double r = problem_.floor[i];
      for (const Material& m : problem_.materials) {
        const double a = 1 + m.k[i] / m.s[i];
        r = std::max(r, 1 / (a + std::sqrt(a * a - 1)));
      }
      r = std::min(r, 0.999);
      const double inside = unit * (2 + 2 * (2 + r * (6 + 3 * r * r / (1 - r * r))));
      const double surface = steepest_surface / ((1 - k2 * r) * (1 - k2 * r));
      const double length = std::hypot(static_cast<double>(table.reach[i]),
                                       static_cast<double>(table.reach[tables_.bands + i]),
                                       static_cast<double>(table.reach[2 * tables_.bands + i]));
      colour += length * (surface * inside + (surface_units + sum_units) * unit);
      for (std::size_t p = 0; p < gradient.size(); ++p) {
        const Material& m = problem_.materials[p];
        gradient[p] += length * surface * 2 * (m.k[i] + m.s[i]) * (inside + surface_units * unit);
      }
    }
    const double steepest = *std::max_element(gradient.begin(), gradient.end());
    rounding_ = std::max(rounding_, half_again * (colour + problem_.thickness_sd_mm * steepest));
    slope_rounding_ = std::max(slope_rounding_, half_again * steepest);
  }
}

double Bounder::constant(const Sequence& sequence) const {
  double sd = 0;
  for (std::size_t j = 0; j < sequence.layers; ++j) {
    sd = std::max(sd, problem_.materials[sequence.paste[j]].sd);
  }
  double sum = 0;
  for (const ViewFrame& frame : frames_) {
    sum += frame.view->weight * (frame.view->target_ms + sd * sd * frame.view->paste_ms);
  }
  return sum;
}

// Allowed steps of a paste, rounded outward so that no allowed thickness is lost.
Bounder::Range Bounder::limits_of(const Material& m) const {
  const double steps = static_cast<double>(tables_.steps);
  return {static_cast<int>(std::min(steps + 1, std::floor(m.minimum_mm / tables_.step_mm + 1e-6))),
          static_cast<int>(std::min(steps, std::ceil(m.maximum_mm / tables_.step_mm - 1e-6)))};
}

Bounder::Range Bounder::slack_range(const Sequence& sequence, const Box& box) const {
  Range range = limits_[sequence.paste[slack_layer(sequence.layers)]];
  int least = static_cast<int>(tables_.steps);
  int most = least;
  for (std::size_t axis = 0; axis + 1 < sequence.layers; ++axis) {
    least -= box.high[axis];
    most -= box.low[axis];
  }
  return {std::max(range.low, least), std::min(range.high, most)};
}

bool Bounder::trim(const Sequence& sequence, Box& box) const {
  const Range slack = limits_[sequence.paste[slack_layer(sequence.layers)]];
  const int total = static_cast<int>(tables_.steps);
  const std::size_t axes = sequence.layers - 1;
  for (std::size_t axis = 0; axis < axes; ++axis) {
    const int other_low = axes == 2 ? box.low[1 - axis] : 0;
    const int other_high = axes == 2 ? box.high[1 - axis] : 0;
    const int low = std::max<int>(box.low[axis], total - slack.high - other_high);
    const int high = std::min<int>(box.high[axis], total - slack.low - other_low);
    if (low > high) {
      return false;
    }
    box.low[axis] = static_cast<std::uint16_t>(low);
    box.high[axis] = static_cast<std::uint16_t>(high);
  }
  const Range left = slack_range(sequence, box);
  return left.low <= left.high;
}

bool Bounder::whole(const Sequence& sequence, Box& box) const {
  for (std::size_t axis = 0; axis + 1 < sequence.layers; ++axis) {
    const Range range = limits_[sequence.paste[free_layer(axis)]];
    if (range.low > range.high) {
      return false;
    }
    box.low[axis] = static_cast<std::uint16_t>(range.low);
    box.high[axis] = static_cast<std::uint16_t>(range.high);
  }
  return trim(sequence, box);
}

// The middle of the box, moved towards a corner as far as it takes for the slack layer to stay
// within its own range.
Steps Bounder::expansion_point(const Sequence& sequence, const Box& box) const {
  const std::size_t axes = sequence.layers - 1;
  const Range slack = slack_range(sequence, box);
  std::array<int, 2> at{};
  int left = static_cast<int>(tables_.steps);
  for (std::size_t axis = 0; axis < axes; ++axis) {
    at[axis] = (box.low[axis] + box.high[axis]) / 2;
    left -= at[axis];
  }
  for (std::size_t axis = 0; axis < axes; ++axis) {
    const int share = axes == 2 && axis == 0 ? 2 : 1;
    if (left < slack.low) {
      const int back = std::min((slack.low - left + share - 1) / share, at[axis] - box.low[axis]);
      at[axis] -= back;
      left += back;
    } else if (left > slack.high) {
      const int on = std::min((left - slack.high + share - 1) / share, box.high[axis] - at[axis]);
      at[axis] += on;
      left -= on;
    }
  }
  // The first thickness may have room where the second had none.
  if (axes == 2 && left < slack.low) {
    const int back = std::min(slack.low - left, at[0] - box.low[0]);
    at[0] -= back;
    left += back;
  } else if (axes == 2 && left > slack.high) {
    const int on = std::min(left - slack.high, box.high[0] - at[0]);
    at[0] += on;
    left -= on;
  }
  Steps point{};
  for (std::size_t axis = 0; axis < axes; ++axis) {
    point[free_layer(axis)] = at[axis];
  }
  point[slack_layer(sequence.layers)] = left;
  return point;
}

const float* Bounder::row(const Sequence& sequence, std::size_t layer, int steps) const {
  const auto index = static_cast<std::size_t>(steps);
  return layer == 0 ? tables_.first(sequence.paste[0], index)
                    : tables_.layer(sequence.paste[layer], index);
}

CellInput Bounder::input(const Sequence& sequence, const Steps& at) const {
  CellInput input;
  input.layers = sequence.layers;
  for (std::size_t j = 0; j < sequence.layers; ++j) {
    input.mid[j] = row(sequence, j, at[j]);
    input.material[j] = tables_.material(sequence.paste[j]);
  }
  const Interface& surface = problem_.materials[sequence.paste[sequence.layers - 1]].surface;
  input.pass = static_cast<float>((1 - surface.k1) * (1 - surface.k2));
  input.k2 = static_cast<float>(surface.k2);
  input.added = surface.specular_included ? static_cast<float>(surface.k1) : 0;
  return input;
}

// With the ends of a box about its expansion point.
CellInput Bounder::ranges(const Sequence& sequence, const Box& box, const Steps& point) const {
  CellInput cell = input(sequence, point);
  const Range rest = slack_range(sequence, box);
  const std::size_t slack = slack_layer(sequence.layers);
  cell.low[slack] = row(sequence, slack, rest.low);
  cell.high[slack] = row(sequence, slack, rest.high);
  for (std::size_t axis = 0; axis + 1 < sequence.layers; ++axis) {
    const std::size_t j = free_layer(axis);
    cell.low[j] = row(sequence, j, box.low[axis]);
    cell.high[j] = row(sequence, j, box.high[axis]);
    const int reach = std::max(point[j] - box.low[axis], box.high[axis] - point[j]);
    (axis == 0 ? cell.reach_first : cell.reach_third) = static_cast<float>(reach * tables_.step_mm);
  }
  return cell;
}

Ground Bounder::ground_of(const Sequence& sequence, const Box& box) const {
  Ground ground;
  ground.axes = sequence.layers - 1;
  for (std::size_t axis = 0; axis < ground.axes; ++axis) {
    ground.low[axis] = box.low[axis];
    ground.high[axis] = box.high[axis];
  }
  const Range rest = slack_range(sequence, box);
  ground.least_sum = static_cast<int>(tables_.steps) - rest.high;
  ground.greatest_sum = static_cast<int>(tables_.steps) - rest.low;
  return ground;
}

Steps Bounder::steps_at(const Sequence& sequence, const GroundPoint& at) const {
  Steps steps{};
  int rest = static_cast<int>(tables_.steps);
  for (std::size_t axis = 0; axis + 1 < sequence.layers; ++axis) {
    steps[free_layer(axis)] = at[axis];
    rest -= at[axis];
  }
  steps[slack_layer(sequence.layers)] = rest;
  return steps;
}

// The allowed thicknesses of the box, which may end between grid points.
Travel Bounder::travel(const Sequence& sequence, const Box& box, const Steps& point) const {
  Travel travel;
  travel.layers = sequence.layers;
  travel.floor_errors = tables_.floor_errors.empty() ? 0 : most_floor_errors;
  travel.trust = trust_;
  travel.thickness_variance = problem_.thickness_sd_mm * problem_.thickness_sd_mm;
  Region& region = travel.region;
  region.unknowns = sequence.layers - 1;
  for (std::size_t axis = 0; axis < region.unknowns; ++axis) {
    const std::size_t j = free_layer(axis);
    const Material& m = problem_.materials[sequence.paste[j]];
    const double at = point[j] * tables_.step_mm;
    region.low[axis] = std::max(box.low[axis] * tables_.step_mm, m.minimum_mm) - at;
    region.high[axis] =
        std::max(region.low[axis], std::min(box.high[axis] * tables_.step_mm, m.maximum_mm) - at);
    travel.reach[axis] = std::max(std::abs(region.low[axis]), std::abs(region.high[axis]));
    // An exchange is the difference of two slopes.
    travel.rounding += 2 * slope_rounding_ * travel.reach[axis];
  }
  if (region.unknowns > 0) {
    const std::size_t slack = slack_layer(sequence.layers);
    const Material& m = problem_.materials[sequence.paste[slack]];
    const double at = point[slack] * tables_.step_mm;
    region.least_sum = at - m.maximum_mm;
    region.greatest_sum = at - m.minimum_mm;
  }
  return travel;
}

// Where every other part of the objective is at its least, one view's ΔE00 can take the rest.
void Bounder::contract(const std::vector<ViewLook>& looks, double others, double enough,
                       const Travel& moves, const Box& box, BoxValue& result) const {
  result.inner = box;
  if (moves.region.unknowns == 0 || !std::isfinite(enough)) {
    return;
  }
  Region region = moves.region;
  for (std::size_t v = 0; v < frames_.size(); ++v) {
    const double weight = frames_[v].view->weight;
    const double rest = enough * enough - others + weight * looks[v].least_de_square();
    if (!looks[v].contract(frames_[v], std::sqrt(std::max(0.0, rest) / weight), region)) {
      result.empty = true;
      return;
    }
  }
  for (std::size_t axis = 0; axis < region.unknowns; ++axis) {
    const int at = result.point[free_layer(axis)];
    const int low = at + static_cast<int>(std::floor(region.low[axis] / tables_.step_mm));
    const int high = at + static_cast<int>(std::ceil(region.high[axis] / tables_.step_mm));
    result.inner.low[axis] = static_cast<std::uint16_t>(std::max<int>(box.low[axis], low));
    result.inner.high[axis] = static_cast<std::uint16_t>(std::min<int>(box.high[axis], high));
  }
}

Workspace Bounder::workspace() const {
  const std::size_t views = frames_.size();
  return {std::vector<CellSums>(views),   std::vector<ViewLook>(views), Exchanges(tables_.bands),
          std::vector<SeenColour>(views), std::vector<double>(views),   GroundPoint{}};
}

// Of what a view faces, from the exchanges that `range_sums` left.
Slopes Bounder::slopes_of(const Facing& towards, std::size_t view, std::size_t axes,
                          const Workspace& room) const {
  const std::array<float, 3> coefficient{static_cast<float>(towards.coefficient[0]),
                                         static_cast<float>(towards.coefficient[1]),
                                         static_cast<float>(towards.coefficient[2])};
  Slopes slopes;
  for (std::size_t axis = 0; axis < axes; ++axis) {
    const Lean lean = lean_of(tables_.views[view], coefficient, room.exchanges, axis);
    const double middle = tables_.step_mm * static_cast<double>(lean.middle);
    const double half = tables_.step_mm * trust_ * static_cast<double>(lean.half);
    slopes.least[axis] = middle - half;
    slopes.greatest[axis] = middle + half;
  }
  return slopes;
}

// Shrinks the ground to where one view's colour can lie within a distance of the target, seen along
// the direction in which the colour of the expansion point lies; false when nothing is left.
bool Bounder::look_along(const Sequence& sequence, std::size_t view, double within, Ground& ground,
                         BoxValue& result, Workspace& room) const {
  const ViewFrame& frame = frames_[view];
  const SeenColour& middle = room.colours[view];
  GroundPoint at = room.middle;
  const Vec3 y = offset(frame, middle);
  const double distance = norm(y);
  double nearest = distance;
  const auto towards = distance > 0 ? facing(frame, scale(1 / distance, y), within) : std::nullopt;
  if (!towards) {
    result.promise = std::max(result.promise, nearest);
    return true;
  }
  const Slopes slopes = slopes_of(*towards, view, ground.axes, room);
  double rounding = 0;
  std::array<double, 2> doubt{};
  for (std::size_t axis = 0; axis < ground.axes; ++axis) {
    const int width = ground.high[axis] - ground.low[axis];
    const double least = slopes.least[axis];
    const double greatest = slopes.greatest[axis];
    doubt[axis] = width * ((greatest - least) / 2 + 0.125 * std::abs(greatest + least));
    // An exchange is the difference of two slopes. The point may lie outside the ground that other
    // views have left.
    const int way = std::max(
        {width, std::abs(ground.high[axis] - at[axis]), std::abs(at[axis] - ground.low[axis])});
    rounding += 2 * slope_rounding_ * way * tables_.step_mm;
  }
  result.axis = doubt[1] > doubt[0] ? 1 : 0;
  double value = towards->constant + dot(towards->coefficient, middle.xyz) - rounding;
  double least = value + least_change(ground, slopes, at);
  const GroundPoint centre = best_centre(ground, slopes);
  if (least < within && centre != at) {
    const double change = least_change(ground, slopes, centre);
    if (value + change_between(slopes, at, centre) + change > worth_moving * within) {
      at = centre;
      const Steps point = steps_at(sequence, at);
      cell_sums(tables_, input(sequence, point), CellDepth::colour, room.sums.data());
      const SeenColour colour = seen(frame, room.sums[view].xyz);
      value = towards->constant + dot(towards->coefficient, colour.xyz) - rounding;
      least = value + change;
      const double there = norm(offset(frame, colour));
      if (there < nearest) {
        nearest = there;
        result.point = point;
      }
    }
  }
  result.promise = std::max(result.promise, nearest);
  return least < within && mamelon::detail::contract(ground, slopes, at, within - value);
}

BoxValue Bounder::wide_bound(const Sequence& sequence, const Box& box, double enough,
                             Workspace& room) const {
  BoxValue result;
  result.inner = box;
  result.at_point = std::numeric_limits<double>::infinity();
  result.point = expansion_point(sequence, box);
  range_sums(tables_, ranges(sequence, box, result.point), room.sums.data(), room.exchanges);
  double square = constant(sequence);
  for (std::size_t v = 0; v < frames_.size(); ++v) {
    room.colours[v] = seen(frames_[v], room.sums[v].xyz);
    room.least_de[v] = frames_[v].floor(least_apart(frames_[v], room.colours[v], room.sums[v]));
    square += frames_[v].view->weight * room.least_de[v] * room.least_de[v];
  }
  result.bound = std::sqrt(square);
  if (result.bound >= enough) {
    return result;
  }
  Ground ground = ground_of(sequence, box);
  for (std::size_t axis = 0; axis < ground.axes; ++axis) {
    room.middle[axis] = result.point[free_layer(axis)];
  }
  bool near = true;
  for (std::size_t v = 0; v < frames_.size(); ++v) {
    // Where every other part of the objective is at its least, one view's ΔE00 can take the rest.
    const double weight = frames_[v].view->weight;
    const double rest = (enough * enough - square) / weight + room.least_de[v] * room.least_de[v];
    const double within = frames_[v].floor.reach(std::sqrt(std::max(0.0, rest)));
    if (std::isfinite(within)) {
      if (!look_along(sequence, v, within, ground, result, room)) {
        result.empty = true;
        return result;
      }
      near = near && result.promise < worth_a_value * within;
    }
  }
  for (std::size_t axis = 0; axis < ground.axes; ++axis) {
    result.inner.low[axis] = static_cast<std::uint16_t>(ground.low[axis]);
    result.inner.high[axis] = static_cast<std::uint16_t>(ground.high[axis]);
  }
  if (near) {
    result.at_point = unlimited_value(sequence, result.point, room);
    result.promise = result.at_point;
  }
  return result;
}

BoxValue Bounder::bound(const Sequence& sequence, const Box& box, double enough,
                        Workspace& room) const {
  int widest = 0;
  for (std::size_t axis = 0; axis + 1 < sequence.layers; ++axis) {
    widest = std::max(widest, box.high[axis] - box.low[axis]);
  }
  if (trust_ * widest * tables_.step_mm > wide_mm) {
    return wide_bound(sequence, box, enough, room);
  }
  std::vector<CellSums>& sums = room.sums;
  std::vector<ViewLook>& looks = room.looks;
  BoxValue result;
  result.point = expansion_point(sequence, box);
  const Travel moves = travel(sequence, box, result.point);
  const CellInput cell = ranges(sequence, box, result.point);

  cell_sums(tables_, cell, CellDepth::box, sums.data());
  const double fixed = constant(sequence);
  double square = fixed;
  std::array<double, 2> doubt{};
  for (std::size_t v = 0; v < frames_.size(); ++v) {
    looks[v] = ViewLook(frames_[v], sums[v], moves, false);
    const double weight = frames_[v].view->weight;
    square += weight * looks[v].least_square();
    doubt[0] += weight * looks[v].doubt()[0];
    doubt[1] += weight * looks[v].doubt()[1];
  }
  result.axis = doubt[1] > doubt[0] ? 1 : 0;
  result.bound = std::sqrt(square);
  result.at_point = std::numeric_limits<double>::infinity();
  if (result.bound >= enough) {
    return result;
  }
  contract(looks, square, enough, moves, box, result);
  if (result.empty) {
    return result;
  }
  const bool spread = moves.thickness_variance > 0;
  if (spread && widest * tables_.step_mm > curved_width_mm) {
    result.at_point = unlimited_value(sequence, result.point, room);
    result.promise = result.at_point;
    return result;
  }
  if (spread) {
    cell_sums(tables_, cell, CellDepth::curved, sums.data());
    for (std::size_t v = 0; v < frames_.size(); ++v) {
      looks[v] = ViewLook(frames_[v], sums[v], moves, true);
    }
  }
  SumOfSquares sum;
  double blur_square = 0;
  double constant = fixed;
  for (std::size_t v = 0; v < frames_.size(); ++v) {
    looks[v].add_to(frames_[v], sums[v], moves, spread, problem_.weights, sum, blur_square,
                    constant);
  }
  const double nearest =
      std::max(0.0, std::sqrt(sum.least(moves.region)) - std::sqrt(blur_square) - moves.rounding);
  result.bound = std::max(result.bound, std::sqrt(constant + nearest * nearest));
  result.at_point =
      spread ? objective(sequence, sums) : unlimited_value(sequence, result.point, room);
  result.promise = result.at_point;
  return result;
}

double Bounder::value(const Sequence& sequence, const Steps& steps, Workspace& room) const {
  for (std::size_t j = 0; j < sequence.layers; ++j) {
    const Material& m = problem_.materials[sequence.paste[j]];
    const double mm = steps[j] * tables_.step_mm;
    if (steps[j] < 0 || mm < m.minimum_mm - 1e-9 || mm > m.maximum_mm + 1e-9) {
      return std::numeric_limits<double>::infinity();
    }
  }
  return unlimited_value(sequence, steps, room);
}

double Bounder::unlimited_value(const Sequence& sequence, const Steps& steps,
                                Workspace& room) const {
  cell_sums(tables_, input(sequence, steps), CellDepth::point, room.sums.data());
  return objective(sequence, room.sums);
}

double Bounder::objective(const Sequence& sequence, const std::vector<CellSums>& sums) const {
  const double variance = problem_.thickness_sd_mm * problem_.thickness_sd_mm;
  const std::size_t errors = tables_.floor_errors.empty() ? 0 : most_floor_errors;
  double square = constant(sequence);
  for (std::size_t v = 0; v < frames_.size(); ++v) {
    const ViewFrame& frame = frames_[v];
    const PointColour point = colour_at(frame, sums[v], sequence.layers + errors);
    const double de = de00(frame.view->target, point.lab, problem_.weights);
    double spread = 0;
    for (std::size_t j = 0; j < sequence.layers + errors; ++j) {
      spread += (j < sequence.layers ? variance : 1) * dot(point.gradient[j], point.gradient[j]);
    }
    square += frame.view->weight * (de * de + spread);
  }
  return std::sqrt(square);
}

}  // namespace mamelon::detail
