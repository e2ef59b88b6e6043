#pragma once
// The search's picture of a problem: every paste as one diffuse stream, tabulated by thickness, at
// a thinned set of bands.

#include <cstddef>
#include <vector>

#include "plan/problem.h"

namespace mamelon::detail {

// Most bands that are left after thinning.
inline constexpr std::size_t most_bands = 48;
// Rows of the outermost layer a band: black, gain and back of `OneStream` with gain' = gain −
// black·back, so that it shows (black + gain' ρ) / (1 − back ρ); then their slopes per mm.
inline constexpr std::size_t top_rows = 6;

// Steps by which the coarse search may overstep a paste's limits: the nearest allowed stack is not
// far.
inline constexpr int beyond_limit = 4;

// One light on the bands of the tables.
struct ViewTable {
  std::vector<double> x, y, z;  // weights, one a band
  Mat3 root{};                  // of the view's metric, lower triangular
};

class Tables {
 public:
  // For layers of up to `steps` steps by one engine. Pastes that the engine does not know have no
  // rows and are not `known`.
  Tables(const Problem& problem, Engine engine, int steps);

  // What the lower layers of a stack, `steps` thick, show: reflectance and its slopes, per mm of
  // each layer and per standard deviation of each of the floor's errors.
  struct Below {
    int layers = 0;
    std::vector<double> rho;
    std::vector<std::vector<double>> slope;
  };
  void start(Below& below) const;
  // Another floor in the place of the problem's, whose errors stay.
  void set_floor(const std::vector<double>& internal) { floor_ = internal; }
  void add(Below& below, std::size_t paste, int steps) const;

  // The goal of a whole stack at first order, and its part without ΔE00 itself.
  struct Value {
    double nominal_ms = 0;  // weighted mean square of ΔE00
    double spread_ms = 0;   // the same of what errors bring
    [[nodiscard]] double mean_square(bool nominal) const {
      return nominal ? nominal_ms : nominal_ms + spread_ms;
    }
  };
  // `shift` is added to the colour under each light; `labs`, where given, gets those colours.
  [[nodiscard]] Value value(const std::vector<std::size_t>& pastes, const std::vector<int>& steps,
                            const std::vector<Vec3>& shift = {},
                            std::vector<Lab>* labs = nullptr) const;

  // The rows of all pastes as outermost layers of one thickness: [band][top_rows][lane].
  [[nodiscard]] const float* top(int steps) const {
    return top_.data() + static_cast<std::size_t>(steps) * bands_ * top_rows * lanes_;
  }
  // Where a paste stands among the lanes: in the order of the roles.
  [[nodiscard]] std::size_t lane(std::size_t paste) const { return lane_[paste]; }
  // The first lane, but for the width of a vector, of pastes that may follow on this one.
  [[nodiscard]] std::size_t first_lane_on(std::size_t paste) const { return first_lane_[paste]; }
  [[nodiscard]] bool has(std::size_t paste, int steps) const {
    return known_[paste] && steps >= 1 && steps <= deepest_[paste];
  }
  [[nodiscard]] Engine engine() const { return engine_; }
  [[nodiscard]] std::size_t bands() const { return bands_; }
  [[nodiscard]] std::size_t lanes() const { return lanes_; }
  [[nodiscard]] const std::vector<ViewTable>& views() const { return views_; }
  [[nodiscard]] const Problem& problem() const { return problem_; }

 private:
  enum Row { reflected, transmitted, black, gain, back, rows };
  [[nodiscard]] const double* row(std::size_t paste, int steps, Row which) const {
    return rows_.data() +
           ((paste * (steps_ + 2) + static_cast<std::size_t>(steps)) * rows + which) * bands_;
  }
  void pick_bands();
  void fill(std::size_t paste);
  void fill_top();

  const Problem& problem_;
  Engine engine_;
  std::size_t steps_;
  std::size_t bands_ = 0;
  std::size_t lanes_ = 0;
  std::vector<double> floor_;
  std::vector<std::size_t> picked_;
  std::vector<std::size_t> lane_, first_lane_;  // one a paste
  std::vector<bool> known_;
  std::vector<int> deepest_;  // steps up to which a paste has rows, and one more for slopes
  std::vector<double> rows_;
  std::vector<float> top_;
  std::vector<ViewTable> views_;
};

}  // namespace mamelon::detail
