#include "studies.h"

#include <cmath>
#include <cstdlib>

#include "shade/distributions.h"
#include "shade_helpers.h"

namespace mamelon::test {
namespace {

Vec3 error_of(const Mat3& covariance, detail::Generator& random) {
  return multiply(detail::lower_root(covariance),
                  Vec3{random.normal(), random.normal(), random.normal()});
}

}  // namespace

Lab with_error(const Lab& lab, const Mat3& covariance, detail::Generator& random) {
  const Vec3 e = error_of(covariance, random);
  return {lab.l + e[0], lab.a + e[1], lab.b + e[2]};
}

Lab random_tooth(detail::Generator& random) {
  return {72 + 5 * random.normal(), 1.5 + 1.6 * random.normal(), 17 + 4.5 * random.normal()};
}

std::vector<Lab> random_tabs(std::size_t count, detail::Generator& random) {
  std::vector<Lab> tabs;
  for (std::size_t i = 0; i < count; ++i) tabs.push_back(random_tooth(random));
  return tabs;
}

SimulatedStudy simulate(const std::vector<Lab>& tabs, const StudyDesign& design,
                        const StudyErrors& errors, detail::Generator& random) {
  const auto effects = [&](std::size_t count, const Mat3& covariance) {
    std::vector<Vec3> drawn;
    for (std::size_t i = 0; i < count; ++i) drawn.push_back(error_of(covariance, random));
    return drawn;
  };
  const auto day = effects(design.days, errors.day);
  const auto by = effects(design.operators, errors.operators);
  const auto on = effects(design.instruments, errors.instrument);
  const Mat3 root = detail::lower_root(errors.repeat);

  SimulatedStudy study;
  for (const Lab& lab : tabs) {
    study.truth.push_back(lab);
    // One instrument's own error is no error of the set that is used with it.
    if (design.instruments == 1) {
      Lab& seen = study.truth.back();
      seen = {lab.l + on[0][0], lab.a + on[0][1], lab.b + on[0][2]};
    }
  }
  for (std::size_t i = 0; i < design.instruments; ++i)
    for (std::size_t d = 0; d < design.days; ++d)
      for (std::size_t o = 0; o < design.operators; ++o)
        for (std::size_t t = 0; t < tabs.size(); ++t)
          for (std::size_t r = 0; r < design.repeats; ++r) {
            Vec3 z{random.normal(), random.normal(), random.normal()};
            const bool gross = random.uniform() < design.gross_share;
            if (gross) {
              const Vec3 way{random.normal(), random.normal(), random.normal()};
              const double length = std::sqrt(way[0] * way[0] + way[1] * way[1] + way[2] * way[2]);
              const double size =
                  design.gross_least + (design.gross_most - design.gross_least) * random.uniform();
              for (std::size_t k = 0; k < 3; ++k) z[k] += size * way[k] / length;
            }
            const Vec3 e = multiply(root, z);
            const Lab& at = tabs[t];
            RepeatReading row{.reading = reading("tab " + std::to_string(t),
                                                 {at.l + day[d][0] + by[o][0] + on[i][0] + e[0],
                                                  at.a + day[d][1] + by[o][1] + on[i][1] + e[1],
                                                  at.b + day[d][2] + by[o][2] + on[i][2] + e[2]}),
                              .operator_name = "operator " + std::to_string(o),
                              .day = "day " + std::to_string(d),
                              .instrument = "instrument " + std::to_string(i),
                              .row = study.readings.size() + 1};
            study.readings.push_back(std::move(row));
            study.gross.push_back(gross);
          }
  return study;
}

Calibration calibrated(const SimulatedStudy& study) {
  return calibrate(study.readings, {.name = "simulated"});
}

std::size_t study_count(std::size_t few) {
  const char* wanted = std::getenv("MAMELON_STUDIES");
  return wanted == nullptr ? few : static_cast<std::size_t>(std::strtoul(wanted, nullptr, 10));
}

double share_error(double share, double count) {
  return std::sqrt(share * (1 - share) / count);
}

double noncentral_f_cdf(double x, double dof1, double dof2, double noncentrality) {
  double weight = std::exp(-noncentrality / 2);
  double sum = 0;
  for (int j = 0; j < 500; ++j) {
    const double dof = dof1 + 2 * j;
    sum += weight * detail::f_cdf(x * dof1 / dof, dof, dof2);
    weight *= noncentrality / 2 / (j + 1);
  }
  return sum;
}

}  // namespace mamelon::test
