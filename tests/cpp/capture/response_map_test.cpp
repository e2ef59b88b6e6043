// Colours of teeth that the library's expectation was not made of, read through the response
// estimate.

#include "capture/response_map.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "mamelon/colour.h"
#include "mamelon/difference.h"

#include "base/low_discrepancy.h"
#include "capture/patches.h"
#include "capture/tooth_library.h"
#include "colour/vectors.h"
#include "demo.h"

namespace {

using demo::d65;
using mamelon::Lab;
using mamelon::Reflectance;
namespace detail = mamelon::detail;

// Teeth as an S-shaped rise with a shoulder, which owes nothing to the modelled ones (a family of
// tests/simulator/tuning_surfaces.py without its noise).
std::vector<Reflectance> rising_teeth() {
  std::vector<Reflectance> teeth;
  for (detail::QuasiRandom draw(4); teeth.size() < 30; draw.next()) {
    const double low = draw.in(0, 0.10, 0.35);
    const double high = draw.in(1, 0.40, 0.75);
    std::vector<double> curve;
    for (double nm = 400; nm <= 700; nm += 10) {
      const double rise = (nm - draw.in(2, 395, 450)) / draw.in(3, 35, 90);
      curve.push_back(low + (high - low) / (1 + std::exp(-rise)));
    }
    Reflectance tooth(detail::response_grid(), std::move(curve));
    const Lab lab = to_lab(tooth, d65());
    if (lab.l > 50 && lab.l < 88 && lab.b > 5 && lab.b < 30) teeth.push_back(std::move(tooth));
  }
  return teeth;
}

detail::Training training_of(const mamelon::Card& card, const Eigen::MatrixXd& response) {
  detail::Training training{.patches = {}, .viewing = d65(), .white = white_point(d65())};
  for (const mamelon::Patch& patch : card.patches) {
    detail::TrainingPatch p;
    p.reflectance = detail::on_response_grid(*patch.reflectance);
    p.lab = to_lab(*patch.reflectance, d65());
    p.xyz = detail::to_eigen(to_xyz(*patch.reflectance, d65()));
    p.raw = p.rgb = response * p.reflectance;
    p.rgb_cov.diagonal() = (0.0015 * p.rgb).cwiseAbs2();
    p.raw_cov = p.rgb_cov;
    training.patches.push_back(std::move(p));
  }
  return training;
}

TEST(ResponseMap, ReadsTeethOfOtherOpticsWithLittleBiasAndWithinTheInterval) {
  const auto model = detail::response_model(d65());
  const auto teeth = rising_teeth();
  const auto population = detail::response_population();
  const mamelon::Xyz white = white_point(d65());
  int within = 0;
  int all = 0;
  Eigen::Vector3d off = Eigen::Vector3d::Zero();
  // A step through cameras and lights that shares no factor with the number of either.
  for (std::size_t i = 5; i < population.size(); i += 97) {
    const Eigen::MatrixXd& response = population[i].response;
    const auto map = fit_response(training_of(demo::card("tooth20"), response), model);
    for (const Reflectance& tooth : teeth) {
      const auto read = (*map)({response * detail::on_response_grid(tooth)});
      const Lab lab = to_lab(detail::to_xyz(read.xyz), white);
      const Lab truth = to_lab(tooth, d65());
      const Eigen::Matrix3d slope = detail::to_eigen(lab_jacobian(detail::to_xyz(read.xyz), white));
      const double error = mamelon::de00(lab, truth);
      within +=
          error * error <= detail::squared_u95(lab, slope * read.covariance * slope.transpose())
              ? 1
              : 0;
      off += detail::to_eigen(lab) - detail::to_eigen(truth);
      ++all;
    }
  }
  EXPECT_GE(within, 0.97 * all) << all;
  // Both were 0.2 before the lift in the violet.
  EXPECT_LT(std::abs(off[1] / all), 0.1);
  EXPECT_LT(std::abs(off[2] / all), 0.15);
}

}  // namespace
