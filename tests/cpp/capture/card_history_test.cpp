// Which patches of a card have changed.

#include "mamelon/card_history.h"

#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/error.h"

#include "demo.h"

namespace {

using mamelon::ArgumentError;
using mamelon::card_history;
using mamelon::CardHistory;
using mamelon::CardVisit;
using mamelon::KeptFit;

const std::vector<std::string> days = {"2026-01-05", "2026-04-02", "2026-08-30"};

// Three photos of the demo card; the patch of index `worn` yellows from visit to visit, and the
// noise of each patch is its own.
std::vector<CardVisit> visits(std::size_t worn) {
  const auto& s = demo::scene("front_teeth_linear");
  static const KeptFit kept = keep(fit_card(s.photo, s.card, demo::d65()));
  std::vector<CardVisit> out;
  for (std::size_t t = 0; t < days.size(); ++t) {
    CardVisit visit{kept, days[t]};
    for (std::size_t i = 0; i < visit.fit.patches.size(); ++i) {
      mamelon::Vec3& rgb = visit.fit.patches[i].rgb;
      for (std::size_t c = 0; c < 3; ++c) {
        // A fixed sequence of errors of 0.1 % at the most.
        const double place = static_cast<double>((37 * i + 11 * c + 53 * t * (i + 1)) % 101) / 101;
        rgb[c] *= 1 + 0.002 * (place - 0.5);
      }
      if (i == worn) rgb[2] *= 1 - 0.02 * static_cast<double>(t);
    }
    out.push_back(std::move(visit));
  }
  return out;
}

TEST(CardHistory, NamesThePatchThatYellowsAndNoOther) {
  constexpr std::size_t worn = 8;
  const CardHistory history = card_history(visits(worn), demo::d65());
  EXPECT_EQ(history.days, days);
  for (std::size_t i = 0; i < history.patches.size(); ++i) {
    EXPECT_EQ(history.patches[i].changed, i == worn) << history.patches[i].name;
    EXPECT_EQ(history.patches[i].residual.size(), days.size());
  }
  const auto& patch = history.patches[worn];
  EXPECT_LT(patch.p_value, 0.05 / 20);
  EXPECT_GT(patch.change[2], 0.5);  // more yellow
  EXPECT_GT(patch.de00, patch.de00_u95);
}

TEST(CardHistory, ACardAsItWasIsLeftAlone) {
  const CardHistory history = card_history(visits(1000), demo::d65());
  for (const auto& patch : history.patches) EXPECT_FALSE(patch.changed) << patch.name;
}

TEST(CardHistory, OnePhotoUnderTwoDaysHasNoChange) {
  const CardVisit visit = visits(1000)[0];
  CardVisit again = visit;
  again.day = days[1];
  for (const auto& patch : card_history({visit, again}, demo::d65()).patches) {
    EXPECT_FALSE(patch.changed) << patch.name;
    EXPECT_EQ(patch.p_value, 1) << patch.name;
  }
}

TEST(CardHistory, SaysWhatItCannotCompare) {
  const auto all = visits(1000);
  EXPECT_THROW((void)card_history({all[0]}, demo::d65()), ArgumentError);
  auto undated = all;
  undated[1].day.clear();
  EXPECT_THROW((void)card_history(undated, demo::d65()), ArgumentError);
  undated[1].fit.settings.taken = "2026-05-01 10:00:00";
  EXPECT_EQ(card_history(undated, demo::d65()).days[1], "2026-05-01");
  auto wrong = all;
  wrong[2].day = "2026-02-30";
  EXPECT_THROW((void)card_history(wrong, demo::d65()), ArgumentError);
  auto one_day = all;
  for (auto& visit : one_day) visit.day = days[0];
  EXPECT_THROW((void)card_history(one_day, demo::d65()), ArgumentError);
  auto other = all;
  other[1].fit.card.patches[3].x_mm += 0.01;
  EXPECT_THROW((void)card_history(other, demo::d65()), ArgumentError);
}

}  // namespace
