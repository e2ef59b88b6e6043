// What a card lacks.

#include <algorithm>

#include "mamelon/layout.h"

#include "capture/light_field.h"

namespace mamelon {
namespace {

bool is_tooth_like(const Lab& lab) {
  return lab.l >= 58 && lab.l <= 82 && lab.a >= -1 && lab.a <= 6 && lab.b >= 4 && lab.b <= 26;
}

bool is_reddish(const Lab& lab) {
  return lab.a > 10 && lab.a > 0.5 * lab.b;
}

void ask_for(std::vector<std::string>& advice, std::ptrdiff_t found, std::ptrdiff_t wanted,
             const std::string& what) {
  if (found >= wanted) return;
  advice.push_back("the card has " + std::to_string(found) + " " + what + "; " +
                   std::to_string(wanted) + " or more read teeth better");
}

}  // namespace

std::vector<std::string> card_advice(const Card& card, const Viewing& viewing) {
  std::vector<std::string> advice;
  const auto count = [&](const auto& holds) {
    return std::count_if(card.patches.begin(), card.patches.end(), holds);
  };
  const auto colour_holds = [&](const auto& holds) {
    return count([&](const Patch& p) {
      return (p.reflectance || card.viewing == viewing) && holds(patch_lab(card, p, viewing));
    });
  };
  ask_for(advice, count([](const Patch& p) { return p.neutral; }), 4, "neutral patches");
  ask_for(advice, colour_holds(is_tooth_like), 6, "patches of tooth-like colour");
  ask_for(advice, colour_holds(is_reddish), 2, "reddish patches");
  const auto bare = count([](const Patch& p) { return !p.reflectance; });
  if (bare > 0) {
    advice.push_back(std::to_string(bare) +
                     " patches are known by their Lab only: with their reflectance the camera's "
                     "response can be told");
  }
  if (card.white_areas.size() < detail::min_light_samples) {
    advice.push_back("the card has " + std::to_string(card.white_areas.size()) + " white areas; " +
                     std::to_string(detail::min_light_samples) +
                     " or more, some of them beside the teeth, tell how even the light is");
  }
  return advice;
}

}  // namespace mamelon
