#pragma once
// Simulated technicians: tabs, circumstances and gross errors whose truth is known.

#include <cstddef>
#include <vector>

#include "mamelon/calibrate.h"

#include "shade/sample.h"

namespace mamelon::test {

struct StudyDesign {
  std::size_t tabs = 16;
  std::size_t repeats = 3;
  std::size_t days = 5;
  std::size_t operators = 3;
  std::size_t instruments = 1;
  double gross_share = 0.02;
  double gross_least = 5;  // size of gross errors in standard deviations of the repeats
  double gross_most = 15;
};

// Covariances of one reading's parts, of the size of a good spectrophotometer's on tabs.
struct StudyErrors {
  Mat3 repeat{{{0.0625, 0.006, 0.015}, {0.006, 0.0144, 0.004}, {0.015, 0.004, 0.04}}};
  Mat3 day{{{0.04, 0, 0.008}, {0, 0.0064, 0}, {0.008, 0, 0.0225}}};
  Mat3 operators{{{0.05, 0.003, 0}, {0.003, 0.01, 0}, {0, 0, 0.03}}};
  Mat3 instrument{{{0.16, 0, 0.03}, {0, 0.03, 0}, {0.03, 0, 0.09}}};
};

struct SimulatedStudy {
  std::vector<RepeatReading> readings;
  std::vector<bool> gross;
  std::vector<Lab> truth;  // of every tab; as its one instrument sees it, where there is one only
};

std::vector<Lab> random_tabs(std::size_t count, detail::Generator& random);
Lab random_tooth(detail::Generator& random);
Lab with_error(const Lab& lab, const Mat3& covariance, detail::Generator& random);

SimulatedStudy simulate(const std::vector<Lab>& tabs, const StudyDesign& design,
                        const StudyErrors& errors, detail::Generator& random);

// The calibration of its readings, named so that its set can be used.
Calibration calibrated(const SimulatedStudy& study);

// Studies to run: the value of MAMELON_STUDIES, or `few`, which takes seconds.
std::size_t study_count(std::size_t few);

// Standard error of a share seen in `count` independent cases.
double share_error(double share, double count);

// P(F ≤ x) of the non-central F distribution, as the Poisson mixture of central ones.
double noncentral_f_cdf(double x, double dof1, double dof2, double noncentrality);

}  // namespace mamelon::test
