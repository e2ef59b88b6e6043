#include "capture/response_prior.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "mamelon/error.h"

#include "base/low_discrepancy.h"
#include "capture/tooth_library.h"
#include "tables/cameras.h"

namespace mamelon::detail {
namespace {

constexpr Eigen::Index bands = 31;
using Response = Eigen::Matrix<double, 3, bands>;
using Band = Eigen::Matrix<double, 1, bands>;

double nm_of(Eigen::Index band) {
  return 400 + 10 * static_cast<double>(band);
}

Response measured_camera(int camera) {
  Response out;
  for (Eigen::Index k = 0; k < bands; ++k) {
    for (Eigen::Index c = 0; c < 3; ++c) {
      out(c, k) = tables::cameras::rows[k][1 + 3 * Eigen::Index{camera} + c];
    }
  }
  return out;
}

// Linear interpolation of a curve at any wavelength, its ends held.
double at_nm(const Band& curve, double nm) {
  const double position = std::clamp((nm - 400) / 10, 0.0, static_cast<double>(bands - 1));
  const auto k = std::min(static_cast<Eigen::Index>(position), bands - 2);
  const double u = position - static_cast<double>(k);
  return (1 - u) * curve[k] + u * curve[k + 1];
}

// One channel shifted, widened about its peak, tilted and bent.
Band deformed(const Band& channel, double shift_nm, double widening, double tilt,
              const std::array<double, 4>& bends) {
  Eigen::Index peak = 0;
  channel.maxCoeff(&peak);
  Band out;
  for (Eigen::Index k = 0; k < bands; ++k) {
    const double nm = nm_of(peak) + (nm_of(k) - nm_of(peak)) * widening + shift_nm;
    const double x = (nm_of(k) - 550) / 150;
    double exponent = tilt * x;
    for (std::size_t order = 0; order < bends.size(); ++order) {
      exponent +=
          bends[order] * std::cos(std::numbers::pi * static_cast<double>(order + 1) * (x + 1) / 2);
    }
    out[k] = at_nm(channel, nm) * std::exp(exponent);
  }
  return out;
}

// How much makers' cameras differ: 4 nm in place, 5 % in width, 10 % in tilt. Takes coordinates of
// `draw` from `first` on.
Response deformed_camera(const Response& camera, const QuasiRandom& draw, std::size_t first) {
  const double common_shift = draw.spread(first, 2.8);
  Response out;
  for (Eigen::Index c = 0; c < 3; ++c) {
    const std::size_t d = first + 1 + 7 * static_cast<std::size_t>(c);
    std::array<double, 4> bends{};
    for (std::size_t k = 0; k < bends.size(); ++k) bends[k] = draw.spread(d + 3 + k, 0.08);
    out.row(c) = deformed(camera.row(c), common_shift + draw.spread(d, 2.8),
                          std::exp(draw.spread(d + 1, 0.05)), draw.spread(d + 2, 0.1), bends)
                     .cwiseMax(0);
  }
  return out;
}

// The measured cameras, and deformed cameras between two of them.
std::vector<Response> camera_population(std::optional<int> left_out) {
  constexpr int made = 44;
  // Compared as a number: an empty optional may be read before it is asked, which memcheck reports.
  const int without = left_out.value_or(-1);
  std::vector<Response> measured;
  for (int i = 0; i < measured_cameras; ++i) {
    if (i != without) measured.push_back(measured_camera(i));
  }
  std::vector<Response> cameras = measured;
  const auto count = static_cast<double>(measured.size());
  QuasiRandom draw(25);
  for (int i = 0; i < made; ++i, draw.next()) {
    const auto one = static_cast<std::size_t>(draw.in(0, 0, count));
    const auto other = static_cast<std::size_t>(draw.in(1, 0, count));
    const double share = draw[2];
    constexpr double floor = 1e-4;
    const Response mixed = ((measured[one].array() + floor).log() * (1 - share) +
                            (measured[other].array() + floor).log() * share)
                               .exp() -
                           floor;
    cameras.push_back(deformed_camera(mixed, draw, 3));
  }
  return cameras;
}

Band standard_light(const char* name) {
  const Power power = resample(standard_illuminant(name).power(), response_grid(),
                               Interpolation::linear, Extrapolation::error);
  return Eigen::Map<const Band>(power.values().data());
}

// Planck's law, relative.
Band incandescent(double kelvin) {
  constexpr double c2 = 1.4388e7;  // nm·K
  Band out;
  for (Eigen::Index k = 0; k < bands; ++k) {
    out[k] = std::pow(nm_of(k), -5) / (std::exp(c2 / (nm_of(k) * kelvin)) - 1);
  }
  return out / out[16];
}

// A blue diode under a phosphor: two bells, the second wider towards the red.
Band phosphor_light(double blue_nm, double blue_width_nm, double blue_height, double phosphor_nm,
                    double phosphor_width_nm) {
  Band out;
  for (Eigen::Index k = 0; k < bands; ++k) {
    const double blue = (nm_of(k) - blue_nm) / blue_width_nm;
    const double width = phosphor_width_nm * (nm_of(k) < phosphor_nm ? 0.75 : 1);
    const double yellow = (nm_of(k) - phosphor_nm) / width;
    out[k] = blue_height * std::exp(-0.5 * blue * blue) + std::exp(-0.5 * yellow * yellow);
  }
  return out;
}

// Second moment of the reflectances that D has to weigh least over: teeth, and a part of any smooth
// surface.
Eigen::Matrix<double, bands, bands> reflectance_moment() {
  const Eigen::MatrixXd teeth = tooth_library(300);
  const Eigen::MatrixXd of_teeth = teeth.transpose() * teeth;
  Eigen::Matrix<double, bands, bands> smooth;
  for (Eigen::Index i = 0; i < bands; ++i) {
    for (Eigen::Index k = 0; k < bands; ++k) {
      const double d = (nm_of(i) - nm_of(k)) / 40;
      smooth(i, k) = 1 + std::exp(-0.5 * d * d);
    }
  }
  return of_teeth / of_teeth.trace() + 0.25 * smooth / smooth.trace();
}

using Moment = Eigen::Matrix<double, bands, bands>;

Response tristimulus_weights(const Viewing& viewing) {
  const auto table = weights(response_grid(), viewing);
  Response s;
  s.row(0) = Eigen::Map<const Band>(table->x.data());
  s.row(1) = Eigen::Map<const Band>(table->y.data());
  s.row(2) = Eigen::Map<const Band>(table->z.data());
  return s;
}

Eigen::Matrix3d matrix_of(const Response& response, const Response& tristimulus,
                          const Moment& moment) {
  const Eigen::Matrix<double, bands, 3> seen = moment * response.transpose();
  return (tristimulus * seen) * (response * seen).inverse();
}

std::vector<PopulationMember> population_of(const std::vector<Response>& cameras) {
  const auto lights = light_population();
  std::array<double, 3> of_kind{};
  for (const PopulationLight& light : lights) {
    of_kind.at(static_cast<std::size_t>(light.kind)) += 1;
  }
  std::vector<PopulationMember> members;
  for (const Response& camera : cameras) {
    for (const PopulationLight& light : lights) {
      members.push_back({camera.array().rowwise() * light.power.array(),
                         1 / (static_cast<double>(cameras.size() * of_kind.size()) *
                              of_kind.at(static_cast<std::size_t>(light.kind)))});
    }
  }
  return members;
}

}  // namespace

std::vector<PopulationLight> light_population() {
  const Band d50 = standard_light("D50");
  const Band d65 = standard_light("D65");
  std::vector<PopulationLight> lights = {{d50, LightKind::daylight},
                                         {d65, LightKind::daylight},
                                         {standard_light("A"), LightKind::incandescent},
                                         {standard_light("LED-B3"), LightKind::diode},
                                         {incandescent(2700), LightKind::incandescent},
                                         {incandescent(3400), LightKind::incandescent},
                                         {(d50 + d65) / 2, LightKind::daylight}};
  constexpr int phosphors = 9;
  QuasiRandom draw(5);
  for (int i = 0; i < phosphors; ++i, draw.next()) {
    lights.push_back({phosphor_light(draw.in(0, 440, 465), draw.in(1, 8, 13), draw.in(2, 0.2, 1.3),
                                     draw.in(3, 540, 615), draw.in(4, 40, 60)),
                      LightKind::diode});
  }
  return lights;
}

std::vector<Eigen::MatrixXd> cameras_like(int measured, int count) {
  const Response camera = measured_camera(measured);
  std::vector<Eigen::MatrixXd> cameras = {camera};
  QuasiRandom draw(22);
  for (int i = 0; i < count; ++i, draw.next()) {
    cameras.emplace_back(deformed_camera(camera, draw, 0));
  }
  return cameras;
}

Eigen::VectorXd with_offset(const Eigen::VectorXd& reflectance) {
  Eigen::VectorXd out(reflectance.size() + 1);
  out << reflectance, 1;
  return out;
}

std::vector<PopulationMember> response_population() {
  return population_of(camera_population({}));
}

Eigen::Matrix3d developing_matrix(const Eigen::MatrixXd& response, const Viewing& viewing) {
  return matrix_of(response, tristimulus_weights(viewing), reflectance_moment());
}

ResponsePrior make_response_prior(const Viewing& viewing, std::optional<int> left_out) {
  const Response s = tristimulus_weights(viewing);
  const Moment moment = reflectance_moment();
  const auto population = population_of(camera_population(left_out));
  Eigen::MatrixXd samples(3 * bands, static_cast<Eigen::Index>(population.size()));
  Eigen::Index column = 0;
  for (const PopulationMember& member : population) {
    const Response w = member.response;
    const Eigen::Matrix3d m = matrix_of(w, s, moment);
    const Eigen::Matrix<double, bands, 3> d = (m * w - s).transpose();
    samples.col(column++) = d.reshaped();
  }
  const Eigen::VectorXd mean = samples.rowwise().mean();
  samples.colwise() -= mean;
  const Eigen::MatrixXd covariance =
      samples * samples.transpose() / static_cast<double>(samples.cols() - 1);

  // What no member of the population shows: smooth deviations of this size in each band.
  constexpr double unmodelled_sd = 0.0005;
  // Flare as a part of a perfect white's tristimulus values.
  constexpr double flare_sd = 0.003;
  ResponsePrior prior;
  constexpr Eigen::Index wide = bands + 1;
  prior.weights = Eigen::MatrixXd::Zero(3, wide);
  prior.weights.leftCols(bands) = s;
  prior.mean = Eigen::VectorXd::Zero(3 * wide);
  prior.covariance = Eigen::MatrixXd::Zero(3 * wide, 3 * wide);
  for (Eigen::Index a = 0; a < 3; ++a) {
    prior.mean.segment(a * wide, bands) = mean.segment(a * bands, bands);
    for (Eigen::Index b = 0; b < 3; ++b) {
      prior.covariance.block(a * wide, b * wide, bands, bands) =
          covariance.block(a * bands, b * bands, bands, bands);
    }
    for (Eigen::Index i = 0; i < bands; ++i) {
      for (Eigen::Index k = 0; k < bands; ++k) {
        const double d = (nm_of(i) - nm_of(k)) / 25;
        prior.covariance(a * wide + i, a * wide + k) +=
            unmodelled_sd * unmodelled_sd * std::exp(-0.5 * d * d);
      }
    }
    const double flare = flare_sd * s.row(a).sum();
    prior.covariance(a * wide + bands, a * wide + bands) = flare * flare;
  }
  return prior;
}

}  // namespace mamelon::detail
