#include "plan/bound.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "plan/target_shape.h"

namespace mamelon::detail {
namespace {

constexpr std::size_t most_views = 16;

// f of ISO/CIE 11664-4 and its slope in X (Y, Z) itself.
struct CubeRoot {
  double f = 0;
  double slope = 0;
};
// The cube root of a value near 1 by Halley's steps, a third of the cost of std::cbrt; three steps
// from this start are exact to 1e-12 between 0.005 and 2.
double root_near_one(double t) {
  double f = (0.2 + t * (1.3 - 0.45 * t)) / (0.9 + 0.15 * t);
  for (int i = 0; i < 3; ++i) {
    const double cube = f * f * f;
    f *= (cube + 2 * t) / (2 * cube + t);
  }
  return f;
}

CubeRoot cube_root(double value, double white) {
  constexpr double epsilon = 216.0 / 24389;
  constexpr double kappa = 24389.0 / 27;
  const double t = value / white;
  if (t > epsilon) {
    const double f = root_near_one(t);
    return {f, 1 / (3 * f * f * white)};
  }
  return {(kappa * t + 16) / 116, kappa / 116 / white};
}

// dLab/df.
constexpr Mat3 lab_of_f{{{0, 116, 0}, {500, -500, 0}, {0, 200, -200}}};

}  // namespace

std::size_t slack_layer(std::size_t layers) {
  return layers > 1 ? 1 : 0;
}
std::size_t free_layer(std::size_t axis) {
  return axis == 0 ? 0 : 2;
}

Bounder::Bounder(const Problem& problem, double trust) : problem_(problem), trust_(trust) {
  std::vector<ViewTable> tables;
  const std::size_t padded = padded_bands(problem);
  for (const View& view : problem.views) {
    if (!(view.weight > 0)) {
      continue;
    }
    ViewFrame frame;
    frame.view = &view;
    frame.weight = view.weight;
    frame.root = upper_root(view.metric);
    frame.lab_root = multiply(frame.root, lab_of_f);
    const Xyz target = to_xyz(view.target, view.white);
    frame.derivative = {cube_root(target.x, view.white.x).slope,
                        cube_root(target.y, view.white.y).slope,
                        cube_root(target.z, view.white.z).slope};
    frame.f = {cube_root(target.x, view.white.x).f, cube_root(target.y, view.white.y).f,
               cube_root(target.z, view.white.z).f};
    frame.f_to_y = least_per_axis(frame.lab_root);
    for (std::size_t c = 0; c < 3; ++c) {
      frame.column_length[c] =
          norm({frame.lab_root[0][c], frame.lab_root[1][c], frame.lab_root[2][c]});
    }
    RatioTables ratios = tabulate_ratio(view, frame.root, problem.weights);
    frame.least_de00 = std::move(ratios.least_de00);
    frame.ratio_slope = std::move(ratios.ratio_slope);

    ViewTable table;
    table.length.resize(padded);
    table.crude_length.resize(padded);
    const std::vector<double>* rows[3] = {&view.weights->x, &view.weights->y, &view.weights->z};
    for (const std::vector<double>* row : rows) {
      for (std::size_t i = 0; i < padded; ++i) {
        const double w = i < row->size() ? (*row)[i] : 0;
        table.weights.push_back(static_cast<float>(w));
        table.magnitudes.push_back(static_cast<float>(std::abs(w)));
      }
    }
    for (std::size_t i = 0; i < problem.floor.size(); ++i) {
      Vec3 df{};
      double crude = 0;
      for (std::size_t c = 0; c < 3; ++c) {
        df[c] = frame.derivative[c] * (*rows[c])[i];
        crude += frame.column_length[c] * std::abs(df[c]);
      }
      table.length[i] = static_cast<float>(norm(multiply(frame.lab_root, df)));
      table.crude_length[i] = static_cast<float>(crude);
    }
    frames_.push_back(std::move(frame));
    tables.push_back(std::move(table));
  }
  tables_ = make_tables(problem, std::move(tables));
}

double Bounder::constant(const Sequence& sequence) const {
  double sd = 0;
  for (std::size_t j = 0; j < sequence.layers; ++j) {
    sd = std::max(sd, problem_.materials[sequence.paste[j]].sd);
  }
  double sum = 0;
  for (const ViewFrame& frame : frames_) {
    sum += frame.weight * (frame.view->target_ms + sd * sd * frame.view->paste_ms);
  }
  return sum;
}

// Allowed steps of a paste, rounded outward so that no allowed thickness is lost.
Bounder::Range Bounder::limits(std::size_t paste) const {
  const Material& m = problem_.materials[paste];
  const double steps = static_cast<double>(tables_.steps);
  return {static_cast<int>(std::min(steps + 1, std::floor(m.minimum_mm / tables_.step_mm + 1e-6))),
          static_cast<int>(std::min(steps, std::ceil(m.maximum_mm / tables_.step_mm - 1e-6)))};
}

Bounder::Range Bounder::slack_range(const Sequence& sequence, const Box& box) const {
  Range range = limits(sequence.paste[slack_layer(sequence.layers)]);
  int least = static_cast<int>(tables_.steps);
  int most = least;
  for (std::size_t axis = 0; axis + 1 < sequence.layers; ++axis) {
    least -= box.high[axis];
    most -= box.low[axis];
  }
  return {std::max(range.low, least), std::min(range.high, most)};
}

bool Bounder::trim(const Sequence& sequence, Box& box) const {
  const Range slack = limits(sequence.paste[slack_layer(sequence.layers)]);
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
    const Range range = limits(sequence.paste[free_layer(axis)]);
    if (range.low > range.high) {
      return false;
    }
    box.low[axis] = static_cast<std::uint16_t>(range.low);
    box.high[axis] = static_cast<std::uint16_t>(range.high);
  }
  return trim(sequence, box);
}

bool Bounder::within_limits(const Sequence& sequence, const Box& box) const {
  int slack_low = static_cast<int>(tables_.steps);
  int slack_high = slack_low;
  const auto allowed = [&](std::size_t layer, int low, int high) {
    const Material& m = problem_.materials[sequence.paste[layer]];
    return low * tables_.step_mm >= m.minimum_mm && high * tables_.step_mm <= m.maximum_mm;
  };
  for (std::size_t axis = 0; axis + 1 < sequence.layers; ++axis) {
    if (!allowed(free_layer(axis), box.low[axis], box.high[axis])) {
      return false;
    }
    slack_low -= box.high[axis];
    slack_high -= box.low[axis];
  }
  return allowed(slack_layer(sequence.layers), slack_low, slack_high);
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

CellInput Bounder::input(const Sequence& sequence, const Steps& at) const {
  CellInput input;
  input.layers = sequence.layers;
  for (std::size_t j = 0; j < sequence.layers; ++j) {
    input.mid[j] = tables_.layer(sequence.paste[j], static_cast<std::size_t>(at[j]));
    input.material[j] = tables_.material(sequence.paste[j]);
  }
  const Interface& surface = problem_.materials[sequence.paste[sequence.layers - 1]].surface;
  input.pass = static_cast<float>((1 - surface.k1) * (1 - surface.k2));
  input.k2 = static_cast<float>(surface.k2);
  input.added = surface.specular_included ? static_cast<float>(surface.k1) : 0;
  return input;
}

Bounder::Point Bounder::at_point(const ViewFrame& frame, const CellSums& sums, std::size_t layers) {
  const double white[3] = {frame.view->white.x, frame.view->white.y, frame.view->white.z};
  Point point;
  for (std::size_t c = 0; c < 3; ++c) {
    const CubeRoot root = cube_root(sums.xyz[c], white[c]);
    point.f[c] = root.f;
    point.derivative[c] = root.slope;
  }
  point.lab = {116 * point.f[1] - 16, 500 * (point.f[0] - point.f[1]),
               200 * (point.f[1] - point.f[2])};
  for (std::size_t j = 0; j < layers; ++j) {
    Vec3 df{};
    for (std::size_t c = 0; c < 3; ++c) {
      df[c] = point.derivative[c] * static_cast<double>(sums.slope[j][c]);
      point.bend[j] += frame.column_length[c] * std::abs(df[c]);
    }
    point.gradient[j] = multiply(frame.lab_root, df);
  }
  return point;
}

struct Bounder::ViewBound {
  double nearest = 0;       // least |y| in the box
  double de = 0;            // least ΔE00 in the box
  double least_spread = 0;  // least mean square over thickness error
  double at_point = 0;      // mean square at the point
  Lab lab;                  // at the point
  double y = 0;             // |y| at the point
  double extent = 0;        // most that y moves within the box
  std::array<double, 2> doubt{};
};

Bounder::ViewBound Bounder::view_bound(const ViewFrame& frame, const CellSums& sums,
                                       std::size_t layers, const std::array<double, 2>& low,
                                       const std::array<double, 2>& high) const {
  const Point point = at_point(frame, sums, layers);
  double relative = 0;  // how far df/dXYZ moves within the box, relative to the point
  double off = 0;       // how far it is at the point from the target's
  double most = 0;      // ratio of the two
  double apart = 0;     // |y| that one of X, Y, Z alone keeps
  for (std::size_t c = 0; c < 3; ++c) {
    const double x = sums.xyz[c];
    const double below = sums.below[c];
    const double above = sums.above[c];
    // df/dX goes as X^(−2/3); both ends by the tangent of that power, which bounds it.
    const double fall = 2.0 / 3 * (x / std::max(x - below, 1e-4 * x) - 1);
    relative = std::max({relative, fall, 2.0 / 3 * above / x});
    const double ratio = point.derivative[c] / frame.derivative[c];
    off = std::max(off, std::abs(ratio - 1));
    most = std::max(most, ratio);
    const double greatest_f = point.f[c] + point.derivative[c] * above;
    const double least_f = point.f[c] - point.derivative[c] * (1 + fall) * below;
    apart =
        std::max(apart, frame.f_to_y[c] * std::max(frame.f[c] - greatest_f, least_f - frame.f[c]));
  }
  const double theta = off + relative * most;
  const double variance = problem_.thickness_sd_mm * problem_.thickness_sd_mm;
  std::array<double, most_layers> deviation{};
  double spread = 0;
  double least_spread = 0;
  for (std::size_t j = 0; j < layers; ++j) {
    deviation[j] =
        trust_ * (static_cast<double>(sums.deviation[j]) +
                  theta * static_cast<double>(sums.crude_deviation[j]) + relative * point.bend[j]);
    const double steep = norm(point.gradient[j]);
    const double least = std::max(0.0, steep - deviation[j]);
    spread += steep * steep;
    least_spread += least * least;
  }
  const Lab& target = frame.view->target;
  const Vec3 y = multiply(
      frame.root, Vec3{point.lab.l - target.l, point.lab.a - target.a, point.lab.b - target.b});
  const std::size_t slack = slack_layer(layers);
  std::array<Vec3, 2> columns{};
  double blur = 0;
  ViewBound result;
  for (std::size_t axis = 0; axis + 1 < layers; ++axis) {
    const std::size_t j = free_layer(axis);
    for (std::size_t c = 0; c < 3; ++c) {
      columns[axis][c] = point.gradient[j][c] - point.gradient[slack][c];
    }
    const double reach = std::max(-low[axis], high[axis]);
    const double step = reach * (deviation[j] + deviation[slack]);
    blur += step;
    const double travel = reach * norm(columns[axis]);
    result.extent += travel + step;
    result.doubt[axis] = step + 0.25 * travel;
  }
  result.nearest = std::max({least_length(y, columns, layers - 1, low, high) - blur, apart, 0.0});
  result.de = interpolate(frame.least_de00, result.nearest);
  result.least_spread = variance * least_spread;
  result.lab = point.lab;
  result.y = norm(y);
  const double straight = interpolate(frame.least_de00, result.y);
  result.at_point = straight * straight + variance * spread;
  return result;
}

// In a box that is small against its distance from the target, ΔE00 / |y| is near what it is at
// the point.
void Bounder::sharpen(const ViewFrame& frame, ViewBound& value) const {
  if (value.nearest <= 0 || value.extent > 0.7 * value.nearest) {
    return;
  }
  const double ratio = de00(frame.view->target, value.lab, problem_.weights) / value.y;
  const double change =
      interpolate(frame.ratio_slope, value.y + value.extent) * value.extent / value.nearest;
  value.de = std::max(value.de, (ratio - change) * value.nearest);
}

BoxValue Bounder::bound(const Sequence& sequence, const Box& box, double enough) const {
  BoxValue result;
  result.point = expansion_point(sequence, box);
  CellInput cell = input(sequence, result.point);
  const std::size_t slack = slack_layer(sequence.layers);
  std::array<double, 2> low{};
  std::array<double, 2> high{};
  for (std::size_t axis = 0; axis + 1 < sequence.layers; ++axis) {
    const std::size_t j = free_layer(axis);
    cell.low[j] = tables_.layer(sequence.paste[j], box.low[axis]);
    cell.high[j] = tables_.layer(sequence.paste[j], box.high[axis]);
    low[axis] = (box.low[axis] - result.point[j]) * tables_.step_mm;
    high[axis] = (box.high[axis] - result.point[j]) * tables_.step_mm;
  }
  cell.reach_first = static_cast<float>(std::max(-low[0], high[0]));
  cell.reach_third = static_cast<float>(std::max(-low[1], high[1]));
  const Range rest = slack_range(sequence, box);
  cell.low[slack] = tables_.layer(sequence.paste[slack], static_cast<std::size_t>(rest.low));
  cell.high[slack] = tables_.layer(sequence.paste[slack], static_cast<std::size_t>(rest.high));

  std::array<CellSums, most_views> sums;
  cell_sums(tables_, cell, sums.data());
  const double fixed = constant(sequence);
  double at_point = fixed;
  std::array<double, 2> doubt{};
  std::array<ViewBound, most_views> parts;
  const auto total = [&] {
    double square = fixed;
    for (std::size_t v = 0; v < frames_.size(); ++v) {
      square += frames_[v].weight * (parts[v].de * parts[v].de + parts[v].least_spread);
    }
    return std::sqrt(square);
  };
  for (std::size_t v = 0; v < frames_.size(); ++v) {
    parts[v] = view_bound(frames_[v], sums[v], sequence.layers, low, high);
    at_point += frames_[v].weight * parts[v].at_point;
    doubt[0] += frames_[v].weight * parts[v].doubt[0];
    doubt[1] += frames_[v].weight * parts[v].doubt[1];
  }
  result.bound = total();
  if (result.bound < enough) {
    for (std::size_t v = 0; v < frames_.size(); ++v) {
      sharpen(frames_[v], parts[v]);
    }
    result.bound = total();
  }
  result.at_point = std::sqrt(at_point);
  result.axis = doubt[1] > doubt[0] ? 1 : 0;
  return result;
}

double Bounder::value(const Sequence& sequence, const Steps& steps) const {
  for (std::size_t j = 0; j < sequence.layers; ++j) {
    const Material& m = problem_.materials[sequence.paste[j]];
    const double mm = steps[j] * tables_.step_mm;
    if (steps[j] < 0 || mm < m.minimum_mm - 1e-9 || mm > m.maximum_mm + 1e-9) {
      return std::numeric_limits<double>::infinity();
    }
  }
  return unlimited_value(sequence, steps);
}

double Bounder::unlimited_value(const Sequence& sequence, const Steps& steps) const {
  std::array<CellSums, most_views> sums;
  point_sums(tables_, input(sequence, steps), sums.data());
  const double variance = problem_.thickness_sd_mm * problem_.thickness_sd_mm;
  double square = constant(sequence);
  for (std::size_t v = 0; v < frames_.size(); ++v) {
    const Point point = at_point(frames_[v], sums[v], sequence.layers);
    const double de = de00(frames_[v].view->target, point.lab, problem_.weights);
    double spread = 0;
    for (std::size_t j = 0; j < sequence.layers; ++j) {
      spread += dot(point.gradient[j], point.gradient[j]);
    }
    square += frames_[v].weight * (de * de + variance * spread);
  }
  return std::sqrt(square);
}

}  // namespace mamelon::detail
