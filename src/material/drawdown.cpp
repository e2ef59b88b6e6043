#include "mamelon/drawdown.h"

#include <algorithm>
#include <cmath>

#include <Eigen/Dense>

#include "base/numbers.h"

namespace mamelon {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

// From the inside of a paste to what an instrument of a geometry reads.
struct Instrument {
  Interface surface;
  double gain = 1;  // of light that enters, against diffuse light
};

double fresnel_from_air(double mu, double n) {
  const double inside = std::sqrt(1 - (1 - mu * mu) / (n * n));
  const double rs = (mu - n * inside) / (mu + n * inside);
  const double rp = (inside - n * mu) / (inside + n * mu);
  return (rs * rs + rp * rp) / 2;
}

double diffuse_outside(double n) {
  return 1 - (1 - interface_of(n, false).k2) * n * n;
}

Instrument instrument_of(Geometry geometry, double n) {
  Instrument instrument{interface_of(n, geometry == Geometry::diffuse_8_included)};
  if (geometry == Geometry::angle_45_0) {
    // A beam at 45° loses 1 − F(45°) on entering where diffuse light loses r_e.
    instrument.gain = (1 - fresnel_from_air(std::sqrt(0.5), n)) / (1 - diffuse_outside(n));
  }
  return instrument;
}

double read(double internal, const Instrument& instrument) {
  Interface surface = instrument.surface;
  surface.specular_included = false;
  return instrument.gain * to_measured(internal, surface) +
         (instrument.surface.specular_included ? surface.k1 : 0);
}

double read_back(double measured, const Instrument& instrument) {
  Interface surface = instrument.surface;
  const double through = measured - (surface.specular_included ? surface.k1 : 0);
  surface.specular_included = false;
  return to_internal(through / instrument.gain, surface);
}

double backing_inside(double value, const Drawdown& drawdown, double n) {
  switch (drawdown.contact) {
    case Backing::seen_in_air:
      return read_back(value, instrument_of(drawdown.geometry, n));
    case Backing::air_gap: {
      const double k2 = interface_of(n, false).k2;
      const double outside = diffuse_outside(n);
      return k2 + (1 - k2) * (1 - outside) * value / (1 - outside * value);
    }
    default:
      return value;
  }
}

double mean(const Reflectance& r) {
  double sum = 0;
  for (const double value : r.values()) {
    sum += value;
  }
  return sum / static_cast<double>(r.size());
}

void check_one(const Drawdown& drawdown, const Grid& grid, const std::string& where) {
  if (drawdown.geometry == Geometry::unstated) {
    throw ArgumentError(where +
                        ": state the instrument's geometry: d:8 with the specular part in "
                        "or out, or 45/0");
  }
  if (drawdown.contact == Backing::unstated) {
    throw ArgumentError(where +
                        ": state whether the backing is in optical contact or under an air "
                        "gap, and whether its value is internal or seen in air");
  }
  check_reflectance(drawdown.measured, where);
  check_reflectance(drawdown.backing, where + ", backing");
  if (drawdown.measured.grid() != grid || drawdown.backing.grid() != grid) {
    throw ArgumentError(where +
                        ": reading and backing must stand on the grid of the first reading");
  }
  if (!(drawdown.thickness_mm > 0 && drawdown.thickness_mm <= 30) ||
      !(drawdown.thickness_sd_mm > 0) || !(drawdown.reflectance_sd > 0)) {
    throw ArgumentError(where +
                        ": thickness (0 to 30 mm), its sd and the reflectance sd must be "
                        "above 0");
  }
}

void check_drawdowns(std::span<const Drawdown> drawdowns) {
  if (drawdowns.size() < 2) {
    throw ArgumentError("a fit needs readings over at least two backings or thicknesses");
  }
  const Grid grid = drawdowns.front().measured.grid();
  check_grid(grid);
  for (std::size_t i = 0; i < drawdowns.size(); ++i) {
    const Drawdown& one = drawdowns[i];
    check_one(one, grid,
              "drawdown " + std::to_string(i + 1) + " of specimen '" + one.specimen + "'");
    for (std::size_t j = 0; j < i; ++j) {
      const Drawdown& other = drawdowns[j];
      const double lighter = mean(one.backing) - mean(other.backing);
      if (one.specimen == other.specimen && one.contact == other.contact &&
          lighter * (mean(one.measured) - mean(other.measured)) <
              -std::abs(lighter) * 3 * (one.reflectance_sd + other.reflectance_sd)) {
        throw ArgumentError("specimen '" + one.specimen +
                            "' reads darker over the lighter backing; are two readings swapped?");
      }
    }
  }
}

class Fit {
 public:
  Fit(std::span<const Drawdown> drawdowns, const PasteFitOptions& options)
      : drawdowns_(drawdowns),
        options_(options),
        grid_(drawdowns.front().measured.grid()),
        bands_(static_cast<Eigen::Index>(grid_.count)) {
    for (const Drawdown& drawdown : drawdowns) {
      auto found = std::find_if(specimens_.begin(), specimens_.end(), [&](const Drawdown* known) {
        return known->specimen == drawdown.specimen;
      });
      specimen_of_.push_back(found - specimens_.begin());
      if (found == specimens_.end()) {
        specimens_.push_back(&drawdown);
      }
      instruments_.push_back(instrument_of(drawdown.geometry, options.refractive_index));
      std::vector<double> inside;
      for (const double value : drawdown.backing.values()) {
        inside.push_back(backing_inside(value, drawdown, options.refractive_index));
      }
      backings_.push_back(std::move(inside));
    }
    unknown_ = VectorXd::Zero(2 * bands_ + static_cast<Eigen::Index>(specimens_.size()));
    unknown_.head(bands_).setConstant(std::log(0.1));  // a start within reach of any paste
    rows_ = static_cast<Eigen::Index>(drawdowns.size()) * bands_ + 2 * (bands_ - 2) +
            static_cast<Eigen::Index>(specimens_.size());
  }

  void settle() {
    double damping = 1e-2;
    VectorXd residual = residuals(unknown_);
    for (int i = 0; i < 200; ++i) {
      const MatrixXd j = jacobian(unknown_);
      const MatrixXd normal = j.transpose() * j;
      const VectorXd gradient = j.transpose() * residual;
      MatrixXd damped = normal;
      damped.diagonal() *= 1 + damping;
      VectorXd step = -damped.ldlt().solve(gradient);
      const double longest = step.cwiseAbs().maxCoeff();
      step *= std::min(1.0, 1.5 / longest);
      const VectorXd trial = unknown_ + step;
      const VectorXd trial_residual = residuals(trial);
      if (trial_residual.squaredNorm() <= residual.squaredNorm()) {
        unknown_ = trial;
        residual = trial_residual;
        damping = std::max(damping / 5, 1e-9);
        if (longest < 1e-7) {
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

  [[nodiscard]] PasteFit result() const {
    PasteFit fit;
    const MatrixXd j = jacobian(unknown_);
    const MatrixXd covariance =
        (j.transpose() * j).ldlt().solve(MatrixXd::Identity(j.cols(), j.cols()));
    std::vector<double> k;
    std::vector<double> s;
    for (Eigen::Index i = 0; i < bands_; ++i) {
      k.push_back(std::exp(unknown_[i]));
      s.push_back(std::exp(unknown_[bands_ + i]));
      fit.ln_absorption_sd.push_back(std::sqrt(covariance(i, i)));
      fit.ln_scattering_sd.push_back(std::sqrt(covariance(bands_ + i, bands_ + i)));
    }
    fit.absorption = PerMm(grid_, std::move(k));
    fit.scattering = PerMm(grid_, std::move(s));
    for (std::size_t m = 0; m < specimens_.size(); ++m) {
      const Eigen::Index at = 2 * bands_ + static_cast<Eigen::Index>(m);
      fit.thickness.push_back({specimens_[m]->specimen,
                               thickness(unknown_, static_cast<std::ptrdiff_t>(m)),
                               specimens_[m]->thickness_sd_mm * std::sqrt(covariance(at, at))});
    }
    fit.chi_square = residuals(unknown_).squaredNorm();
    double squares = 0;
    for (std::size_t d = 0; d < drawdowns_.size(); ++d) {
      std::vector<double> left;
      for (Eigen::Index i = 0; i < bands_; ++i) {
        left.push_back(drawdowns_[d].measured[static_cast<std::size_t>(i)] - model(unknown_, d, i));
        squares += left.back() * left.back();
      }
      fit.residual.emplace_back(grid_, std::move(left));
    }
    fit.residual_rms = std::sqrt(squares / static_cast<double>(drawdowns_.size() * grid_.count));
    const double undetermined = 0.15;
    if (*std::max_element(fit.ln_scattering_sd.begin(), fit.ln_scattering_sd.end()) >
        undetermined) {
      fit.warnings.emplace_back(
          "S undetermined: the specimens are too thick for the backings to show; measure one of 1 "
          "mm or less");
    }
    return fit;
  }

 private:
  // The thickness error is counted in its own sd.
  [[nodiscard]] double thickness(const VectorXd& at, std::ptrdiff_t specimen) const {
    const Drawdown& first = *specimens_[static_cast<std::size_t>(specimen)];
    return std::max(1e-3, first.thickness_mm + first.thickness_sd_mm * at[2 * bands_ + specimen]);
  }

  [[nodiscard]] double model(const VectorXd& at, std::size_t d, Eigen::Index band) const {
    const LayerOptics layer = layer_optics(std::exp(at[band]), std::exp(at[bands_ + band]),
                                           thickness(at, specimen_of_[d]));
    return read(over(layer, backings_[d][static_cast<std::size_t>(band)]), instruments_[d]);
  }

  [[nodiscard]] double noise(std::size_t d) const {
    return std::hypot(drawdowns_[d].reflectance_sd, options_.model_sd);
  }

  [[nodiscard]] VectorXd residuals(const VectorXd& at) const {
    VectorXd r(rows_);
    Eigen::Index row = 0;
    for (std::size_t d = 0; d < drawdowns_.size(); ++d) {
      for (Eigen::Index i = 0; i < bands_; ++i) {
        r[row++] =
            (model(at, d, i) - drawdowns_[d].measured[static_cast<std::size_t>(i)]) / noise(d);
      }
    }
    for (Eigen::Index half = 0; half < 2; ++half) {
      for (Eigen::Index i = 0; i + 2 < bands_; ++i) {
        const Eigen::Index first = half * bands_ + i;
        r[row++] = (at[first] - 2 * at[first + 1] + at[first + 2]) / bend_sd(half);
      }
    }
    for (std::size_t m = 0; m < specimens_.size(); ++m) {
      r[row++] = at[2 * bands_ + static_cast<Eigen::Index>(m)];
    }
    return r;
  }

  [[nodiscard]] double bend_sd(Eigen::Index half) const {
    const double steps = grid_.step_nm / 10;
    return steps * steps * (half == 0 ? options_.absorption_bend_sd : options_.scattering_bend_sd);
  }

  // A reading depends on its own band's constants and its specimen's thickness alone.
  [[nodiscard]] MatrixXd jacobian(const VectorXd& at) const {
    constexpr double h = 1e-5;
    MatrixXd j = MatrixXd::Zero(rows_, at.size());
    Eigen::Index row = 0;
    for (std::size_t d = 0; d < drawdowns_.size(); ++d) {
      for (Eigen::Index i = 0; i < bands_; ++i, ++row) {
        for (const Eigen::Index column : {i, bands_ + i, 2 * bands_ + specimen_of_[d]}) {
          VectorXd moved = at;
          moved[column] += h;
          const double up = model(moved, d, i);
          moved[column] -= 2 * h;
          j(row, column) = (up - model(moved, d, i)) / (2 * h) / noise(d);
        }
      }
    }
    for (Eigen::Index half = 0; half < 2; ++half) {
      for (Eigen::Index i = 0; i + 2 < bands_; ++i, ++row) {
        j(row, half * bands_ + i) = 1 / bend_sd(half);
        j(row, half * bands_ + i + 1) = -2 / bend_sd(half);
        j(row, half * bands_ + i + 2) = 1 / bend_sd(half);
      }
    }
    for (std::size_t m = 0; m < specimens_.size(); ++m, ++row) {
      j(row, 2 * bands_ + static_cast<Eigen::Index>(m)) = 1;
    }
    return j;
  }

  std::span<const Drawdown> drawdowns_;
  const PasteFitOptions& options_;
  Grid grid_;
  Eigen::Index bands_;
  Eigen::Index rows_ = 0;
  std::vector<const Drawdown*> specimens_;
  std::vector<std::ptrdiff_t> specimen_of_;
  std::vector<Instrument> instruments_;
  std::vector<std::vector<double>> backings_;
  VectorXd unknown_;  // ln K, ln S, thickness errors
};

}  // namespace

PasteFit fit_paste(std::span<const Drawdown> drawdowns, const PasteFitOptions& options) {
  check_drawdowns(drawdowns);
  if (!(options.scattering_bend_sd > 0) || !(options.absorption_bend_sd > 0) ||
      !(options.model_sd >= 0)) {
    throw ArgumentError("the fit's bend sds must be above 0 and its model sd 0 or more");
  }
  Fit fit(drawdowns, options);
  fit.settle();
  return fit.result();
}

}  // namespace mamelon
