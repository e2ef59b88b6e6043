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
  double mean_square = 0;    // of ΔE00 at first order
};

struct Evaluation {
  std::vector<double> reflectance;
  std::vector<ViewValue> views;
  double expected = 0;
};

// Weighted mean square of ΔE00 alone.
double nominal_ms(const Optics& optics, const std::vector<std::size_t>& pastes,
                  const std::vector<double>& thickness_mm);

// The colour under every light.
std::vector<Lab> colours(const Optics& optics, const std::vector<std::size_t>& pastes,
                         const std::vector<double>& thickness_mm);

// `views` empty of weight 0 included. The errors are those of the thicknesses, the floor and the
// constants of each paste, which err together in all its layers; the target's own and the engine's
// are in `mean_square` and in `rest_covariance`.
Evaluation evaluate(const Optics& optics, const std::vector<std::size_t>& pastes,
                    const std::vector<double>& thickness_mm);

// The rms and the 95th percentile of ΔE00 over all errors.
struct Spread {
  double rms = 0;
  double p95 = 0;
  bool sampled = false;
};
// At first order where the mean square that follows from moving each layer by one standard
// deviation both ways, with ΔE00 itself, agrees with first order to a few per cent; else from whole
// stacks drawn by a fixed low-discrepancy sample.
Spread spread_of(const Optics& optics, const std::vector<std::size_t>& pastes,
                 const std::vector<double>& thickness_mm, const Evaluation& found);

}  // namespace mamelon::detail
