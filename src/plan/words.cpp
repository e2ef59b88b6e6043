#include "plan/words.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "mamelon/appearance.h"
#include "mamelon/error.h"

#include "base/find.h"
#include "base/numbers.h"

namespace mamelon::detail {
namespace {

// Share of light at 460 nm at a portion's underside below which it is said to cure poorly there. A
// judgement: of 16 J/cm² that leaves less than a third of a joule.
constexpr double least_blue_share = 0.02;

// First, and so best, plan with this number of layers; null without any.
const Plan* best_of(const std::vector<Plan>& plans, std::size_t layers) {
  const auto best = detail::find_by(plans, layers, [](const Plan& p) { return p.layers.size(); });
  return best == plans.end() ? nullptr : &*best;
}

std::size_t most_layers(const std::vector<Plan>& plans) {
  std::size_t most = 0;
  for (const Plan& plan : plans) {
    most = std::max(most, plan.layers.size());
  }
  return most;
}

std::string count_in_words(std::size_t layers) {
  const char* const words[] = {"no layer", "one layer", "two layers", "three layers"};
  return words[std::min<std::size_t>(layers, 3)];
}

template <class P>
bool is_acceptable(const P& plan) {
  return plan.de00 <= threshold::acceptable_de00;
}

}  // namespace

std::size_t recommended_plan(const std::vector<Plan>& plans) {
  std::vector<PlanFigures> figures;
  for (const Plan& plan : plans) {
    figures.push_back({plan.layers.size(), plan.de00, plan.de00_rms});
  }
  return recommended(figures);
}

std::string layers_in_words(const Plan& plan) {
  std::string text;
  for (const PlannedLayer& layer : plan.layers) {
    text += (text.empty() ? "" : " under ") + format_fixed(layer.thickness_mm, 1) + " mm of " +
            layer.paste;
  }
  return text;
}

std::string reason(const std::vector<Plan>& plans, std::size_t recommended) {
  const Plan& chosen = plans[recommended];
  const std::size_t layers = chosen.layers.size();
  std::string text = layers_in_words(chosen) + ": expected ΔE00 " +
                     format_fixed(chosen.de00_rms, 2) + " (nominal " +
                     format_fixed(chosen.de00, 2) + ").";
  for (std::size_t fewer = 1; fewer < layers; ++fewer) {
    const Plan* const best = best_of(plans, fewer);
    if (best == nullptr) {
      text += " No allowed plan of " + count_in_words(fewer) + " fills the depth.";
      continue;
    }
    text += " The best of " + count_in_words(fewer) + " expects " + format_fixed(best->de00_rms, 2);
    const bool unacceptable = std::none_of(plans.begin(), plans.end(), [&](const Plan& plan) {
      return plan.layers.size() == fewer && is_acceptable(plan);
    });
    text += unacceptable && is_acceptable(chosen)
                ? " and is not acceptable (nominal " + format_fixed(best->de00, 2) +
                      ", acceptability threshold " + format_fixed(threshold::acceptable_de00, 1) +
                      ")."
                : ", visibly worse (perceptibility threshold " +
                      format_fixed(threshold::perceptible_de00, 1) + ").";
  }
  for (std::size_t more = layers + 1; more <= most_layers(plans); ++more) {
    const Plan* const best = best_of(plans, more);
    if (best == nullptr) continue;
    const double gain = chosen.de00_rms - best->de00_rms;
    text += gain <= 0 ? " The best of " + count_in_words(more) + " would gain nothing."
            : gain <= threshold::perceptible_de00
                ? " The best of " + count_in_words(more) + " would gain " + format_fixed(gain, 2) +
                      ", which is below the perceptibility threshold " +
                      format_fixed(threshold::perceptible_de00, 1) +
                      " and so not worth the trouble."
                : " The best of " + count_in_words(more) +
                      " is expected nearer on average, but is not acceptable as planned.";
  }
  return text;
}

std::vector<LayerGain> gains_of(const std::vector<Plan>& plans) {
  std::vector<LayerGain> gains;
  for (std::size_t layers = 1; layers <= most_layers(plans); ++layers) {
    const Plan* const best = best_of(plans, layers);
    if (best == nullptr) continue;
    const double expected = best->de00_rms;
    const bool next = !gains.empty() && gains.back().layers + 1 == static_cast<int>(layers);
    gains.push_back(
        {static_cast<int>(layers), expected, next ? gains.back().de00_rms - expected : 0});
  }
  return gains;
}

std::vector<PartingTie> parting_ties(const std::vector<Plan>& plans) {
  std::vector<PartingTie> ties;
  for (std::size_t i = 0; i < plans.size(); ++i) {
    for (std::size_t j = i + 1; j < plans.size(); ++j) {
      if (!is_as_good(plans[i], plans[j]) || !is_as_good(plans[j], plans[i])) continue;
      for (std::size_t v = 1; v < plans[i].predicted.size(); ++v) {
        const PredictedColour& a = plans[i].predicted[v];
        const PredictedColour& b = plans[j].predicted[v];
        const double apart = std::abs(a.de00 - b.de00);
        if (apart > threshold::perceptible_de00) {
          const bool first = a.de00 < b.de00;
          ties.push_back({first ? i : j, first ? j : i, a.viewing, apart});
        }
      }
    }
  }
  return ties;
}

std::string miss_in_words(const PredictedColour& own) {
  const double dl = own.lab.l - own.target.l;
  const double dc = std::hypot(own.lab.a, own.lab.b) - std::hypot(own.target.a, own.target.b);
  return std::abs(dl) >= std::abs(dc) ? (dl < 0 ? "darker" : "lighter")
                                      : (dc < 0 ? "less chromatic" : "more chromatic");
}

std::vector<std::string> cautions_of(const PlanRequest& request, const Plan& plan) {
  std::vector<std::string> cautions;
  for (const PlannedLayer& layer : plan.layers) {
    if (layer.extrapolated) {
      cautions.push_back("paste '" + layer.paste + "' was not measured at " +
                         format_fixed(layer.thickness_mm, 1) + " mm: its colour is extrapolated");
    }
  }
  for (const Increment& step : plan.increments) {
    if (step.blue_share < least_blue_share) {
      cautions.push_back("portion " + std::to_string(step.order) + " (" +
                         format_fixed(step.thickness_mm, 1) + " mm of " + step.paste + ") lets " +
                         format_fixed(100 * step.blue_share, 1) +
                         " % of the curing light through to its underside: it may stay soft "
                         "there; place it in thinner portions");
    }
  }
  if (request.rank_by_transport && plan.engine == Engine::kubelka_munk) {
    for (const PlannedLayer& layer : plan.layers) {
      const auto paste = detail::find_by(request.pastes.pastes, layer.paste, &Paste::name);
      if (paste != request.pastes.pastes.end() && !paste->transport) {
        cautions.push_back("paste '" + layer.paste +
                           "' has no transport constants: the plan is predicted by two fluxes, "
                           "which miss more; fit it again from its drawdowns");
        break;
      }
    }
  }
  if (std::abs(plan.de00_confirmed - plan.de00) > threshold::perceptible_de00 / 4) {
    cautions.push_back("by 8 streams in place of 4 the plan misses its target by ΔE00 " +
                       format_fixed(plan.de00_confirmed, 2) + ", not " +
                       format_fixed(plan.de00, 2));
  }
  if (plan.contact_wall) {
    const ContactWall& wall = *plan.contact_wall;
    cautions.push_back("over the contact wall, " + format_fixed(wall.width_mm, 1) + " mm of " +
                       wall.paste + " from floor to surface, ΔE00 to the target is predicted as " +
                       format_fixed(wall.in_front.de00, 1) +
                       "; light that so narrow a wall loses to its sides is not in it");
  }
  return cautions;
}

std::vector<std::string> in_words(const OutOfReach& reach, const Plan& best) {
  const std::string text = "no allowed plan comes within the acceptability threshold of " +
                           format_fixed(threshold::acceptable_de00, 1) +
                           ": the one recommended misses by ΔE00 " + format_fixed(reach.de00, 1) +
                           ", being " + miss_in_words(best.predicted.front());
  return {text + " than the target", reach.reason};
}

std::string in_words(const PartingTie& tie) {
  return "plans " + std::to_string(std::min(tie.nearer, tie.farther) + 1) + " and " +
         std::to_string(std::max(tie.nearer, tie.farther) + 1) +
         " look alike under the target's light, but under " + tie.viewing.illuminant.name() +
         " plan " + std::to_string(tie.nearer + 1) + " is nearer by ΔE00 " +
         format_fixed(tie.apart_de00, 1);
}

std::string difference_in_words(const Plan& plan, const Plan& other) {
  std::string text;
  for (std::size_t j = 0; j < plan.layers.size(); ++j) {
    const double more = other.layers[j].thickness_mm - plan.layers[j].thickness_mm;
    constexpr double alike_mm = 0.05;
    text += (text.empty() ? "" : ", ") + format_fixed(other.layers[j].thickness_mm, 1) + " mm of " +
            other.layers[j].paste;
    text += std::abs(more) < alike_mm
                ? " (the same)"
                : " (" + format_fixed(std::abs(more), 1) + " mm " + (more > 0 ? "more)" : "less)");
  }
  return text + ", in " + std::to_string(other.increments.size()) + " portions in place of " +
         std::to_string(plan.increments.size());
}

}  // namespace mamelon::detail

namespace mamelon {

std::size_t recommended(std::span<const PlanFigures> plans) {
  if (plans.empty()) throw ArgumentError("there is no plan to recommend one of");
  const bool reached = std::any_of(plans.begin(), plans.end(), detail::is_acceptable<PlanFigures>);
  double least = std::numeric_limits<double>::infinity();
  for (const PlanFigures& plan : plans) least = std::min(least, plan.de00_rms);
  std::optional<std::size_t> chosen;
  for (std::size_t i = 0; i < plans.size(); ++i) {
    if (!reached) {
      if (plans[i].de00_rms <= least + threshold::perceptible_de00) return i;
      continue;
    }
    if (!detail::is_acceptable(plans[i])) continue;
    if (!chosen || (plans[i].layers > plans[*chosen].layers &&
                    plans[i].de00_rms + threshold::perceptible_de00 < plans[*chosen].de00_rms)) {
      chosen = i;
    }
  }
  return chosen.value_or(0);
}

bool is_as_good(const Plan& plan, const Plan& recommended) {
  constexpr double within = threshold::perceptible_de00 / 10;
  return plan.de00_rms <= recommended.de00_rms + within &&
         (detail::is_acceptable(plan) || !detail::is_acceptable(recommended));
}

}  // namespace mamelon
