// The fit of a paste, as a JSON document.

#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "mamelon/paste_report.h"
#include "mamelon/provenance.h"

#include "io/json_value.h"

namespace mamelon {
namespace {

using detail::Json;
using detail::written;

Json json_of(const PasteFit& fit, const std::vector<Drawdown>& drawdowns) {
  Json residuals = Json::array();
  for (std::size_t i = 0; i < drawdowns.size(); ++i) {
    const bool lab = fit.residual[i].empty();
    residuals.push_back(Json{{"specimen", drawdowns[i].specimen},
                             {"geometry", to_string(drawdowns[i].geometry)},
                             {"reflectance", lab ? Json(nullptr) : Json(fit.residual[i].values())},
                             {"lab", lab ? Json(fit.lab_residual[i]) : Json(nullptr)}});
  }
  Json out{{"absorption_per_mm", detail::json_of(fit.absorption)},
           {"scattering_per_mm", detail::json_of(fit.scattering)},
           {"ln_absorption_sd", fit.ln_absorption_sd},
           {"ln_scattering_sd", fit.ln_scattering_sd}};
  if (fit.engine == Engine::transport) {
    out["anisotropy"] = fit.anisotropy;
    out["anisotropy_sd"] = fit.anisotropy_sd;
    out["anisotropy_fitted"] = fit.anisotropy_fitted;
    out["refractive_index"] = fit.refractive_index;
    out["refractive_index_sd"] = fit.refractive_index_sd;
    out["scale"] = fit.scale;
    out["scale_sd"] = fit.scale_sd;
    out["aperture_taken_mm"] =
        fit.aperture ? Json{fit.aperture->lit_mm, fit.aperture->seen_mm} : Json(nullptr);
  }
  out.update(Json{{"thickness", written(fit.thickness)},
                  {"chi_square", fit.chi_square},
                  {"degrees_of_freedom", fit.degrees_of_freedom},
                  {"widened", fit.widened},
                  {"residual_rms", fit.residual_rms},
                  {"residual_lab_rms", fit.residual_lab_rms},
                  {"reflectance_sd", fit.reflectance_sd},
                  {"model_sd", fit.model_sd},
                  {"scattering_undetermined", fit.scattering_undetermined},
                  {"residuals", std::move(residuals)},
                  {"covariance", fit.covariance},
                  {"provenance", fit.provenance.digest},
                  {"warnings", fit.warnings}});
  return out;
}

}  // namespace

std::string to_json(const FitReport& report) {
  return detail::dump_results(
      Json{{"mamelon",
            {{"version", library_version()}, {"provenance", report.transport.provenance.digest}}},
           {"paste", report.paste.name},
           {"role", to_string(report.paste.role)},
           {"viewing", to_string(report.viewing)},
           {"refractive_index", report.paste.refractive_index},
           {"fitted_mm", {report.transport.thinnest_mm, report.transport.thickest_mm}},
           {"opacity", written(report.opacity)},
           {"kubelka_munk", json_of(report.kubelka_munk, report.drawdowns)},
           {"transport", json_of(report.transport, report.drawdowns)},
           {"warnings", report.warnings}});
}

FitReport fit_report(const std::string& name, Role role, const std::vector<Drawdown>& drawdowns,
                     const Viewing& viewing, double refractive_index) {
  FitReport report{.label = {},
                   .viewing = viewing,
                   .paste = {},
                   .drawdowns = average_repeats(drawdowns),
                   .kubelka_munk = {},
                   .transport = {},
                   .opacity = {},
                   .warnings = {}};
  PasteFitOptions options;
  options.refractive_index = refractive_index;
  options.viewing = viewing;
  options.engine = Engine::transport;
  options.model_sd = transport_model_sd;
  report.transport = fit_paste(report.drawdowns, options);
  report.kubelka_munk = two_fluxes_like(report.transport, report.drawdowns);
  report.paste = paste_of(name, role, report.kubelka_munk, &report.transport);
  report.opacity = opacity(report.paste, Engine::transport, viewing);
  report.warnings = report.transport.warnings;
  for (const std::string& warning : report.kubelka_munk.warnings) {
    if (std::find(report.warnings.begin(), report.warnings.end(), warning) ==
        report.warnings.end()) {
      report.warnings.push_back("by two fluxes: " + warning);
    }
  }
  return report;
}

std::string to_json(const FittedPrediction& prediction, Engine engine, std::optional<double> de00) {
  const Lab& lab = prediction.lab.value;
  const Vec3 sd = prediction.lab.sd();
  const auto ends = [](double value, double spread) {
    return std::array{value - 1.96 * spread, value + 1.96 * spread};
  };
  return detail::dump_results(
      Json{{"reflectance", detail::json_of(prediction.reflectance)},
           {"lab", detail::json_of(lab)},
           {"de00", de00 ? Json(*de00) : Json(nullptr)},
           {"engine", engine == Engine::transport ? "transport" : "kubelka-munk"},
           {"reflectance_sd", prediction.reflectance_sd},
           {"lab_sd", sd},
           {"lab_95", Json::array({ends(lab.l, sd[0]), ends(lab.a, sd[1]), ends(lab.b, sd[2])})},
           {"warnings", prediction.warnings}});
}

std::string to_json(const std::optional<Masking>& masking) {
  return detail::dump_results(masking ? written(*masking) : Json(nullptr));
}

}  // namespace mamelon
