// The correction without a card.

#include <algorithm>
#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/difference.h"
#include "mamelon/error.h"
#include "mamelon/zones.h"

#include "demo.h"

namespace {

using demo::d65;
using demo::scene;
using mamelon::fit_surfaces;
using mamelon::KnownSurface;
using testing::Contains;
using testing::HasSubstr;
using testing::Not;

// Surfaces of known colour in the demo photos: the card's tooth-like patches, as tabs would stand
// there; nothing else of the card is used.
std::vector<KnownSurface> tabs_of(const demo::Scene& s, std::size_t count, bool spectra) {
  std::vector<KnownSurface> tabs;
  const auto& h = s.mm_to_px;
  for (const auto& p : s.card.patches) {
    if (p.name.front() != 't' || tabs.size() == count) continue;
    const double x = p.x_mm + 0.25 * p.width_mm;
    const double y = p.y_mm + 0.25 * p.height_mm;
    const auto at = [&](double u, double v) {
      const double w = h[6] * u + h[7] * v + h[8];
      return mamelon::PointPx{(h[0] * u + h[1] * v + h[2]) / w, (h[3] * u + h[4] * v + h[5]) / w};
    };
    const auto a = at(x, y);
    const auto b = at(x + 0.5 * p.width_mm, y + 0.5 * p.height_mm);
    KnownSurface tab;
    tab.name = p.name;
    tab.box = {a.x, a.y, b.x - a.x, b.y - a.y};
    if (spectra) {
      tab.reflectance = p.reflectance;
    } else {
      tab.lab = to_lab(*p.reflectance, d65());
    }
    tabs.push_back(tab);
  }
  return tabs;
}

double px_per_mm(const demo::Scene& s) {
  return std::hypot(s.mm_to_px[0], s.mm_to_px[3]) / s.mm_to_px[8];
}

struct Case {
  const char* photo;
  std::size_t tabs;
  bool spectra;
};

class TabsInThePhoto : public testing::TestWithParam<Case> {};

// Truth: the simulator's zones. The light of the photos varies by a quarter, which tabs cannot see:
// L* may be off by that, and the interval has to say so.
TEST_P(TabsInThePhoto, StandInForACard) {
  const Case& c = GetParam();
  const auto& s = scene(c.photo);
  const auto fit =
      fit_surfaces(s.photo, tabs_of(s, c.tabs, c.spectra), d65(), {.px_per_mm = px_per_mm(s)});
  EXPECT_EQ(fit.correction->method(), c.spectra && c.tabs >= 6
                                          ? mamelon::CorrectionMethod::response_estimate
                                          : mamelon::CorrectionMethod::tabs);
  EXPECT_THAT(fit.warnings, Contains(HasSubstr("no card")));
  std::size_t inside = 0;
  std::size_t all = 0;
  for (const auto& tooth : s.teeth) {
    mamelon::ToothHint hint;
    hint.point = tooth.point;
    const auto zones = find_zones(s.photo, fit, hint);
    const auto readings = read_zones(s.photo, fit, zones, tooth.name);
    for (std::size_t i = 0; i < 3; ++i) {
      const auto& lab = readings[i].lab.value;
      const auto& truth = tooth.zones[i];
      const auto sd = readings[i].lab.sd();
      EXPECT_NEAR(lab.l, truth.l, 4) << tooth.name;
      EXPECT_NEAR(lab.a, truth.a, 2) << tooth.name;
      EXPECT_NEAR(lab.b, truth.b, 2) << tooth.name;
      inside += std::abs(lab.l - truth.l) < 2 * sd[0] ? 1U : 0U;
      inside += std::abs(lab.a - truth.a) < 2 * sd[1] ? 1U : 0U;
      inside += std::abs(lab.b - truth.b) < 2 * sd[2] ? 1U : 0U;
      all += 3;
    }
  }
  EXPECT_GE(static_cast<double>(inside), 0.9 * static_cast<double>(all));
}

INSTANTIATE_TEST_SUITE_P(Photos, TabsInThePhoto,
                         testing::Values(Case{"front_teeth_linear", 8, true},
                                         Case{"front_teeth_linear", 3, true},
                                         Case{"front_teeth_linear", 3, false},
                                         Case{"front_teeth_linear", 1, false},
                                         Case{"front_teeth", 3, false}));

TEST(Surfaces, RefusesWhatCannotStandInForACard) {
  const auto& s = scene("front_teeth_linear");
  auto tabs = tabs_of(s, 3, false);
  EXPECT_THROW((void)fit_surfaces(s.photo, {}, d65()), mamelon::ArgumentError);
  auto nameless = tabs;
  nameless[0].lab.reset();
  EXPECT_THROW((void)fit_surfaces(s.photo, nameless, d65()), mamelon::ArgumentError);
  auto outside = tabs;
  outside[1].box.x = static_cast<double>(s.photo.width) - 2;
  EXPECT_THROW((void)fit_surfaces(s.photo, outside, d65()), mamelon::ArgumentError);
  // Tabs whose stated colours are not what the photo shows of them.
  auto wrong = tabs;
  wrong[0].lab->b += 15;
  wrong[1].lab->a += 12;
  EXPECT_THROW((void)fit_surfaces(s.photo, wrong, d65()), mamelon::CaptureError);
  auto photo = s.photo;
  photo.encoding = mamelon::Encoding::camera_rendering;
  EXPECT_THROW((void)fit_surfaces(photo, tabs, d65()), mamelon::CaptureError);
}

// There is no card to be held nearer.
TEST(TabsInThePhoto, AreNotCalledACard) {
  const auto& s = scene("front_teeth_linear");
  auto tabs = tabs_of(s, 1, true);
  const auto fit = fit_surfaces(s.photo, tabs, d65(), {.px_per_mm = px_per_mm(s) / 3});
  mamelon::ToothHint hint;
  hint.mask = s.teeth[0].outline;
  const auto zones = find_zones(s.photo, fit, hint);
  EXPECT_THAT(zones.warnings, Contains(HasSubstr("the nearest tab in the photo lies")));
  EXPECT_THAT(zones.warnings, Not(Contains(HasSubstr("card"))));
}

}  // namespace
