#include "plan/bound.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace mamelon::detail {
namespace {

// Radii at which the least ΔE00 is tabulated: 0, then geometric.
constexpr std::size_t radii = 40;
constexpr double first_radius = 0.02;
constexpr double radius_ratio = 1.27;
constexpr int directions = 200;

double radius(std::size_t i) {
  return i == 0 ? 0 : first_radius * std::pow(radius_ratio, static_cast<double>(i - 1));
}

double norm(const Vec3& v) {
  return std::sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
}
double dot(const Vec3& a, const Vec3& b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

// Upper triangular U with UᵀU = m, by Cholesky.
Mat3 upper_root(const Mat3& m) {
  Mat3 u{};
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = i; j < 3; ++j) {
      double sum = m[i][j];
      for (std::size_t k = 0; k < i; ++k) {
        sum -= u[k][i] * u[k][j];
      }
      u[i][j] = i == j ? std::sqrt(std::max(sum, 1e-12)) : sum / u[i][i];
    }
  }
  return u;
}

Vec3 solve_upper(const Mat3& u, const Vec3& y) {
  Vec3 x{};
  for (std::size_t n = 3; n-- > 0;) {
    double sum = y[n];
    for (std::size_t j = n + 1; j < 3; ++j) {
      sum -= u[n][j] * x[j];
    }
    x[n] = sum / u[n][n];
  }
  return x;
}

// f of ISO/CIE 11664-4 and its slope in X (Y, Z) itself.
struct CubeRoot {
  double f = 0;
  double slope = 0;
};
CubeRoot cube_root(double value, double white) {
  constexpr double epsilon = 216.0 / 24389;
  constexpr double kappa = 24389.0 / 27;
  const double t = value / white;
  if (t > epsilon) {
    const double f = std::cbrt(t);
    return {f, 1 / (3 * f * f * white)};
  }
  return {(kappa * t + 16) / 116, kappa / 116 / white};
}

// dLab/df.
constexpr Mat3 lab_of_f{{{0, 116, 0}, {500, -500, 0}, {0, 200, -200}}};

// Least |y + Σ columns·x| over low ≤ x ≤ high, one or two unknowns.
double least_length(const Vec3& y, const std::array<Vec3, 2>& columns, std::size_t count,
                    const std::array<double, 2>& low, const std::array<double, 2>& high) {
  const auto along = [](const Vec3& from, const Vec3& column, double lo, double hi) {
    const double square = dot(column, column);
    const double x = square > 0 ? std::clamp(-dot(from, column) / square, lo, hi) : lo;
    return norm({from[0] + x * column[0], from[1] + x * column[1], from[2] + x * column[2]});
  };
  if (count == 0) {
    return norm(y);
  }
  if (count == 1) {
    return along(y, columns[0], low[0], high[0]);
  }
  const double a = dot(columns[0], columns[0]);
  const double b = dot(columns[0], columns[1]);
  const double c = dot(columns[1], columns[1]);
  const double p = -dot(columns[0], y);
  const double q = -dot(columns[1], y);
  const double determinant = a * c - b * b;
  if (determinant > 1e-12 * a * c) {
    const double x0 = (p * c - b * q) / determinant;
    const double x1 = (a * q - b * p) / determinant;
    if (x0 >= low[0] && x0 <= high[0] && x1 >= low[1] && x1 <= high[1]) {
      Vec3 rest{};
      for (std::size_t i = 0; i < 3; ++i) {
        rest[i] = y[i] + x0 * columns[0][i] + x1 * columns[1][i];
      }
      return norm(rest);
    }
  }
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t axis = 0; axis < 2; ++axis) {
    for (const double edge : {low[axis], high[axis]}) {
      const Vec3& column = columns[axis];
      const Vec3 from{y[0] + edge * column[0], y[1] + edge * column[1], y[2] + edge * column[2]};
      least = std::min(least, along(from, columns[1 - axis], low[1 - axis], high[1 - axis]));
    }
  }
  return least;
}

// Least ΔE00 on the sphere |y| = radius, over evenly spread directions (Fibonacci's spiral), less
// half a percent for what lies between them; then the least over all larger radii too.
std::vector<double> tabulate_least(const View& view, const Mat3& root,
                                   const DifferenceWeights& weights) {
  std::vector<double> least(radii, 0);
  for (std::size_t i = 1; i < radii; ++i) {
    double found = std::numeric_limits<double>::infinity();
    for (int n = 0; n < directions; ++n) {
      const double z = 1 - (2 * n + 1.0) / directions;
      const double turn = n * std::numbers::pi * (3 - std::sqrt(5.0));
      const double across = std::sqrt(1 - z * z);
      const Vec3 y{radius(i) * across * std::cos(turn), radius(i) * across * std::sin(turn),
                   radius(i) * z};
      const Vec3 step = solve_upper(root, y);
      found = std::min(
          found, de00(view.target,
                      {view.target.l + step[0], view.target.a + step[1], view.target.b + step[2]},
                      weights));
    }
    least[i] = 0.995 * found;
  }
  for (std::size_t i = radii - 1; i-- > 0;) {
    least[i] = std::min(least[i], least[i + 1]);
  }
  return least;
}

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
    frame.least_de00 = tabulate_least(view, frame.root, problem.weights);

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
        const Vec3 column{frame.lab_root[0][c], frame.lab_root[1][c], frame.lab_root[2][c]};
        crude += norm(column) * std::abs(df[c]);
      }
      table.length[i] = static_cast<float>(norm(multiply(frame.lab_root, df)));
      table.crude_length[i] = static_cast<float>(crude);
    }
    frames_.push_back(std::move(frame));
    tables.push_back(std::move(table));
  }
  tables_ = make_tables(problem, std::move(tables));
}

double Bounder::least_de00(const ViewFrame& frame, double y) {
  if (y <= first_radius) {
    return frame.least_de00[1] * y / first_radius;
  }
  const auto index =
      static_cast<std::size_t>(1 + std::log(y / first_radius) / std::log(radius_ratio));
  if (index + 1 >= radii) {
    return frame.least_de00[radii - 1];
  }
  const double from = radius(index);
  const double share = std::clamp((y - from) / (radius(index + 1) - from), 0.0, 1.0);
  return (1 - share) * frame.least_de00[index] + share * frame.least_de00[index + 1];
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

BoxValue Bounder::bound(const Sequence& sequence, const Box& box) const {
  BoxValue result;
  result.point = expansion_point(sequence, box);
  CellInput cell = input(sequence, result.point);
  const std::size_t axes = sequence.layers - 1;
  const std::size_t slack = slack_layer(sequence.layers);
  std::array<double, 2> low{};
  std::array<double, 2> high{};
  for (std::size_t axis = 0; axis < axes; ++axis) {
    const std::size_t j = free_layer(axis);
    cell.low[j] = tables_.layer(sequence.paste[j], box.low[axis]);
    cell.high[j] = tables_.layer(sequence.paste[j], box.high[axis]);
    low[axis] = (box.low[axis] - result.point[j]) * tables_.step_mm;
    high[axis] = (box.high[axis] - result.point[j]) * tables_.step_mm;
  }
  const Range rest = slack_range(sequence, box);
  cell.low[slack] = tables_.layer(sequence.paste[slack], static_cast<std::size_t>(rest.low));
  cell.high[slack] = tables_.layer(sequence.paste[slack], static_cast<std::size_t>(rest.high));

  constexpr std::size_t most_views = 16;
  std::array<CellSums, most_views> sums;
  cell_sums(tables_, cell, sums.data());

  const double sigma = problem_.thickness_sd_mm;
  double bound = constant(sequence);
  double at_point = bound;
  std::array<double, 2> doubt{};
  for (std::size_t v = 0; v < frames_.size(); ++v) {
    const ViewFrame& frame = frames_[v];
    const View& view = *frame.view;
    const CellSums& s = sums[v];
    const double white[3] = {view.white.x, view.white.y, view.white.z};
    Vec3 f{};
    Vec3 derivative{};
    double relative = 0;  // how far df/dXYZ moves within the box, relative to the point
    double off = 0;       // how far it is at the point from the target's
    double most = 0;      // ratio of the two
    for (std::size_t c = 0; c < 3; ++c) {
      const double x = s.xyz[c];
      const CubeRoot root = cube_root(x, white[c]);
      f[c] = root.f;
      derivative[c] = root.slope;
      // df/dX goes as X^(−2/3); both ends by the tangent of that power, which bounds it.
      const double least = std::max(x - static_cast<double>(s.below[c]), 1e-4 * x);
      relative = std::max(
          {relative, 2.0 / 3 * (x / least - 1), 2.0 / 3 * static_cast<double>(s.above[c]) / x});
      const double ratio = root.slope / frame.derivative[c];
      off = std::max(off, std::abs(ratio - 1));
      most = std::max(most, ratio);
    }
    const Lab lab{116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])};
    const Vec3 y = multiply(
        frame.root, Vec3{lab.l - view.target.l, lab.a - view.target.a, lab.b - view.target.b});
    std::array<Vec3, most_layers> gradient{};
    std::array<double, most_layers> deviation{};
    double spread = 0;
    double least_spread = 0;
    const double theta = off + relative * most;
    for (std::size_t j = 0; j < sequence.layers; ++j) {
      Vec3 df{};
      double bend = 0;
      for (std::size_t c = 0; c < 3; ++c) {
        df[c] = derivative[c] * static_cast<double>(s.slope[j][c]);
        const Vec3 column{frame.lab_root[0][c], frame.lab_root[1][c], frame.lab_root[2][c]};
        bend += norm(column) * std::abs(df[c]);
      }
      gradient[j] = multiply(frame.lab_root, df);
      deviation[j] = trust_ * (static_cast<double>(s.deviation[j]) +
                               theta * static_cast<double>(s.crude_deviation[j]) + relative * bend);
      const double steep = norm(gradient[j]);
      spread += steep * steep;
      const double least = std::max(0.0, steep - deviation[j]);
      least_spread += least * least;
    }
    std::array<Vec3, 2> columns{};
    double blur = 0;
    for (std::size_t axis = 0; axis < axes; ++axis) {
      const std::size_t j = free_layer(axis);
      for (std::size_t c = 0; c < 3; ++c) {
        columns[axis][c] = gradient[j][c] - gradient[slack][c];
      }
      const double reach = std::max(-low[axis], high[axis]);
      const double step = reach * (deviation[j] + deviation[slack]);
      blur += step;
      doubt[axis] += frame.weight * (step + 0.25 * reach * norm(columns[axis]));
    }
    const double nearest = least_length(y, columns, axes, low, high) - blur;
    const double de = nearest > 0 ? least_de00(frame, nearest) : 0;
    const double straight = least_de00(frame, norm(y));
    bound += frame.weight * (de * de + sigma * sigma * least_spread);
    at_point += frame.weight * (straight * straight + sigma * sigma * spread);
  }
  result.bound = std::sqrt(bound);
  result.at_point = std::sqrt(at_point);
  result.axis = axes == 2 && doubt[1] > doubt[0] ? 1 : 0;
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
  constexpr std::size_t most_views = 16;
  std::array<CellSums, most_views> sums;
  point_sums(tables_, input(sequence, steps), sums.data());
  const double sigma = problem_.thickness_sd_mm;
  double square = constant(sequence);
  for (std::size_t v = 0; v < frames_.size(); ++v) {
    const ViewFrame& frame = frames_[v];
    const View& view = *frame.view;
    const CellSums& s = sums[v];
    const double white[3] = {view.white.x, view.white.y, view.white.z};
    Vec3 f{};
    Vec3 derivative{};
    for (std::size_t c = 0; c < 3; ++c) {
      const CubeRoot root = cube_root(s.xyz[c], white[c]);
      f[c] = root.f;
      derivative[c] = root.slope;
    }
    double part = de00(view.target, {116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])},
                       problem_.weights);
    part *= part;
    for (std::size_t j = 0; j < sequence.layers; ++j) {
      Vec3 df{};
      for (std::size_t c = 0; c < 3; ++c) {
        df[c] = derivative[c] * static_cast<double>(s.slope[j][c]);
      }
      const double steep = norm(multiply(frame.lab_root, df));
      part += sigma * sigma * steep * steep;
    }
    square += frame.weight * part;
  }
  return std::sqrt(square);
}

}  // namespace mamelon::detail
