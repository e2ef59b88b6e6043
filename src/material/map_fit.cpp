#include "material/map_fit.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include "base/stop.h"
#include "material/fitted_colour.h"

namespace mamelon::detail {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

// g is held as its distance from the default in sds of what pastes have.
constexpr double usual_g = 0.6;
constexpr double usual_g_sd = 0.25;
constexpr double smallest_g = 0.001;
constexpr double largest_g = 0.95;
constexpr double g_of(double unknown) {
  return std::clamp(usual_g + usual_g_sd * unknown, smallest_g, largest_g);
}
constexpr double lowest_unknown_g = (smallest_g - usual_g) / usual_g_sd;
constexpr double highest_unknown_g = (largest_g - usual_g) / usual_g_sd;

// What keeps the level of a curve in reach that the drawdowns leave open: the mean of ln K about
// that of 0.05 per mm, of ln S about that of 1 per mm, a factor of 20 up or down at one sd.
constexpr double usual_absorption = 0.05;
constexpr double level_sd = 3;

// Of a coordinate of CIELAB: what curves as smooth as the prior has them miss of real ones.
constexpr double smooth_shape_sd = 0.1;

constexpr double step = 1e-4;  // of central differences

}  // namespace

MapFit::MapFit(std::span<const Drawdown> drawdowns, const PasteFitOptions& options,
               const std::optional<Aperture>& unknown, Bare bare)
    : drawdowns_(drawdowns),
      options_(options),
      bare_(bare),
      model_(drawdowns, options, unknown),
      grid_(drawdowns.front().backing.grid()),
      bands_(static_cast<Index>(grid_.count)) {
  for (const Drawdown& drawdown : drawdowns) {
    const auto found =
        std::find_if(specimens_.begin(), specimens_.end(),
                     [&](const Drawdown* known) { return known->specimen == drawdown.specimen; });
    specimen_of_.push_back(static_cast<std::size_t>(found - specimens_.begin()));
    if (found == specimens_.end()) {
      specimens_.push_back(&drawdown);
    }
  }
  std::map<std::string, Index> first_of_photo;
  for (const Drawdown& drawdown : drawdowns) {
    const auto errors = static_cast<Index>(drawdown.lab_shared.size());
    const auto [photo, is_new] = first_of_photo.emplace(drawdown.photo, photo_errors_);
    if (is_new) photo_errors_ += errors;
    photo_error_of_.push_back(photo->second);
    MatrixXd& slope = photo_slope_.emplace_back(3, errors);
    for (Index k = 0; k < errors; ++k) {
      const Vec3& one = drawdown.lab_shared[static_cast<std::size_t>(k)];
      slope.col(k) << one[0], one[1], one[2];
    }
  }
  if (options_.viewing) {
    white_ = white_point(*options_.viewing);
    tristimulus_.resize(3, bands_);
    for (Index i = 0; i < bands_; ++i) {
      std::vector<double> one(grid_.count);
      one[static_cast<std::size_t>(i)] = 1;
      const Xyz xyz = to_xyz(Reflectance(grid_, std::move(one)), *options_.viewing);
      tristimulus_.col(i) << xyz.x, xyz.y, xyz.z;
    }
  }
  for (const Drawdown& drawdown : drawdowns) {
    if (drawdown.measured_lab) {
      // What the engine misses moves all bands together.
      const VectorXd level = VectorXd::Constant(bands_, to_xyz(*drawdown.measured_lab, white_).y);
      const VectorXd moved = lab_slope(level) * VectorXd::Constant(bands_, options_.model_sd);
      const double own = drawdown.lab_sd * drawdown.lab_sd + smooth_shape_sd * smooth_shape_sd;
      noise_.emplace_back((moved.array().square() + own).sqrt());
    } else {
      noise_.push_back(
          VectorXd::Constant(bands_, std::hypot(drawdown.reflectance_sd, options_.model_sd)));
    }
    data_rows_ += noise_.back().size();
  }
  unknown_ = VectorXd::Zero(count());
  unknown_.head(bands_).setConstant(std::log(0.1));
  rows_ = data_rows_ + 2 * (bands_ - 2) + unknown_.size();
}

Constants MapFit::constants(const VectorXd& at) const {
  Constants constants;
  for (Index i = 0; i < bands_; ++i) {
    constants.absorption.push_back(std::exp(at[i]));
    constants.scattering.push_back(std::exp(at[bands_ + i]));
  }
  constants.anisotropy = has_g() ? g_of(at[2 * bands_]) : 0;
  constants.refractive_index = options_.refractive_index;
  if (has_index()) {
    constants.refractive_index = std::clamp(
        constants.refractive_index + options_.refractive_index_sd * at[index_at()], 1.3, 1.8);
  }
  if (has_scale()) constants.scale = std::exp(options_.scale_sd * at[scale_at()]);
  if (has_backing()) constants.backing = std::exp(options_.backing_sd * at[backing_at()]);
  if (bare_ == Bare::own_scale) constants.backing *= constants.scale;
  if (has_loss()) constants.loss = std::exp(options_.loss_sd * at[loss_at()]);
  if (has_transmitted()) {
    constants.transmitted = std::exp(options_.scale_sd * at[transmitted_at()]);
  }
  return constants;
}

double MapFit::thickness(const VectorXd& at, std::size_t specimen) const {
  const Drawdown& first = *specimens_[specimen];
  return std::max(1e-3, first.thickness_mm + first.thickness_sd_mm * at[thickness_at(specimen)]);
}

std::vector<VectorXd> MapFit::readings(const VectorXd& at) const {
  const ReadingModel::Prepared paste = model_.prepare(constants(at));
  std::vector<VectorXd> all;
  for (std::size_t d = 0; d < drawdowns_.size(); ++d) {
    const std::vector<double> reading = model_.read(paste, d, thickness(at, specimen_of_[d]));
    all.emplace_back(Eigen::Map<const VectorXd>(reading.data(), bands_));
  }
  return all;
}

Vec3 MapFit::lab_of(const VectorXd& reflectance) const {
  const Eigen::Vector3d xyz = tristimulus_ * reflectance;
  const Lab lab = to_lab(Xyz{xyz[0], xyz[1], xyz[2]}, white_);
  return {lab.l, lab.a, lab.b};
}

MatrixXd MapFit::lab_slope(const VectorXd& reflectance) const {
  return slope_of_lab(tristimulus_ * reflectance, white_) * tristimulus_;
}

double MapFit::bend_sd(bool scattering) const {
  const double steps = grid_.step_nm / 10;
  return steps * steps * (scattering ? options_.scattering_bend_sd : options_.absorption_bend_sd);
}

double MapFit::usual(Index i) const {
  if (i >= bands_) return 0;
  return std::log(usual_absorption);
}

double MapFit::usual_sd(Index i) const {
  if (i >= 2 * bands_) return 1;
  return level_sd * std::sqrt(static_cast<double>(bands_));
}

VectorXd MapFit::residuals(const VectorXd& at) const {
  VectorXd r(rows_);
  Index row = 0;
  const std::vector<VectorXd> all = readings(at);
  for (std::size_t d = 0; d < drawdowns_.size(); ++d) {
    const Drawdown& drawdown = drawdowns_[d];
    VectorXd miss;
    if (drawdown.measured_lab) {
      const Vec3 lab = lab_of(all[d]);
      miss = Eigen::Vector3d(lab[0] - drawdown.measured_lab->l, lab[1] - drawdown.measured_lab->a,
                             lab[2] - drawdown.measured_lab->b);
      miss +=
          photo_slope_[d] * at.segment(photos_at() + photo_error_of_[d], photo_slope_[d].cols());
    } else {
      miss = all[d] - Eigen::Map<const VectorXd>(drawdown.measured.values().data(), bands_);
    }
    r.segment(row, miss.size()) = miss.cwiseQuotient(noise_[d]);
    row += miss.size();
  }
  for (const bool scattering : {false, true}) {
    const Index first = scattering ? bands_ : 0;
    for (Index i = first; i + 2 < first + bands_; ++i) {
      r[row++] = (at[i] - 2 * at[i + 1] + at[i + 2]) / bend_sd(scattering);
    }
  }
  for (Index i = 0; i < at.size(); ++i) {
    r[row++] = (at[i] - usual(i)) / usual_sd(i);
  }
  return r;
}

// A reflectance depends on its own band's constants, on g and on its specimen's thickness alone, so
// that one difference serves all bands.
MatrixXd MapFit::jacobian(const VectorXd& at) const {
  MatrixXd j = MatrixXd::Zero(rows_, at.size());
  const std::vector<VectorXd> here = readings(at);
  const auto slopes = [&](const VectorXd& direction) {
    std::vector<VectorXd> up = readings(at + step * direction);
    const std::vector<VectorXd> down = readings(at - step * direction);
    for (std::size_t d = 0; d < up.size(); ++d) up[d] = (up[d] - down[d]) / (2 * step);
    return up;
  };
  const auto along = [&](Index first, Index count) {
    VectorXd direction = VectorXd::Zero(at.size());
    direction.segment(first, count).setOnes();
    return direction;
  };
  std::vector<Index> starts;
  Index row = 0;
  for (const VectorXd& noise : noise_) {
    starts.push_back(row);
    row += noise.size();
  }
  // `slope` of the reflectance of drawdown d, band by band or against one unknown.
  const auto enter = [&](std::size_t d, const VectorXd& slope, Index column, bool band_by_band) {
    const MatrixXd of_bands = band_by_band ? MatrixXd(slope.asDiagonal()) : MatrixXd(slope);
    const MatrixXd of_rows =
        drawdowns_[d].measured_lab ? MatrixXd(lab_slope(here[d]) * of_bands) : of_bands;
    j.block(starts[d], column, of_rows.rows(), of_rows.cols()) +=
        noise_[d].cwiseInverse().asDiagonal() * of_rows;
  };
  for (const Index first : {Index{0}, bands_}) {
    const std::vector<VectorXd> slope = slopes(along(first, bands_));
    for (std::size_t d = 0; d < slope.size(); ++d) enter(d, slope[d], first, true);
  }
  const auto enter_one = [&](Index at_column) {
    const std::vector<VectorXd> slope = slopes(along(at_column, 1));
    for (std::size_t d = 0; d < slope.size(); ++d) enter(d, slope[d], at_column, false);
  };
  if (has_g()) enter_one(2 * bands_);
  if (has_index()) enter_one(index_at());
  if (has_scale()) enter_one(scale_at());
  if (has_backing()) enter_one(backing_at());
  if (has_loss()) enter_one(loss_at());
  if (has_transmitted()) enter_one(transmitted_at());
  const std::vector<VectorXd> slope =
      slopes(along(thickness_at(0), static_cast<Index>(specimens_.size())));
  for (std::size_t d = 0; d < slope.size(); ++d) {
    enter(d, slope[d], thickness_at(specimen_of_[d]), false);
  }
  for (std::size_t d = 0; d < drawdowns_.size(); ++d) {
    if (photo_slope_[d].cols() == 0) continue;
    j.block(starts[d], photos_at() + photo_error_of_[d], 3, photo_slope_[d].cols()) =
        noise_[d].cwiseInverse().asDiagonal() * photo_slope_[d];
  }
  for (const bool scattering : {false, true}) {
    const Index first = scattering ? bands_ : 0;
    for (Index i = first; i + 2 < first + bands_; ++i, ++row) {
      j(row, i) = 1 / bend_sd(scattering);
      j(row, i + 1) = -2 / bend_sd(scattering);
      j(row, i + 2) = 1 / bend_sd(scattering);
    }
  }
  for (Index i = 0; i < at.size(); ++i, ++row) j(row, i) = 1 / usual_sd(i);
  return j;
}

// g keeps a step away from its bounds, which central differences must not straddle.
void MapFit::keep_in_bounds(VectorXd& at) const {
  if (has_g()) {
    at[2 * bands_] = std::clamp(at[2 * bands_], lowest_unknown_g + step, highest_unknown_g - step);
  }
}

double MapFit::reach(const VectorXd& move) const {
  double longest = move.head(thickness_at(0)).cwiseAbs().maxCoeff();
  for (std::size_t m = 0; m < specimens_.size(); ++m) {
    // A change of the thickness counts five times its relative size.
    const double relative =
        move[thickness_at(m)] * specimens_[m]->thickness_sd_mm / thickness(unknown_, m);
    longest = std::max(longest, 5 * std::abs(relative));
  }
  return longest;
}

// From far away precise readings would rather bend the thicknesses than the constants: they are
// taken to be coarse first.
void MapFit::settle() {
  const std::vector<VectorXd> stated = noise_;
  constexpr double coarse = 0.02;
  for (VectorXd& noise : noise_) noise = noise.cwiseMax(coarse);
  descend();
  noise_ = stated;
  descend();
}

void MapFit::descend() {
  double damping = 1e-2;
  VectorXd residual = residuals(unknown_);
  for (int i = 0; i < 300; ++i) {
    stop_if_asked();
    const MatrixXd j = jacobian(unknown_);
    MatrixXd damped = j.transpose() * j;
    VectorXd downhill = -(j.transpose() * residual);
    damped.diagonal() *= 1 + damping;
    if (has_g()) {
      // g stays where it is at a bound that it would cross.
      const Index at = 2 * bands_;
      VectorXd tried = unknown_;
      tried[at] += downhill[at] > 0 ? 2 * step : -2 * step;
      keep_in_bounds(tried);
      if (std::abs(tried[at] - unknown_[at]) < step) {
        damped.row(at).setZero();
        damped.col(at).setZero();
        damped(at, at) = 1;
        downhill[at] = 0;
      }
    }
    VectorXd move = damped.ldlt().solve(downhill);
    move *= std::min(1.0, 1.5 / reach(move));
    VectorXd trial = unknown_ + move;
    keep_in_bounds(trial);
    const double longest = reach(trial - unknown_);
    const VectorXd trial_residual = residuals(trial);
    const double gained = residual.squaredNorm() - trial_residual.squaredNorm();
    if (gained >= 0) {
      unknown_ = trial;
      residual = trial_residual;
      damping = std::max(damping / 5, 1e-9);
      if (longest < 1e-7 || (longest < 1e-3 && gained < 1e-10 * (1 + residual.squaredNorm()))) {
        return;
      }
    } else {
      damping *= 5;
      if (damping > 1e12) {
        return;
      }
    }
  }
  throw ModelError(
      "the fit of the paste's constants does not settle; check the thicknesses and "
      "the description of the backings");
}

double MapFit::misfit() const {
  return residuals(unknown_).squaredNorm();
}

// Laplace's approximation.
double MapFit::unlikeliness() const {
  const MatrixXd j = jacobian(unknown_);
  const VectorXd pivots = (j.transpose() * j).ldlt().vectorD();
  return misfit() + pivots.array().max(1e-300).log().sum();
}

void MapFit::start_from(const MapFit& other) {
  const Index shared = std::min(count(), other.count());
  unknown_.head(shared) = other.unknown_.head(shared);
}

MatrixXd MapFit::own_covariance() const {
  const MatrixXd j = jacobian(unknown_);
  const MatrixXd own = (j.transpose() * j).ldlt().solve(MatrixXd::Identity(j.cols(), j.cols()));
  return (own + own.transpose()) / 2;
}

// In the units of `PasteFit::covariance`.
MatrixXd MapFit::public_covariance() const {
  VectorXd unit = VectorXd::Ones(unknown_.size());
  if (has_g()) {
    unit[2 * bands_] = usual_g_sd;
  }
  for (std::size_t m = 0; m < specimens_.size(); ++m) {
    unit[thickness_at(m)] = specimens_[m]->thickness_sd_mm;
  }
  if (has_index()) unit[index_at()] = options_.refractive_index_sd;
  const MatrixXd scaled = unit.asDiagonal() * own_covariance() * unit.asDiagonal();
  if (has_index() || !has_g()) return scaled.topLeftCorner(scale_at(), scale_at());
  // An index that is known has a row and a column of nothing.
  const Index before = index_at();
  const Index after = scale_at() - before;
  MatrixXd whole = MatrixXd::Zero(scale_at() + 1, scale_at() + 1);
  whole.topLeftCorner(before, before) = scaled.topLeftCorner(before, before);
  whole.block(before + 1, before + 1, after, after) = scaled.block(before, before, after, after);
  whole.block(0, before + 1, before, after) = scaled.block(0, before, before, after);
  whole.block(before + 1, 0, after, before) = scaled.block(before, 0, after, before);
  return whole;
}

void MapFit::describe_readings(PasteFit& fit) const {
  const std::vector<VectorXd> all = readings(unknown_);
  double squares = 0;
  double count = 0;
  double lab_squares = 0;
  double lab_count = 0;
  for (std::size_t d = 0; d < drawdowns_.size(); ++d) {
    fit.residual.emplace_back();
    fit.lab_residual.emplace_back();
    if (const auto& measured = drawdowns_[d].measured_lab) {
      const Vec3 lab = lab_of(all[d]);
      fit.lab_residual.back() = {measured->l - lab[0], measured->a - lab[1], measured->b - lab[2]};
      for (const double left : fit.lab_residual.back()) lab_squares += left * left;
      lab_count += 3;
      continue;
    }
    std::vector<double> left;
    for (Index i = 0; i < bands_; ++i) {
      left.push_back(drawdowns_[d].measured[static_cast<std::size_t>(i)] - all[d][i]);
      squares += left.back() * left.back();
      ++count;
    }
    fit.residual.back() = Reflectance(grid_, std::move(left));
  }
  fit.residual_rms = count > 0 ? std::sqrt(squares / count) : 0;
  fit.residual_lab_rms = lab_count > 0 ? std::sqrt(lab_squares / lab_count) : 0;
  const MatrixXd j = jacobian(unknown_);
  const MatrixXd normal = j.transpose() * j;
  const MatrixXd data = j.topRows(data_rows_).transpose() * j.topRows(data_rows_);
  fit.chi_square = residuals(unknown_).head(data_rows_).squaredNorm();
  fit.degrees_of_freedom = static_cast<double>(data_rows_) - normal.ldlt().solve(data).trace();
}

PasteFit MapFit::result() const {
  PasteFit fit;
  fit.engine = options_.engine;
  fit.model_sd = options_.model_sd;
  describe_readings(fit);
  const double dof = fit.degrees_of_freedom;
  fit.widened = dof > 1 ? std::sqrt(std::max(1.0, fit.chi_square / dof)) : 1;
  const MatrixXd covariance = fit.widened * fit.widened * public_covariance();
  Constants found = constants(unknown_);
  fit.refractive_index = found.refractive_index;
  fit.scale = found.scale;
  if (has_scale()) {
    fit.scale_sd =
        fit.widened * options_.scale_sd * std::sqrt(own_covariance()(scale_at(), scale_at()));
  }
  fit.absorption = PerMm(grid_, std::move(found.absorption));
  fit.scattering = PerMm(grid_, std::move(found.scattering));
  fit.anisotropy = found.anisotropy;
  fit.thinnest_mm = specimens_.front()->thickness_mm;
  for (std::size_t m = 0; m < specimens_.size(); ++m) {
    fit.thickness.push_back({specimens_[m]->specimen, thickness(unknown_, m), 0});
    fit.thinnest_mm = std::min(fit.thinnest_mm, specimens_[m]->thickness_mm);
    fit.thickest_mm = std::max(fit.thickest_mm, specimens_[m]->thickness_mm);
  }
  take_covariance(fit, covariance);
  return fit;
}

void take_covariance(PasteFit& fit, const MatrixXd& covariance) {
  fit.covariance.assign(covariance.data(), covariance.data() + covariance.size());
  const auto sd = [&](Index i) { return std::sqrt(std::max(0.0, covariance(i, i))); };
  const auto bands = static_cast<Index>(fit.absorption.size());
  fit.ln_absorption_sd.clear();
  fit.ln_scattering_sd.clear();
  for (Index i = 0; i < bands; ++i) {
    fit.ln_absorption_sd.push_back(sd(i));
    fit.ln_scattering_sd.push_back(sd(bands + i));
  }
  Index next = 2 * bands;
  if (fit.engine == Engine::transport) {
    fit.anisotropy_sd = sd(next++);
    fit.anisotropy_fitted = fit.anisotropy_sd < 0.5 * usual_g_sd;
    fit.refractive_index_sd = sd(next++);
  }
  for (SpecimenThickness& specimen : fit.thickness) specimen.sd_mm = sd(next++);
}

}  // namespace mamelon::detail
