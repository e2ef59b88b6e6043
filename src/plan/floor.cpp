#include <algorithm>
#include <cmath>
#include <optional>

#include "mamelon/plan.h"

#include "shade/sample.h"

namespace mamelon {
namespace {

// The change of reflectance that goes with a change of colour; from the other side where the
// changed colour is out of reach of any reflectance.
std::vector<double> change_of(const Reflectance& smooth, const Lab& lab, const Vec3& step,
                              const Viewing& viewing) {
  for (const double sign : {1.0, -1.0}) {
    const Lab moved{lab.l + sign * step[0], lab.a + sign * step[1], lab.b + sign * step[2]};
    try {
      const Reflectance other = estimate_reflectance(moved, viewing, smooth.grid());
      std::vector<double> change(smooth.size());
      for (std::size_t i = 0; i < change.size(); ++i) {
        change[i] = sign * (other[i] - smooth[i]);
      }
      return change;
    } catch (const ModelError&) {
      if (sign < 0) {
        throw;
      }
    }
  }
  return {};
}

}  // namespace

Floor floor_of(const Reading& reading, const Grid& grid) {
  check_grid(grid);
  Floor floor;
  floor.estimated = !reading.reflectance.has_value();
  floor.provenance = make_provenance(
      "floor_of", canonical_text(grid),
      {reading.provenance.digest.empty() ? digest_of(reading) : reading.provenance.digest});
  const Mat3 covariance = reading.lab.covariance();
  std::optional<Reflectance> smooth;
  if (floor.estimated || covariance != Mat3{}) {
    smooth = estimate_reflectance(reading.lab.value, reading.viewing, grid);
  }
  floor.reflectance = floor.estimated ? *smooth
                                      : resample(*reading.reflectance, grid, Interpolation::cubic,
                                                 Extrapolation::hold);
  if (covariance == Mat3{}) {
    return floor;
  }
  const Mat3 root = detail::lower_root(covariance);
  for (std::size_t k = 0; k < 3; ++k) {
    const Vec3 step{root[0][k], root[1][k], root[2][k]};
    if (step != Vec3{}) {
      floor.errors.emplace_back(grid, change_of(*smooth, reading.lab.value, step, reading.viewing));
    }
  }
  return floor;
}

}  // namespace mamelon
