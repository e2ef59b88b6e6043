#include "mamelon/plan.h"

#include <algorithm>
#include <span>

#include "mamelon/appearance.h"

#include "base/numbers.h"
#include "plan/interval.h"
#include "plan/search.h"
#include "plan/words.h"

namespace mamelon {
namespace {

using detail::Candidate;
using detail::Evaluation;
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
  return sha256_hex(paste.name + digest(scalars) + digest(paste.absorption.values()) +
                    digest(paste.scattering.values()));
}

Provenance provenance_of(const PlanRequest& request) {
  std::string settings =
      "depth_mm=" + format_number(request.depth_mm) +
      " max_layers=" + std::to_string(request.max_layers) +
      " thickness_sd_mm=" + format_number(request.thickness_sd_mm) +
      " role_order=" + std::to_string(static_cast<int>(request.role_order)) +
      " lamp=" + format_number(request.lamp_irradiance_mw_cm2) +
      " floor_index=" + format_number(request.floor_refractive_index) +
      " specular=" + std::to_string(static_cast<int>(request.specular_included)) +
      " weights=" + format_number(request.weights.kl) + "," + format_number(request.weights.kc) +
      "," + format_number(request.weights.kh) +
      " certify=" + std::to_string(static_cast<int>(request.certify)) +
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
  for (const Paste& paste : request.pastes.pastes) {
    inputs.push_back(paste_digest(paste));
  }
  return make_provenance("plan", settings, std::move(inputs));
}

std::vector<Increment> increments_of_layers(const PlanRequest& request,
                                            const Candidate& candidate) {
  std::vector<Increment> all;
  for (std::size_t j = 0; j < candidate.pastes.size(); ++j) {
    const auto portion =
        increments_of(request.pastes.pastes[candidate.pastes[j]], candidate.thickness_mm[j],
                      request.lamp_irradiance_mw_cm2, static_cast<int>(all.size()) + 1);
    all.insert(all.end(), portion.begin(), portion.end());
  }
  return all;
}

Plan describe(const PlanRequest& request, const Problem& problem, const Candidate& candidate) {
  const Evaluation found = detail::evaluate(problem, candidate);
  Plan plan;
  for (std::size_t j = 0; j < candidate.pastes.size(); ++j) {
    const Paste& paste = request.pastes.pastes[candidate.pastes[j]];
    plan.layers.push_back(
        {paste.name, paste.role, candidate.thickness_mm[j],
         0.1 * detail::length(problem.views.front().metric, found.views.front().gradient[j])});
  }
  plan.increments = increments_of_layers(request, candidate);
  for (std::size_t v = 0; v < problem.views.size(); ++v) {
    const detail::View& view = problem.views[v];
    plan.predicted.push_back({view.viewing, found.views[v].lab, view.target, found.views[v].de00});
    plan.metamerism = std::max(plan.metamerism, found.views[v].de00 - found.views.front().de00);
  }
  plan.reflectance = Reflectance(request.floor.grid(), found.reflectance);
  plan.de00 = found.views.front().de00;
  plan.de00_expected = found.expected;
  plan.de00_p95 = detail::de00_p95(
      problem.views.front().target, found.views.front().lab,
      detail::difference_covariance(problem, candidate, found.views.front(), problem.views.front()),
      request.weights);
  return plan;
}

// The smallest greater depth at which some plan comes within acceptability.
std::string deeper_in_words(const PlanRequest& request, Problem problem) {
  constexpr double step_mm = 0.2;
  constexpr double deepest_mm = 6;
  for (double depth = request.depth_mm + step_mm; depth <= deepest_mm + 1e-9; depth += step_mm) {
    problem.depth_mm = depth;
    for (const auto& candidates : detail::search(problem, 1, false).best) {
      if (!candidates.empty() && detail::evaluate(problem, candidates.front()).views.front().de00 <=
                                     threshold::acceptable_de00) {
        return "a depth of " + detail::format_fixed(depth, 1) +
               " mm would be enough for a plan within acceptability";
      }
    }
  }
  return "no depth up to 6 mm brings these pastes within acceptability: another paste is needed";
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
  const detail::SearchResult found =
      detail::search(problem, std::max<std::size_t>(request.alternatives, 1), request.certify);
  for (const std::vector<Candidate>& candidates : found.best) {
    for (const Candidate& candidate : candidates) {
      set.plans.push_back(describe(request, problem, candidate));
    }
  }
  if (set.plans.empty()) {
    throw_nothing_fits(request);
  }
  set.bound = found.bound;
  set.recommended = detail::recommended_plan(set.plans);
  set.why = detail::reason(set.plans, set.recommended);
  if (found.best.size() > 1 && !found.best[0].empty() && !found.best[1].empty()) {
    set.second_layer_gain_de00 = found.best[0].front().expected - found.best[1].front().expected;
  }
  for (std::string& shortfall : detail::shortfalls(set.plans[set.recommended])) {
    set.warnings.push_back(std::move(shortfall));
    set.warnings.push_back(deeper_in_words(request, problem));
  }
  for (std::string& tie : detail::parting_ties(set.plans)) {
    set.warnings.push_back(std::move(tie));
  }
  set.provenance = provenance_of(request);
  return set;
}

}  // namespace mamelon
