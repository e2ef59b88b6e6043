#include "capture/grey_map.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <utility>
#include <vector>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "capture/response_prior.h"
#include "capture/tooth_library.h"
#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

// Linear sRGB to XYZ, IEC 61966-2-1.
Eigen::Matrix3d srgb_to_xyz() {
  Eigen::Matrix3d m;
  m << 0.4124, 0.3576, 0.1805, 0.2126, 0.7152, 0.0722, 0.0193, 0.1192, 0.9505;
  return m;
}

struct Average {
  Eigen::Matrix3d matrix;      // balanced signals (1 for a perfect white) to XYZ
  Eigen::Matrix3d covariance;  // of the error in XYZ for a surface of Y = 1
};

// Signals of a perfect white as a member of the population shows them, or as they are told from
// other surfaces.
using Balance = std::function<Eigen::Vector3d(const Eigen::MatrixXd& response, std::size_t member)>;

Eigen::Vector3d of_white(const Eigen::MatrixXd& response, std::size_t /*member*/) {
  return response.rowwise().sum();
}

// Logarithms of red and blue over green of a perfect white.
Eigen::Vector2d log_ratios(const Eigen::Vector3d& white) {
  return {std::log(white[0] / white[1]), std::log(white[2] / white[1])};
}

// The population, its members weighed by how near the ratios that they see white in are to those of
// the photo: together, camera and light leave their mark there. A file that was balanced to grey
// has lost it.
std::vector<PopulationMember> population_near(const Eigen::Vector3d& white) {
  constexpr double balanced = 0.05;
  constexpr double width = 0.25;
  constexpr double floor = 1e-4;
  std::vector<PopulationMember> population = response_population();
  const Eigen::Vector2d seen = log_ratios(white);
  if (seen.cwiseAbs().maxCoeff() < balanced) return population;
  double total = 0;
  for (PopulationMember& member : population) {
    const Eigen::Vector2d apart = (log_ratios(member.response.rowwise().sum()) - seen) / width;
    member.weight *= std::exp(-0.5 * apart.squaredNorm()) + floor;
    total += member.weight;
  }
  for (PopulationMember& member : population) member.weight /= total;
  return population;
}

// The population is no normal distribution: what a covariance has to be multiplied by so that the
// ΔE00 of 95 % of it lie within the U95 of the product.
double spread_factor(const Training& training, const std::vector<PopulationMember>& population,
                     const std::vector<Eigen::MatrixXd>& misses, const Eigen::Matrix3d& covariance,
                     const Eigen::VectorXd& common, const Eigen::MatrixXd& xyz) {
  std::vector<std::pair<double, double>> squares;  // and their weights
  double total = 0;
  // Every seventh tooth is enough to tell.
  for (Eigen::Index i = 0; i < xyz.cols(); i += 7) {
    const Xyz truth = to_xyz(Eigen::Vector3d(xyz.col(i)));
    const Lab lab = to_lab(truth, training.white);
    const Eigen::Matrix3d slope = truth.y * to_eigen(lab_jacobian(truth, training.white));
    const double u95 = squared_u95(lab, slope * covariance * slope.transpose());
    for (std::size_t m = 0; m < population.size(); ++m) {
      const Xyz read = to_xyz(Eigen::Vector3d(xyz.col(i) + misses[m].col(i)));
      const double error = de00(lab, to_lab(read, training.white));
      squares.emplace_back(error * error / u95, population[m].weight * common[i]);
      total += squares.back().second;
    }
  }
  std::sort(squares.begin(), squares.end());
  double sum = 0;
  for (const auto& [square, weight] : squares) {
    sum += weight;
    if (sum >= 0.95 * total) return square;
  }
  return squares.back().first;
}

// The regression from balanced signals to tristimulus values over a population and teeth around
// `centre`.
Average average_camera(const Training& training, const std::vector<PopulationMember>& population,
                       const Balance& balance, const Lab& centre) {
  const Viewing& viewing = training.viewing;
  const auto balanced_signals = [&](std::size_t member,
                                    const Eigen::MatrixXd& surfaces) -> Eigen::MatrixXd {
    const Eigen::MatrixXd& response = population[member].response;
    return balance(response, member).cwiseInverse().asDiagonal() * response * surfaces.transpose();
  };
  const auto table = weights(response_grid(), viewing);
  const Eigen::MatrixXd teeth = tooth_library(300);
  Eigen::MatrixXd s(3, teeth.cols());
  s.row(0) = Eigen::Map<const Eigen::RowVectorXd>(table->x.data(), teeth.cols());
  s.row(1) = Eigen::Map<const Eigen::RowVectorXd>(table->y.data(), teeth.cols());
  s.row(2) = Eigen::Map<const Eigen::RowVectorXd>(table->z.data(), teeth.cols());
  const Eigen::MatrixXd xyz = s * teeth.transpose();
  // One regression over all cameras draws colours towards the mean of what it is trained on: that
  // has to be the common tooth. These widths leave of the library a spread of 7, 1.7 and 4.5
  // units, about that of natural teeth (from memory).
  Eigen::VectorXd common(teeth.rows());
  for (Eigen::Index i = 0; i < teeth.rows(); ++i) {
    const Lab lab = to_lab(to_xyz(Eigen::Vector3d(xyz.col(i))), training.white);
    const double l = (lab.l - centre.l) / 8;
    const double a = (lab.a - centre.a) / 1.8;
    const double b = (lab.b - centre.b) / 5;
    common[i] = std::exp(-0.5 * (l * l + a * a + b * b));
  }
  const Eigen::VectorXd relative = common.array() / xyz.row(1).transpose().array().square();
  Eigen::Matrix3d moment = Eigen::Matrix3d::Zero();
  Eigen::Matrix3d cross = Eigen::Matrix3d::Zero();
  for (std::size_t m = 0; m < population.size(); ++m) {
    const Eigen::MatrixXd rgb = balanced_signals(m, teeth);
    moment += population[m].weight * rgb * relative.asDiagonal() * rgb.transpose();
    cross += population[m].weight * xyz * relative.asDiagonal() * rgb.transpose();
  }
  Average average{cross * moment.inverse(), Eigen::Matrix3d::Zero()};
  std::vector<Eigen::MatrixXd> misses;
  for (std::size_t m = 0; m < population.size(); ++m) {
    misses.emplace_back(average.matrix * balanced_signals(m, teeth) - xyz);
    average.covariance += population[m].weight / common.sum() * misses.back() *
                          relative.asDiagonal() * misses.back().transpose();
  }
  average.covariance *=
      spread_factor(training, population, misses, average.covariance, common, xyz);
  return average;
}

// A file that a developer has already taken to sRGB. Its maker's 3×3 was trained on other colours
// than teeth, so that the spread over cameras is no smaller than the average camera's.
Average developed_file(const Training& training) {
  Average average{Eigen::Matrix3d::Zero(), Eigen::Matrix3d::Zero()};
  const Eigen::Matrix3d m = srgb_to_xyz();
  const Xyz d65 = to_xyz(Eigen::Vector3d(m.rowwise().sum()));
  for (Eigen::Index c = 0; c < 3; ++c) {
    average.matrix.col(c) = to_eigen(
        adapt(to_xyz(Eigen::Vector3d(m.col(c))), d65, training.white, Adaptation::bradford));
  }
  average.covariance =
      average_camera(training, response_population(), of_white, tooth_centre).covariance;
  return average;
}

// The population's responses as files in linear sRGB show them.
std::vector<PopulationMember> developed_population(const Viewing& viewing) {
  std::vector<PopulationMember> population = response_population();
  const Eigen::Matrix3d from_xyz = srgb_to_xyz().inverse();
  for (PopulationMember& member : population) {
    member.response = from_xyz * developing_matrix(member.response, viewing) * member.response;
  }
  return population;
}

// What a surface of known colour may reflect: one of `rows` for each member of a population.
struct LikelyReflectances {
  Eigen::MatrixXd rows;
  [[nodiscard]] Eigen::VectorXd of_member(std::size_t member) const {
    // A step that shares no factor with their number or with that of lights.
    constexpr std::size_t step = 17;
    return rows.row(static_cast<Eigen::Index>(member * step) % rows.rows()).transpose();
  }
};

// The reflectance where it is stated. Else what surfaces of the colour reflect: the regression of
// the logarithms of reflectances on how far their colours lie from the surface's, and what those of
// the nearest colours depart from it by.
LikelyReflectances likely_reflectances(const TrainingPatch& surface, const Training& training) {
  if (surface.reflectance.size() > 0) return {surface.reflectance.transpose()};
  constexpr double width = 6;
  constexpr Eigen::Index kept = 40;
  const Eigen::MatrixXd known = tooth_coloured_envelope(300);
  const Eigen::MatrixXd logs = known.array().log();
  Eigen::MatrixXd away(known.rows(), 4);
  std::vector<std::pair<double, Eigen::Index>> nearest;
  for (Eigen::Index i = 0; i < known.rows(); ++i) {
    const Eigen::VectorXd r = known.row(i).transpose();
    const Reflectance reflectance(response_grid(), std::vector<double>(r.begin(), r.end()));
    const Eigen::Vector3d apart =
        to_eigen(to_lab(reflectance, training.viewing)) - to_eigen(surface.lab);
    away.row(i) << 1, apart.transpose();
    nearest.emplace_back(apart.squaredNorm(), i);
  }
  Eigen::VectorXd weights(known.rows());
  // The floor keeps a colour far from all on the regression through all of them.
  for (const auto& [square, i] : nearest) {
    weights[i] = std::exp(-0.5 * square / (width * width)) + 1e-9;
  }
  const Eigen::MatrixXd weighted = away.transpose() * weights.asDiagonal();
  const Eigen::MatrixXd fit = (weighted * away).ldlt().solve(weighted * logs);
  std::sort(nearest.begin(), nearest.end());
  LikelyReflectances likely{Eigen::MatrixXd(kept, known.cols())};
  for (Eigen::Index k = 0; k < kept; ++k) {
    const Eigen::Index i = nearest[static_cast<std::size_t>(k)].second;
    likely.rows.row(k) = (fit.row(0) + logs.row(i) - away.row(i) * fit).array().exp();
  }
  return likely;
}

class GreyMap : public ColourMap {
 public:
  GreyMap(const Eigen::Vector3d& balance, Average average)
      : slope_(average.matrix * balance.cwiseInverse().asDiagonal()),
        covariance_(std::move(average.covariance)) {}

  [[nodiscard]] MapEstimate operator()(const Seen& seen) const override {
    const Eigen::Vector3d xyz = slope_ * seen.rgb;
    return {xyz, slope_, covariance_ * xyz[1] * xyz[1]};
  }

  // How much of the average camera's error two surfaces share is not known: none is taken off.
  [[nodiscard]] Eigen::Matrix3d common(const Seen& /*one*/, const Seen& /*other*/) const override {
    return Eigen::Matrix3d::Zero();
  }

 private:
  Eigen::Matrix3d slope_;
  Eigen::Matrix3d covariance_;
};

}  // namespace

std::unique_ptr<ColourMap> fit_grey(const Training& training, Encoding encoding) {
  // Signal of a perfect white, by the neutrals; light ones are known best.
  Eigen::Vector3d signal = Eigen::Vector3d::Zero();
  double light = 0;
  for (const TrainingPatch& p : training.patches) {
    if (!p.neutral) continue;
    signal += p.rgb * p.xyz[1];
    light += p.xyz[1] * p.xyz[1];
  }
  if (light <= 0) throw CaptureError("no usable neutral patch: a grey card needs one");
  const Eigen::Vector3d white = signal / light;
  Average average = encoding == Encoding::linear
                        ? average_camera(training, population_near(white), of_white, tooth_centre)
                        : developed_file(training);
  // Zones of teeth mix several reflectances and vary less than the library's do: squared errors
  // over those stated, found with simulated photos and checked with others.
  constexpr double of_zones = 0.8;
  average.covariance *= of_zones;
  return std::make_unique<GreyMap>(white, std::move(average));
}

std::unique_ptr<ColourMap> fit_tabs(const Training& training, Encoding encoding) {
  const auto count = static_cast<double>(training.patches.size());
  std::vector<LikelyReflectances> likely;
  Eigen::Vector3d signal = Eigen::Vector3d::Zero();
  Eigen::Vector3d xyz = Eigen::Vector3d::Zero();
  for (const TrainingPatch& p : training.patches) {
    likely.push_back(likely_reflectances(p, training));
    signal += p.rgb / count;
    xyz += p.xyz / count;
  }
  const auto balance = [&](const Eigen::MatrixXd& response, std::size_t member) -> Eigen::Vector3d {
    Eigen::VectorXd mean = Eigen::VectorXd::Zero(response.cols());
    for (std::size_t k = 0; k < likely.size(); ++k) {
      mean += likely[k].of_member(member + k) / count;
    }
    return response * mean / xyz[1];
  };
  const Average average = average_camera(
      training,
      encoding == Encoding::linear ? response_population() : developed_population(training.viewing),
      balance, to_lab(to_xyz(xyz), training.white));
  return std::make_unique<GreyMap>(signal / xyz[1], average);
}

}  // namespace mamelon::detail
