#include "plan/words.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "mamelon/appearance.h"

#include "base/numbers.h"

namespace mamelon::detail {
namespace {

constexpr std::size_t none = std::numeric_limits<std::size_t>::max();

// First, and so best, plan with this number of layers.
std::size_t best_of(const std::vector<Plan>& plans, std::size_t layers) {
  for (std::size_t i = 0; i < plans.size(); ++i) {
    if (plans[i].layers.size() == layers) {
      return i;
    }
  }
  return none;
}

std::size_t most_layers(const std::vector<Plan>& plans) {
  std::size_t most = 0;
  for (const Plan& plan : plans) {
    most = std::max(most, plan.layers.size());
  }
  return most;
}

std::string layers_in_words(const Plan& plan) {
  std::string text;
  for (const PlannedLayer& layer : plan.layers) {
    text += (text.empty() ? "" : " under ") + format_fixed(layer.thickness_mm, 1) + " mm of " +
            layer.paste;
  }
  return text;
}

std::string count_in_words(std::size_t layers) {
  const char* const words[] = {"no layer", "one layer", "two layers", "three layers"};
  return words[std::min<std::size_t>(layers, 3)];
}

}  // namespace

std::size_t recommended_plan(const std::vector<Plan>& plans) {
  double least = std::numeric_limits<double>::infinity();
  for (const Plan& plan : plans) {
    least = std::min(least, plan.de00_expected);
  }
  for (std::size_t layers = 1; layers <= most_layers(plans); ++layers) {
    const std::size_t best = best_of(plans, layers);
    if (best != none && plans[best].de00_expected <= least + threshold::perceptible_de00) {
      return best;
    }
  }
  return 0;
}

std::string reason(const std::vector<Plan>& plans, std::size_t recommended) {
  const Plan& chosen = plans[recommended];
  const std::size_t layers = chosen.layers.size();
  std::string text = layers_in_words(chosen) + ": expected ΔE00 " +
                     format_fixed(chosen.de00_expected, 2) + " (nominal " +
                     format_fixed(chosen.de00, 2) + ").";
  for (std::size_t fewer = 1; fewer < layers; ++fewer) {
    const std::size_t best = best_of(plans, fewer);
    text += best == none ? " No allowed plan of " + count_in_words(fewer) + " fills the depth."
                         : " The best of " + count_in_words(fewer) + " expects " +
                               format_fixed(plans[best].de00_expected, 2) +
                               ", visibly worse (perceptibility threshold " +
                               format_fixed(threshold::perceptible_de00, 1) + ").";
  }
  for (std::size_t more = layers + 1; more <= most_layers(plans); ++more) {
    const std::size_t best = best_of(plans, more);
    if (best == none) {
      continue;
    }
    const double gain = chosen.de00_expected - plans[best].de00_expected;
    text += gain > 0
                ? " The best of " + count_in_words(more) + " would gain " + format_fixed(gain, 2) +
                      ", which is below the perceptibility threshold " +
                      format_fixed(threshold::perceptible_de00, 1) +
                      " and so not worth the trouble."
                : " The best of " + count_in_words(more) + " would gain nothing.";
  }
  return text;
}

std::vector<LayerGain> gains_of(const std::vector<Plan>& plans) {
  std::vector<LayerGain> gains;
  for (std::size_t layers = 1; layers <= most_layers(plans); ++layers) {
    const std::size_t best = best_of(plans, layers);
    if (best == none) {
      continue;
    }
    const double expected = plans[best].de00_expected;
    const bool next = !gains.empty() && gains.back().layers + 1 == static_cast<int>(layers);
    gains.push_back(
        {static_cast<int>(layers), expected, next ? gains.back().de00_expected - expected : 0});
  }
  return gains;
}

std::vector<PartingTie> parting_ties(const std::vector<Plan>& plans) {
  std::vector<PartingTie> ties;
  for (std::size_t i = 0; i < plans.size(); ++i) {
    for (std::size_t j = i + 1; j < plans.size(); ++j) {
      if (std::abs(plans[i].de00_expected - plans[j].de00_expected) >
          threshold::perceptible_de00 / 10) {
        continue;
      }
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

std::vector<std::string> in_words(const OutOfReach& reach, const Plan& best) {
  const std::string text = "no allowed plan comes within the acceptability threshold of " +
                           format_fixed(threshold::acceptable_de00, 1) +
                           ": the best misses by ΔE00 " + format_fixed(reach.de00, 1) + ", being " +
                           miss_in_words(best.predicted.front());
  return {text + " than the target", reach.reason,
          reach.enough_depth_mm
              ? "a depth of " + format_fixed(*reach.enough_depth_mm, 1) +
                    " mm would be enough for a plan within acceptability"
              : "no depth up to 6 mm brings these pastes within acceptability: another paste is "
                "needed"};
}

std::string in_words(const PartingTie& tie) {
  return "plans " + std::to_string(std::min(tie.nearer, tie.farther) + 1) + " and " +
         std::to_string(std::max(tie.nearer, tie.farther) + 1) +
         " look alike under the target's light, but under " + tie.viewing.illuminant.name() +
         " plan " + std::to_string(tie.nearer + 1) + " is nearer by ΔE00 " +
         format_fixed(tie.apart_de00, 1);
}

}  // namespace mamelon::detail
