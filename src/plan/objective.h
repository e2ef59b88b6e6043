#pragma once
// The value of one stack in the full engine: colour, its change with every error, and the goal.

#include <cstddef>
#include <optional>
#include <vector>

#include "plan/problem.h"

namespace mamelon::detail {

// Reflectances of stacks of a problem's pastes: by transport where all carry its constants, else by
// two fluxes.
class Optics {
 public:
  explicit Optics(const Problem& problem);

  // `floor` internal; layers from it outward, in mm.
  [[nodiscard]] std::vector<double> seen(const std::vector<double>& floor,
                                         const std::vector<std::size_t>& pastes,
                                         const std::vector<double>& thickness_mm) const;
  [[nodiscard]] const Problem& problem() const { return problem_; }

 private:
  const Problem& problem_;
  std::vector<std::size_t> prepared_;  // index into `transport_`, one a paste
  std::optional<PreparedPastes> transport_;
};

// One light's part of an evaluation.
struct ViewValue {
  Lab lab;
  double de00 = 0;
  std::vector<Vec3> per_mm;  // dLab per mm of each layer taken alone
  std::vector<Vec3> errors;  // change of Lab with one standard deviation of each independent error
  double spread_ms = 0;      // mean square of ΔE00 that all errors bring
};
// At first order, from the sums over bands of what a stack shows (XYZ) and of its slopes: per mm of
// each layer taken alone, then per standard deviation of each other error. `shift` is added to the
// colour.
ViewValue first_order(const Problem& problem, const View& view, const Vec3& sum,
                      const std::vector<Vec3>& slopes, std::size_t layers, double model_sd,
                      const Vec3& shift = {});

// Sums over bands, with the weights x, y, z.
template <class W>
Vec3 integrate(const std::vector<double>& curve, const W& w) {
  Vec3 sum{};
  for (std::size_t i = 0; i < curve.size(); ++i) {
    sum[0] += w.x[i] * curve[i];
    sum[1] += w.y[i] * curve[i];
    sum[2] += w.z[i] * curve[i];
  }
  return sum;
}
template <class W>
std::vector<Vec3> integrate(const std::vector<std::vector<double>>& curves, const W& w) {
  std::vector<Vec3> sums;
  for (const std::vector<double>& curve : curves) sums.push_back(integrate(curve, w));
  return sums;
}

struct Evaluation {
  std::vector<double> reflectance;
  std::vector<ViewValue> views;
  double expected = 0;
};

// The colour under every light.
std::vector<Lab> colours(const Optics& optics, const std::vector<std::size_t>& pastes,
                         const std::vector<double>& thickness_mm);

// Weighted mean square of ΔE00 alone, of such colours.
double nominal_ms(const Problem& problem, const std::vector<Lab>& labs);

// One sequence of pastes weighed with all its errors, made once for many thicknesses. The errors
// are those of the thicknesses, the floor and the constants of each paste, which err together in
// all its layers; the target's own and the engine's are in `mean_square`.
class Weighing {
 public:
  // `optics` outlives it.
  Weighing(const Optics& optics, const std::vector<std::size_t>& pastes);
  // Under every light, those of weight 0 included.
  [[nodiscard]] Evaluation at(const std::vector<double>& thickness_mm) const;

 private:
  struct Move {
    std::size_t paste = 0;
    std::size_t moved = 0;  // index into `prepared_`
  };
  const Optics& optics_;
  std::vector<std::size_t> pastes_;
  std::vector<Move> moves_;                 // one a mode of each paste
  std::optional<PreparedPastes> prepared_;  // the sequence's pastes, then those moved
};

// The rms and the 95th percentile of ΔE00 over all errors.
struct Spread {
  double rms = 0;
  double p95 = 0;
  bool sampled = false;
};
// From colours drawn by a fixed low-discrepancy sample, of every error: along a curve of second
// order in each thickness where that agrees with the engine at two standard deviations, else of
// whole stacks (`sampled`).
Spread spread_of(const Optics& optics, const std::vector<std::size_t>& pastes,
                 const std::vector<double>& thickness_mm, const Evaluation& found);

}  // namespace mamelon::detail
