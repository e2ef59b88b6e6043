#include "mamelon/plan.h"

#include <algorithm>
#include <span>

#include "base/numbers.h"
#include "plan/describe.h"
#include "plan/reach.h"
#include "plan/search.h"
#include "plan/words.h"

namespace mamelon {
namespace {

using detail::Candidate;
using detail::format_number;
using detail::Problem;

std::string digest(std::span<const double> values) {
  return sha256_hex(std::as_bytes(values));
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
    const double anisotropy[] = {paste.transport->anisotropy};
    all += digest(paste.transport->absorption.values()) +
           digest(paste.transport->reduced_scattering.values()) + digest(anisotropy);
  }
  return sha256_hex(all);
}

Provenance provenance_of(const PlanRequest& request) {
  std::string settings =
      "depth_mm=" + format_number(request.depth_mm) +
      " max_layers=" + std::to_string(request.max_layers) +
      " thickness_sd_mm=" + format_number(request.thickness_sd_mm) +
      " role_order=" + std::to_string(static_cast<int>(request.role_order)) +
      " lamp=" + format_number(request.placing.lamp_irradiance_mw_cm2) +
      " order=" + std::string(to_string(request.placing.order)) +
      " contact_wall=" + std::to_string(static_cast<int>(request.placing.contact_wall)) +
      " floor_index=" + format_number(request.floor_refractive_index) +
      " specular=" + std::to_string(static_cast<int>(request.specular_included)) +
      " weights=" + format_number(request.weights.kl) + "," + format_number(request.weights.kc) +
      "," + format_number(request.weights.kh) +
      " certify=" + std::to_string(static_cast<int>(request.certify)) +
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
  return make_provenance("plan", settings, std::move(inputs));
}

void throw_nothing_fits(const PlanRequest& request) {
  double thinnest = request.pastes.pastes.front().minimum_mm;
  double thickest = 0;
  for (const Paste& paste : request.pastes.pastes) {
    thinnest = std::min(thinnest, paste.minimum_mm);
    thickest = std::max(thickest, paste.maximum_mm);
  }
  throw ModelError("no allowed stack of up to " + std::to_string(request.max_layers) +
                   " pastes fills a depth of " + detail::format_short(request.depth_mm) +
                   " mm: the thinnest layer is " + detail::format_short(thinnest) +
                   " mm, the thickest " + detail::format_short(thickest) + " mm");
}

}  // namespace

PlanSet plan(const PlanRequest& request) {
  PlanSet set;
  const Problem problem = detail::make_problem(request, set.warnings);
  const std::size_t wanted = std::max<std::size_t>(request.alternatives, 1);
  const bool transport =
      request.rank_by_transport &&
      std::any_of(request.pastes.pastes.begin(), request.pastes.pastes.end(),
                  [](const Paste& paste) { return paste.transport.has_value(); });
  // Another engine may set the order right among a few more than are asked for.
  constexpr std::size_t reserve = 5;
  const detail::SearchResult found =
      detail::search(problem, wanted + (transport ? reserve : 0), request.certify);
  for (const std::vector<Candidate>& candidates : found.best) {
    std::vector<Plan> plans;
    for (const Candidate& candidate : candidates) {
      plans.push_back(detail::describe(request, problem, candidate));
    }
    std::stable_sort(plans.begin(), plans.end(), [](const Plan& a, const Plan& b) {
      return a.de00_expected < b.de00_expected;
    });
    plans.resize(std::min(plans.size(), wanted));
    set.plans.insert(set.plans.end(), plans.begin(), plans.end());
  }
  if (set.plans.empty()) {
    throw_nothing_fits(request);
  }
  set.bound = found.bound;
  set.recommended = detail::recommended_plan(set.plans);
  set.why = detail::reason(set.plans, set.recommended);
  set.gains = detail::gains_of(set.plans);
  for (const LayerGain& gain : set.gains) {
    if (gain.layers == 2) {
      set.second_layer_gain_de00 = gain.gain_de00;
    }
  }
  for (const PlannedLayer& layer : set.plans[set.recommended].layers) {
    if (layer.extrapolated) {
      set.warnings.push_back("paste '" + layer.paste + "' was not measured at " +
                             detail::format_fixed(layer.thickness_mm, 1) +
                             " mm: its colour is extrapolated");
    }
  }
  set.out_of_reach = detail::out_of_reach(request, problem, set.plans[set.recommended]);
  if (set.out_of_reach) {
    for (std::string& words : detail::in_words(*set.out_of_reach, set.plans[set.recommended])) {
      set.warnings.push_back(std::move(words));
    }
  }
  set.ties = detail::parting_ties(set.plans);
  for (const PartingTie& tie : set.ties) {
    set.warnings.push_back(detail::in_words(tie));
  }
  set.provenance = provenance_of(request);
  return set;
}

}  // namespace mamelon
