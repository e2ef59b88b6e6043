#include "mamelon/drawdown.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/find.h"
#include "base/numbers.h"
#include "material/drawdown_check.h"
#include "material/edge_loss.h"
#include "material/explain.h"
#include "material/fitted_colour.h"

namespace mamelon {
namespace {

using detail::format_short;

bool same(const std::optional<Aperture>& one, const std::optional<Aperture>& other) {
  return one.has_value() == other.has_value() &&
         (!one || (one->lit_mm == other->lit_mm && one->seen_mm == other->seen_mm));
}

bool repeats(const Drawdown& one, const Drawdown& other) {
  return one.specimen == other.specimen && one.geometry == other.geometry &&
         one.contact == other.contact && one.backing == other.backing &&
         one.lower_face == other.lower_face && same(one.aperture, other.aperture) &&
         one.measured.empty() == other.measured.empty() && one.photo == other.photo &&
         one.lab_shared.size() == other.lab_shared.size();
}

// Mean of `group` in place of its first; squares and counts of the differences are added up.
struct Pooled {
  double squares = 0;
  double dof = 0;
  void add(double deviation, double n) {
    squares += deviation * deviation;
    dof += (n - 1) / n;
  }
  [[nodiscard]] bool known() const { return dof > 0; }
  [[nodiscard]] double sd() const { return std::sqrt(squares / dof); }
};

// What is pooled is told apart: an instrument repeats reflectances and transmittances unlike well.
struct Noise {
  Pooled reflectance;
  Pooled transmittance;
  Pooled lab;
  [[nodiscard]] Pooled& of(Geometry geometry) {
    return geometry == Geometry::transmittance ? transmittance : reflectance;
  }
};

Drawdown mean_of(const std::vector<const Drawdown*>& group, Noise& noise) {
  Drawdown mean = *group.front();
  const auto n = static_cast<double>(group.size());
  for (const Drawdown* one : group) {
    if (one->thickness_mm != mean.thickness_mm) {
      throw ArgumentError("repeats of specimen '" + mean.specimen + "' state thicknesses of " +
                          format_short(mean.thickness_mm) + " and " +
                          format_short(one->thickness_mm) + " mm; they must be the same");
    }
    if (one->measured.grid() != mean.measured.grid()) {
      throw ArgumentError("repeats of specimen '" + mean.specimen +
                          "' stand on different wavelength grids");
    }
  }
  if (mean.measured_lab) {
    Lab sum;
    for (const Drawdown* one : group) {
      sum = {sum.l + one->measured_lab->l / n, sum.a + one->measured_lab->a / n,
             sum.b + one->measured_lab->b / n};
    }
    for (const Drawdown* one : group) {
      noise.lab.add(one->measured_lab->l - sum.l, n);
      noise.lab.add(one->measured_lab->a - sum.a, n);
      noise.lab.add(one->measured_lab->b - sum.b, n);
    }
    mean.measured_lab = sum;
    for (std::size_t k = 0; k < mean.lab_shared.size(); ++k) {
      Vec3 error{};
      for (const Drawdown* one : group) {
        for (std::size_t c = 0; c < 3; ++c) error.at(c) += one->lab_shared[k].at(c) / n;
      }
      mean.lab_shared[k] = error;
    }
    return mean;
  }
  std::vector<double> sum(mean.measured.size());
  for (const Drawdown* one : group) {
    for (std::size_t i = 0; i < sum.size(); ++i) sum[i] += one->measured[i] / n;
  }
  Pooled& pooled = noise.of(mean.geometry);
  for (const Drawdown* one : group) {
    for (std::size_t i = 0; i < sum.size(); ++i) pooled.add(one->measured[i] - sum[i], n);
  }
  mean.measured = Reflectance(mean.measured.grid(), std::move(sum));
  return mean;
}

std::string digest_of(const Drawdown& drawdown) {
  std::string text = drawdown.specimen;
  const auto add = [&](double value) { text += ' ' + detail::format_number(value); };
  add(drawdown.thickness_mm);
  add(drawdown.thickness_sd_mm);
  add(static_cast<double>(drawdown.geometry));
  add(static_cast<double>(drawdown.contact));
  for (const double value : drawdown.backing.values()) add(value);
  for (const double value : drawdown.measured.values()) add(value);
  if (drawdown.measured_lab) {
    add(drawdown.measured_lab->l);
    add(drawdown.measured_lab->a);
    add(drawdown.measured_lab->b);
    add(drawdown.lab_sd);
    for (const Vec3& error : drawdown.lab_shared) {
      for (const double value : error) add(value);
    }
  } else {
    add(drawdown.reflectance_sd);
  }
  add(static_cast<double>(drawdown.lower_face));
  if (drawdown.aperture) {
    add(drawdown.aperture->lit_mm);
    add(drawdown.aperture->seen_mm);
  }
  add(drawdown.backing.grid().first_nm);
  add(drawdown.backing.grid().step_nm);
  return sha256_hex(text);
}

std::string settings_of(const PasteFitOptions& options) {
  std::string text = options.engine == Engine::transport
                         ? "transport " + std::to_string(options.streams)
                         : "kubelka_munk";
  for (const double value :
       {options.refractive_index, options.scattering_bend_sd, options.absorption_bend_sd,
        options.model_sd, options.refractive_index_sd, options.scale_sd, options.backing_sd,
        options.loss_sd}) {
    text += ' ' + detail::format_number(value);
  }
  return options.viewing ? text + ' ' + to_string(*options.viewing) : text;
}

// More than chance has it, by four standard deviations of chi-square.
bool scatters(const PasteFit& fit) {
  constexpr double least_dof = 5;
  return fit.degrees_of_freedom > least_dof &&
         fit.chi_square > fit.degrees_of_freedom + 4 * std::sqrt(2 * fit.degrees_of_freedom);
}

std::string chi_square_of(const PasteFit& fit) {
  return "chi-square " + format_short(fit.chi_square, 3) + " for " +
         format_short(fit.degrees_of_freedom, 3) + " degrees of freedom";
}

// A reading hides what it is too thick to show.
void warn(PasteFit& fit, std::span<const Drawdown> drawdowns, bool open_aperture) {
  // Colours leave single bands open; what they show is the curve's level.
  const bool colours_alone = fit.residual_rms == 0;
  const std::vector<double>& sds = fit.ln_scattering_sd;
  const double level =
      std::accumulate(sds.begin(), sds.end(), 0.0) / static_cast<double>(sds.size());
  fit.scattering_undetermined =
      colours_alone ? level > 0.25 : *std::max_element(sds.begin(), sds.end()) > 0.15;
  if (fit.scattering_undetermined) {
    const bool only_passing =
        std::all_of(drawdowns.begin(), drawdowns.end(),
                    [](const Drawdown& one) { return one.geometry == Geometry::transmittance; });
    fit.warnings.emplace_back(
        only_passing
            ? "S undetermined: transmittances alone do not tell what is scattered from what is "
              "absorbed; add a reflectance of one of the specimens over black or white"
            : "S undetermined: the specimens are too thick for the backings to show; measure one "
              "of 1 mm or less");
  }
  if (fit.engine == Engine::transport && !fit.anisotropy_fitted) {
    fit.warnings.push_back("the drawdowns do not determine the anisotropy g; " +
                           format_short(fit.anisotropy, 2) + " ± " +
                           format_short(fit.anisotropy_sd, 2) +
                           " is used, and its effect is part of the intervals");
  }
  if (scatters(fit)) {
    fit.warnings.push_back("the readings scatter more than their stated noise (" +
                           chi_square_of(fit) +
                           "): check thicknesses, backings and geometry; the intervals are " +
                           format_short(fit.widened, 2) + " times wider for it");
  }
  if (open_aperture) {
    fit.warnings.push_back(
        "the aperture is not stated: the constants are averaged over the usual ones and their "
        "intervals are wide enough for them; state what the instrument lights and sees, in mm");
  }
}

// A thickness that the readings will not have.
void refuse_moved_thickness(const PasteFit& fit, std::span<const Drawdown> drawdowns) {
  constexpr double most_sds = 5;
  for (const SpecimenThickness& specimen : fit.thickness) {
    const auto stated = detail::find_by(drawdowns, specimen.specimen, &Drawdown::specimen);
    if (std::abs(specimen.thickness_mm - stated->thickness_mm) >
        most_sds * stated->thickness_sd_mm * fit.widened) {
      throw ModelError(
          "the readings do not fit together as they are described; the likeliest "
          "cause: the thickness of specimen '" +
          specimen.specimen + "' is wrong (" + format_short(stated->thickness_mm, 3) +
          " mm is stated, " + format_short(specimen.thickness_mm, 3) + " mm would fit)");
    }
  }
}

// A scale that is off may be another fault in disguise, most of all light lost at an edge.
void refuse_false_scale(const PasteFit& fit, std::span<const Drawdown> drawdowns,
                        const PasteFitOptions& options) {
  if (std::any_of(drawdowns.begin(), drawdowns.end(), detail::has_open_aperture)) return;
  const bool said_to_lose_nothing =
      std::all_of(drawdowns.begin(), drawdowns.end(), [](const Drawdown& one) {
        return one.aperture && !one.measured.empty() &&
               detail::EdgeLoss(*one.aperture, one.thickness_mm, false).none();
      });
  constexpr double likelier = 7;  // of −2 ln of the probability: thirty to one
  if (const auto cause = said_to_lose_nothing
                             ? detail::likelier_aperture(drawdowns, options, likelier)
                             : std::nullopt) {
    throw ModelError(
        "the readings do not fit together as they are described; the likeliest cause: " +
        cause->text);
  }
  const double as_stated = detail::misfit_as_stated(drawdowns, options);
  constexpr double usual_sds = 1.2;
  constexpr double clearly = 14;  // of chi-square: a thousand to one
  const auto cause = std::abs(fit.scale - 1) > usual_sds * options.scale_sd
                         ? detail::likeliest_cause(drawdowns, options, as_stated - clearly)
                         : detail::smaller_aperture(drawdowns, options, as_stated - clearly);
  if (!cause) return;
  throw ModelError("the readings do not fit together as they are described; the likeliest cause: " +
                   cause->text + " (chi-square " + format_short(cause->chi_square, 3) +
                   " in place of " + format_short(as_stated, 3) + ")");
}

// The fit, or why there is none.
PasteFit settled_fit(std::span<const Drawdown> drawdowns, const PasteFitOptions& options) {
  try {
    return detail::fit_openly(drawdowns, options);
  } catch (const ModelError& error) {
    const double worse_than_any = 1e12;
    const auto cause = options.engine == Engine::transport
                           ? detail::likeliest_cause(drawdowns, options, worse_than_any)
                           : std::nullopt;
    if (!cause) throw;
    throw ModelError(std::string(error.what()) + "; the likeliest cause: " + cause->text);
  }
}

// A fit is refused where the readings miss it by far more than their noise, and where they miss it
// by less but another description explains them.
void refuse_misfit(const PasteFit& fit, std::span<const Drawdown> drawdowns,
                   const PasteFitOptions& options) {
  // What two fluxes miss is their own.
  if (options.engine == Engine::kubelka_munk) return;
  refuse_moved_thickness(fit, drawdowns);
  refuse_false_scale(fit, drawdowns, options);
  if (!scatters(fit)) return;
  const double reduced = fit.chi_square / fit.degrees_of_freedom;
  const auto cause = detail::likeliest_cause(drawdowns, options, fit.chi_square);
  constexpr double clearly = 40;  // of chi-square
  constexpr double suspicious = 1.5;
  const bool explained =
      cause && cause->chi_square < fit.chi_square - clearly &&
      cause->chi_square - fit.degrees_of_freedom < 0.3 * (fit.chi_square - fit.degrees_of_freedom);
  if (reduced <= largest_reduced_chi_square && !(reduced > suspicious && explained)) return;
  throw ModelError("the readings do not fit together as they are described (" + chi_square_of(fit) +
                   "); " +
                   (cause && cause->chi_square < 0.7 * fit.chi_square
                        ? "the likeliest cause: " + cause->text + " (chi-square would be " +
                              format_short(cause->chi_square, 3) + ")"
                        : std::string("no single change of contact, aperture, backing, thickness, "
                                      "gloss or scale explains them; check the noise stated")));
}

}  // namespace

std::vector<Drawdown> average_repeats(std::span<const Drawdown> drawdowns) {
  std::vector<Drawdown> means;
  std::vector<double> counts;
  Noise noise;
  std::vector<bool> done(drawdowns.size());
  for (std::size_t i = 0; i < drawdowns.size(); ++i) {
    if (done[i]) continue;
    std::vector<const Drawdown*> group;
    for (std::size_t k = i; k < drawdowns.size(); ++k) {
      if (!done[k] && repeats(drawdowns[i], drawdowns[k])) {
        group.push_back(&drawdowns[k]);
        done[k] = true;
      }
    }
    means.push_back(mean_of(group, noise));
    counts.push_back(static_cast<double>(group.size()));
  }
  // Readings that agree to the last digit were rounded: their noise is not 0.
  constexpr double least_reflectance_sd = 1e-4;
  constexpr double least_lab_sd = 0.01;
  for (std::size_t i = 0; i < means.size(); ++i) {
    const Pooled& pooled = noise.of(means[i].geometry);
    const double single =
        pooled.known() ? std::max(pooled.sd(), least_reflectance_sd) : means[i].reflectance_sd;
    const double single_lab =
        noise.lab.known() ? std::max(noise.lab.sd(), least_lab_sd) : means[i].lab_sd;
    means[i].reflectance_sd = single / std::sqrt(counts[i]);
    means[i].lab_sd = single_lab / std::sqrt(counts[i]);
  }
  return means;
}

void share_errors(std::span<Drawdown> drawdowns, std::span<const double> covariance) {
  const auto n = static_cast<Eigen::Index>(3 * drawdowns.size());
  if (covariance.size() != static_cast<std::size_t>(n * n) ||
      static_cast<std::size_t>(n) > most_shared_errors) {
    throw ArgumentError(
        "the joint covariance of " + std::to_string(drawdowns.size()) + " colours has " +
        std::to_string(n * n) + " elements, and at most " + std::to_string(most_shared_errors / 3) +
        " colours go together; got a covariance of " + std::to_string(covariance.size()));
  }
  const Eigen::Map<const Eigen::MatrixXd> joint(covariance.data(), n, n);
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> parts(joint);
  const Eigen::MatrixXd errors =
      parts.eigenvectors() * parts.eigenvalues().cwiseMax(0).cwiseSqrt().asDiagonal();
  constexpr double least_sd = 0.05;
  for (std::size_t i = 0; i < drawdowns.size(); ++i) {
    Drawdown& one = drawdowns[i];
    if (!one.measured_lab) throw ArgumentError("errors are shared by colours: give measured_lab");
    one.lab_sd = least_sd;
    one.lab_shared.clear();
    const auto row = 3 * static_cast<Eigen::Index>(i);
    for (Eigen::Index k = 0; k < n; ++k) {
      one.lab_shared.push_back({errors(row, k), errors(row + 1, k), errors(row + 2, k)});
    }
  }
}

PasteFit fit_paste(std::span<const Drawdown> drawdowns, const PasteFitOptions& options) {
  detail::check_options(options);
  detail::check_drawdowns(drawdowns, options);
  PasteFit fit = settled_fit(drawdowns, options);
  refuse_misfit(fit, drawdowns, options);
  const Reflectance grey(fit.absorption.grid(), std::vector<double>(fit.absorption.size(), 0.3));
  const FittedLayer layer{&fit, 1, 0};
  const Eigen::VectorXd variance =
      detail::predicted_curve(grey, std::span(&layer, 1), options.streams).covariance.diagonal();
  fit.reflectance_sd = std::sqrt(variance.mean());
  std::vector<std::string> inputs;
  for (const Drawdown& drawdown : drawdowns) inputs.push_back(digest_of(drawdown));
  fit.provenance = make_provenance("fit_paste", settings_of(options), std::move(inputs));
  const bool open_aperture =
      options.engine == Engine::transport &&
      std::any_of(drawdowns.begin(), drawdowns.end(), detail::has_open_aperture);
  warn(fit, drawdowns, open_aperture);
  return fit;
}

Paste paste_of(const std::string& name, Role role, const PasteFit& kubelka_munk,
               const PasteFit* transport) {
  if (kubelka_munk.engine != Engine::kubelka_munk ||
      (transport != nullptr && (transport->engine != Engine::transport ||
                                transport->absorption.grid() != kubelka_munk.absorption.grid()))) {
    throw ArgumentError(
        "a paste takes constants of Kubelka and Munk first and of transport second, on one grid");
  }
  Paste paste;
  paste.name = name;
  paste.role = role;
  paste.absorption = kubelka_munk.absorption;
  paste.scattering = kubelka_munk.scattering;
  paste.refractive_index = kubelka_munk.refractive_index;
  constexpr double largest_sd = 0.2;
  paste.reflectance_sd = std::min(kubelka_munk.reflectance_sd, largest_sd);
  paste.fitted_mm = {kubelka_munk.thinnest_mm, kubelka_munk.thickest_mm};
  if (transport != nullptr) {
    paste.transport =
        TransportConstants{transport->absorption, transport->scattering, transport->anisotropy};
    detail::ErrorModes errors = detail::error_modes(*transport);
    paste.transport->modes = std::move(errors.modes);
    paste.transport->reflectance_sd = std::min(errors.reflectance_sd, largest_sd);
    paste.refractive_index = transport->refractive_index;
  }
  return paste;
}

}  // namespace mamelon
