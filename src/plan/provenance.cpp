#include "plan/provenance.h"

#include <span>
#include <string>
#include <utility>
#include <vector>

#include "base/numbers.h"

namespace mamelon::detail {
namespace {

std::string digest(std::span<const double> values) {
  return sha256_hex(std::as_bytes(values));
}

std::string modes_digest(const std::vector<ConstantsMode>& modes) {
  std::string all;
  for (const ConstantsMode& mode : modes) {
    const double scalars[] = {mode.anisotropy, mode.refractive_index};
    all += digest(mode.ln_absorption) + digest(mode.ln_reduced_scattering) + digest(scalars);
  }
  return all;
}

std::string paste_digest(const Paste& paste) {
  const double scalars[] = {static_cast<double>(paste.role),
                            paste.refractive_index,
                            paste.increment_limit_mm,
                            paste.radiant_exposure_j_cm2,
                            paste.minimum_mm,
                            paste.maximum_mm,
                            paste.reflectance_sd,
                            paste.absorption.grid().first_nm,
                            paste.absorption.grid().step_nm};
  std::string all = paste.name + digest(scalars) + digest(paste.absorption.values()) +
                    digest(paste.scattering.values());
  if (paste.transport) {
    const double anisotropy[] = {paste.transport->anisotropy, paste.transport->reflectance_sd};
    all += digest(paste.transport->absorption.values()) +
           digest(paste.transport->reduced_scattering.values()) + digest(anisotropy) +
           modes_digest(paste.transport->modes);
  }
  return sha256_hex(all);
}

}  // namespace

Provenance provenance_of(const PlanRequest& request, const std::string& what,
                         const std::string& more) {
  std::string settings =
      "depth_mm=" + format_number(request.depth_mm) +
      " max_layers=" + std::to_string(request.max_layers) +
      " step_mm=" + format_number(request.step_mm) +
      " thickness_sd_mm=" + format_number(request.thickness_sd_mm) +
      " total_held=" + std::to_string(static_cast<int>(request.total_held)) +
      " role_order=" + std::to_string(static_cast<int>(request.role_order)) +
      " lamp=" + format_number(request.placing.lamp_irradiance_mw_cm2.value_or(0)) +
      " order=" + std::string(to_string(request.placing.order)) +
      " contact_wall=" + std::to_string(static_cast<int>(request.placing.contact_wall)) +
      " wall_width=" + format_number(request.placing.contact_wall_width_mm) +
      " floor_index=" + format_number(request.floor_refractive_index) +
      " specular=" + std::to_string(static_cast<int>(request.specular_included)) +
      " weights=" + format_number(request.weights.kl) + "," + format_number(request.weights.kc) +
      "," + format_number(request.weights.kh) +
      " transport=" + std::to_string(static_cast<int>(request.rank_by_transport)) +
      " alternatives=" + std::to_string(request.alternatives);
  for (std::size_t i = 0; i < request.illuminants.size(); ++i) {
    settings.append(" light=").append(request.illuminants[i].name());
    if (!request.illuminant_weights.empty()) {
      settings.append(" at ").append(format_number(request.illuminant_weights[i]));
    }
  }
  const Lab& lab = request.target.lab.value;
  const double target[] = {lab.l, lab.a, lab.b};
  std::vector<std::string> inputs{request.target.provenance.digest, digest(target),
                                  digest(request.floor.values())};
  for (const Reflectance& error : request.floor_errors) {
    inputs.push_back(digest(error.values()));
  }
  for (const Paste& paste : request.pastes.pastes) {
    inputs.push_back(paste_digest(paste));
  }
  return make_provenance(what, settings + more, std::move(inputs));
}

}  // namespace mamelon::detail
