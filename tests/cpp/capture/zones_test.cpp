#include "mamelon/zones.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "demo.h"

namespace {

using demo::d65;
using demo::scene;
using mamelon::find_zones;
using mamelon::ToothHint;
using testing::Contains;
using testing::HasSubstr;

ToothHint at(const mamelon::PointPx& point) {
  ToothHint hint;
  hint.point = point;
  return hint;
}

class DemoTeeth : public testing::TestWithParam<const char*> {};

// Truth: the simulator's mean reflectance of each zone, turned to CIELAB by colour-science.
TEST_P(DemoTeeth, AreReadNearTheirTruth) {
  const auto& s = scene(GetParam());
  const auto fit = fit_card(s.photo, s.card, d65());
  std::vector<double> errors;
  for (const auto& tooth : s.teeth) {
    const auto zones = find_zones(s.photo, fit, at(tooth.point));
    const auto readings = read_zones(s.photo, fit, zones, tooth.name);
    ASSERT_EQ(readings.size(), 3U);
    for (std::size_t i = 0; i < 3; ++i) {
      EXPECT_EQ(readings[i].label, tooth.name);
      EXPECT_TRUE(mamelon::is_covariance(readings[i].lab.covariance()));
      errors.push_back(mamelon::de00(readings[i].lab.value, tooth.zones[i]));
      EXPECT_LT(errors.back(), 0.7) << tooth.name << ' ' << readings[i].zone;
    }
  }
  std::sort(errors.begin(), errors.end());
  EXPECT_LT(errors[errors.size() / 2], 0.35);
}

TEST_P(DemoTeeth, AreOutlinedFromOneClick) {
  const auto& s = scene(GetParam());
  const auto fit = fit_card(s.photo, s.card, d65());
  std::size_t glare = 0;
  std::size_t left_out = 0;
  for (const auto& tooth : s.teeth) {
    const auto zones = find_zones(s.photo, fit, at(tooth.point));
    EXPECT_GT(demo::overlap(zones.tooth, tooth.outline), 0.95) << tooth.name;
    EXPECT_LT(zones.cervical_end.y, zones.incisal_end.y) << tooth.name;
    for (std::size_t i = 0; i < zones.tooth.inside.size(); ++i) {
      const std::size_t x = zones.tooth.x + i % zones.tooth.width;
      const std::size_t y = zones.tooth.y + i / zones.tooth.width;
      const std::size_t place = y * s.photo.width + x;
      if (s.glare.inside[place] == 0 || tooth.outline.inside[place] == 0) continue;
      ++glare;
      left_out += std::none_of(zones.zones.begin(), zones.zones.end(),
                               [i](const auto& z) { return z.mask.inside[i] != 0; })
                      ? 1U
                      : 0U;
    }
  }
  ASSERT_GT(glare, 500U);
  EXPECT_GT(static_cast<double>(left_out) / static_cast<double>(glare), 0.98);
}

TEST_P(DemoTeeth, BoxAndClickAgree) {
  const auto& s = scene(GetParam());
  const auto fit = fit_card(s.photo, s.card, d65());
  const auto& tooth = s.teeth[2];
  ToothHint hint;
  hint.box = tooth.box;
  EXPECT_GT(demo::overlap(find_zones(s.photo, fit, hint).tooth, tooth.outline), 0.95);
}

INSTANTIATE_TEST_SUITE_P(Photos, DemoTeeth,
                         testing::Values("front_teeth", "front_teeth_linear", "front_teeth_warm"));

TEST(Zones, GivenMaskIsKept) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  ToothHint hint;
  hint.mask = s.teeth[2].outline;
  const auto zones = find_zones(s.photo, fit, hint);
  EXPECT_GT(demo::overlap(zones.tooth, s.teeth[2].outline), 0.98);
  hint.mask->inside.pop_back();
  EXPECT_THROW((void)find_zones(s.photo, fit, hint), mamelon::ArgumentError);
}

// An outline that leaks into the gingiva is read without a word otherwise.
TEST(Zones, WarnsOfMoreThanATooth) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  const auto warned = [&](const mamelon::Mask& mask) {
    const auto zones = find_zones(s.photo, fit, {.point = {}, .box = {}, .mask = mask});
    return std::any_of(zones.warnings.begin(), zones.warnings.end(), [](const std::string& text) {
      return text.find("more than a tooth does") != std::string::npos;
    });
  };
  mamelon::Mask two = s.teeth[2].outline;
  EXPECT_FALSE(warned(two));
  for (std::size_t i = 0; i < two.inside.size(); ++i) two.inside[i] |= s.teeth[3].outline.inside[i];
  EXPECT_TRUE(warned(two));
}

TEST(Zones, ThirdsAreEqualPartsOfTheAxisAndDisjoint) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  const auto zones = find_zones(s.photo, fit, at(s.teeth[2].point));
  ASSERT_EQ(zones.zones.size(), 3U);
  const double dx = zones.incisal_end.x - zones.cervical_end.x;
  const double dy = zones.incisal_end.y - zones.cervical_end.y;
  for (std::size_t i = 0; i < zones.tooth.inside.size(); ++i) {
    const auto x = static_cast<double>(zones.tooth.x + i % zones.tooth.width);
    const auto y = static_cast<double>(zones.tooth.y + i / zones.tooth.width);
    const double v =
        ((x - zones.cervical_end.x) * dx + (y - zones.cervical_end.y) * dy) / (dx * dx + dy * dy);
    int members = 0;
    for (std::size_t third = 0; third < 3; ++third) {
      if (zones.zones[third].mask.inside[i] == 0) continue;
      ++members;
      EXPECT_GE(v, static_cast<double>(third) / 3 - 0.01);
      EXPECT_LE(v, static_cast<double>(third + 1) / 3 + 0.01);
    }
    EXPECT_LE(members, 1);
    if (members == 1) {
      EXPECT_EQ(zones.glare.inside[i], 0);
    }
  }
}

TEST(Zones, AWiderMarginLeavesLess) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  std::size_t last = s.photo.width * s.photo.height;
  for (const double margin : {0.0, 0.4, 1.0}) {
    mamelon::ZoneOptions options;
    options.margin_mm = margin;
    const auto zones = find_zones(s.photo, fit, at(s.teeth[2].point), options);
    std::size_t count = 0;
    for (const auto& z : zones.zones) {
      count += std::accumulate(z.mask.inside.begin(), z.mask.inside.end(), std::size_t{0});
    }
    EXPECT_LT(count, last);
    last = count;
  }
  mamelon::ZoneOptions options;
  options.margin_mm = -1;
  EXPECT_THROW((void)find_zones(s.photo, fit, at(s.teeth[2].point), options),
               mamelon::ArgumentError);
}

TEST(Zones, UpsideDownTeethKeepTheirThirds) {
  const auto& s = scene("front_teeth_linear");
  const auto turned = demo::turned(s.photo);
  const auto fit = fit_card(turned, s.card, d65());
  const auto& tooth = s.teeth[2];
  const mamelon::PointPx point = {static_cast<double>(s.photo.width) - 1 - tooth.point.x,
                                  static_cast<double>(s.photo.height) - 1 - tooth.point.y};
  const auto zones = find_zones(turned, fit, at(point));
  EXPECT_GT(zones.cervical_end.y, zones.incisal_end.y);
  const auto readings = read_zones(turned, fit, zones, tooth.name);
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_LT(mamelon::de00(readings[i].lab.value, tooth.zones[i]), 0.7);
  }
}

TEST(Zones, DirectionByHandTurnsTheThirds) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  mamelon::ZoneOptions options;
  options.cervical_direction_deg = 270;
  options.kind = mamelon::ToothKind::posterior;
  const auto zones = find_zones(s.photo, fit, at(s.teeth[2].point), options);
  EXPECT_GT(zones.cervical_end.y, zones.incisal_end.y);
  EXPECT_EQ(zones.zones[2].name, "occlusal");
}

TEST(Zones, WithoutAHintATooth) {
  const auto& s = scene("front_teeth");
  const auto fit = fit_card(s.photo, s.card, d65());
  const auto zones = find_zones(s.photo, fit, {});
  EXPECT_THAT(zones.warnings, Contains(HasSubstr("largest")));
  const bool one_of_them = std::any_of(s.teeth.begin(), s.teeth.end(), [&](const auto& t) {
    return demo::overlap(zones.tooth, t.outline) > 0.95;
  });
  EXPECT_TRUE(one_of_them);
}

// Light added to a tooth, or a patch painted on it, within an ellipse about its middle: shares of
// the tooth's box, and a soft rim.
using Change = std::function<std::array<double, 3>(const std::array<double, 3>&, double)>;

mamelon::Photo changed(const mamelon::Photo& photo, const mamelon::BoxPx& box, double half_x,
                       double half_y, const Change& change) {
  mamelon::Photo out = photo;
  for (std::size_t y = 0; y < photo.height; ++y) {
    for (std::size_t x = 0; x < photo.width; ++x) {
      const double u = (static_cast<double>(x) - box.x - box.width / 2) / (half_x * box.width);
      const double v = (static_cast<double>(y) - box.y - box.height / 2) / (half_y * box.height);
      const double share = 1 / (1 + std::exp((std::hypot(u, v) - 1) / 0.06));
      if (share < 1e-3) continue;
      const std::size_t i = 3 * (y * photo.width + x);
      const auto to =
          change({static_cast<double>(photo.rgb[i]), static_cast<double>(photo.rgb[i + 1]),
                  static_cast<double>(photo.rgb[i + 2])},
                 share);
      for (std::size_t c = 0; c < 3; ++c) {
        out.rgb[i + c] = static_cast<std::uint16_t>(std::clamp(std::lround(to[c]), 0L, 65535L));
      }
    }
  }
  return out;
}

// A patch whose light is that of the tooth times a factor a channel.
Change patch(const std::array<double, 3>& factor) {
  return [factor](const std::array<double, 3>& light, double share) {
    std::array<double, 3> to{};
    for (std::size_t c = 0; c < 3; ++c) to[c] = light[c] * (1 + share * (factor[c] - 1));
    return to;
  };
}

// Light of a perfect white at the tooth, from the card's white beside it.
std::array<double, 3> white_of(const mamelon::CardFit& fit) {
  std::array<double, 3> white{};
  for (const auto& p : fit.patches) {
    for (std::size_t c = 0; c < 3; ++c) white[c] = std::max(white[c], p.rgb[c] / 0.9);
  }
  return white;
}

// A softbox's reflection over a quarter of the tooth adds the same white light to all of it.
TEST(Zones, TakesABroadSheenForGlare) {
  const auto& s = scene("front_teeth_linear");
  const auto& tooth = s.teeth[2];
  const auto fit = fit_card(s.photo, s.card, d65());
  const auto white = white_of(fit);
  const auto lit = changed(s.photo, tooth.box, 0.22, 0.3, [&](const auto& light, double share) {
    std::array<double, 3> to{};
    for (std::size_t c = 0; c < 3; ++c) to[c] = light[c] + 0.12 * share * 65535 * white[c];
    return to;
  });
  const auto lit_fit = fit_card(lit, s.card, d65());
  const auto before = find_zones(s.photo, fit, at(tooth.point));
  const auto zones = find_zones(lit, lit_fit, at(tooth.point));
  EXPECT_GT(zones.glare_fraction, before.glare_fraction + 0.1);
  const auto readings = read_zones(lit, lit_fit, zones, "t");
  EXPECT_LT(mamelon::de00(readings[1].lab.value, tooth.zones[1]), 1.2);
  // Told to be polarised, all of it counts as the tooth.
  mamelon::ZoneOptions options;
  options.polarised = true;
  const auto counted = find_zones(lit, lit_fit, at(tooth.point), options);
  EXPECT_LT(counted.glare_fraction, 0.05);
  EXPECT_GT(mamelon::de00(read_zones(lit, lit_fit, counted, "t")[1].lab.value, tooth.zones[1]), 2);
}

TEST(Zones, NamesWhatIsNotSoundTooth) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  for (const auto& tooth : s.teeth) {
    EXPECT_EQ(find_zones(s.photo, fit, at(tooth.point)).unsound_fraction, 0) << tooth.name;
  }
  const auto& tooth = s.teeth[2];
  // Beside the place that is pointed at.
  mamelon::BoxPx beside = tooth.box;
  beside.x += 0.15 * beside.width;
  beside.y += 0.15 * beside.height;
  struct Case {
    Change change;
    const char* named;
    bool polarised;
  };
  for (const Case& c : {Case{patch({0.35, 0.25, 0.2}), "caries", false},
                        Case{patch({0.17, 0.23, 0.34}), "metal", false},
                        Case{patch({1.01, 0.99, 0.72}), "composite", false},
                        Case{patch({1.25, 1.35, 1.6}), "mineralised", true}}) {
    const auto photo = changed(s.photo, beside, 0.16, 0.12, c.change);
    mamelon::ZoneOptions options;
    options.polarised = c.polarised;
    const auto zones = find_zones(photo, fit_card(photo, s.card, d65()), at(tooth.point), options);
    EXPECT_THAT(zones.warnings, Contains(HasSubstr(c.named)));
    EXPECT_GT(zones.unsound_fraction, 0.02) << c.named;
    EXPECT_LT(zones.unsound_fraction, 0.15) << c.named;
  }
}

TEST(Zones, FromAboveCuspsAndFissuresAreApart) {
  const auto& s = scene("front_teeth_linear");
  const auto& tooth = s.teeth[2];
  // A groove along the tooth and a stain beside it.
  auto photo = changed(s.photo, tooth.box, 0.03, 0.25, patch({0.62, 0.58, 0.5}));
  mamelon::BoxPx beside = tooth.box;
  beside.x += 0.22 * beside.width;
  photo = changed(photo, beside, 0.1, 0.1, patch({0.35, 0.25, 0.2}));
  const auto fit = fit_card(photo, s.card, d65());
  mamelon::ZoneOptions options;
  options.from_above = true;
  EXPECT_THROW((void)find_zones(photo, fit, at(tooth.point), options), mamelon::ArgumentError);
  options.kind = mamelon::ToothKind::posterior;
  const auto zones = find_zones(photo, fit, at(tooth.point), options);
  ASSERT_EQ(zones.zones.size(), 2U);
  EXPECT_EQ(zones.zones[0].name, "cusps");
  EXPECT_EQ(zones.zones[1].name, "fissures");
  EXPECT_THAT(zones.warnings, Contains(HasSubstr("left out of the tooth's mean")));
  const auto readings = read_zones(photo, fit, zones, "t");
  EXPECT_LT(readings[1].lab.value.l, readings[0].lab.value.l - 3);
  // Without groove and stain the cusps read the same.
  const auto clean_fit = fit_card(s.photo, s.card, d65());
  const auto clean = find_zones(s.photo, clean_fit, at(tooth.point), options);
  EXPECT_LT(
      mamelon::de00(readings[0].lab.value, read_zones(s.photo, clean_fit, clean, "t")[0].lab.value),
      0.7);
}

TEST(Zones, WithoutAHintTheOthersAreNamed) {
  const auto& s = scene("front_teeth");
  const auto fit = fit_card(s.photo, s.card, d65());
  EXPECT_THAT(find_zones(s.photo, fit, {}).warnings, Contains(HasSubstr("others may be at")));
}

TEST(Zones, HintsMendTheOutline) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  const auto& tooth = s.teeth[2];
  ToothHint hint;
  const auto& b = tooth.box;
  for (const auto& [u, v] : {std::pair{0.1, 0.05}, {0.9, 0.05}, {0.95, 0.95}, {0.05, 0.95}}) {
    hint.rim.push_back({b.x + u * b.width, b.y + v * b.height});
  }
  EXPECT_GT(demo::overlap(find_zones(s.photo, fit, hint).tooth, tooth.outline), 0.9);
  // A point outside keeps the outline from its place.
  hint = at(tooth.point);
  const mamelon::PointPx within = {tooth.point.x, b.y + 0.9 * b.height};
  hint.outside = {within};
  const auto zones = find_zones(s.photo, fit, hint);
  const auto column = static_cast<std::size_t>(within.x) - zones.tooth.x;
  const auto row = static_cast<std::size_t>(within.y) - zones.tooth.y;
  const bool holds = row < zones.tooth.height && column < zones.tooth.width &&
                     zones.tooth.inside[row * zones.tooth.width + column] != 0;
  EXPECT_FALSE(holds);
  hint = {};
  hint.inside = {tooth.point};
  EXPECT_GT(demo::overlap(find_zones(s.photo, fit, hint).tooth, tooth.outline), 0.95);
}

TEST(Zones, RefusesHintsThatAreNoTooth) {
  const auto& s = scene("front_teeth");
  const auto fit = fit_card(s.photo, s.card, d65());
  const auto width = static_cast<double>(s.photo.width);
  for (const mamelon::PointPx p :
       {mamelon::PointPx{-1, 5}, mamelon::PointPx{width, 5}, mamelon::PointPx{std::nan(""), 5}}) {
    EXPECT_THROW((void)find_zones(s.photo, fit, at(p)), mamelon::ArgumentError);
  }
  ToothHint hint;
  hint.box = mamelon::BoxPx{10, 10, width, 50};
  EXPECT_THROW((void)find_zones(s.photo, fit, hint), mamelon::ArgumentError);
  // Gingiva above the teeth, by point and by box, and the dark below them.
  EXPECT_THROW((void)find_zones(s.photo, fit, at({800, 100})), mamelon::CaptureError);
  hint.box = mamelon::BoxPx{700, 60, 200, 150};
  EXPECT_THROW((void)find_zones(s.photo, fit, hint), mamelon::CaptureError);
  EXPECT_THROW((void)find_zones(s.photo, fit, at({760, 665})), mamelon::CaptureError);
  hint.point = s.teeth[0].point;
  EXPECT_THROW((void)find_zones(s.photo, fit, hint), mamelon::ArgumentError);
}

TEST(Zones, SameInputSameBits) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  const auto a = find_zones(s.photo, fit, at(s.teeth[1].point));
  const auto b = find_zones(s.photo, fit, at(s.teeth[1].point));
  EXPECT_EQ(a.tooth.inside, b.tooth.inside);
  EXPECT_EQ(a.provenance, b.provenance);
  const auto ra = read_zones(s.photo, fit, a, "t");
  const auto rb = read_zones(s.photo, fit, b, "t");
  for (std::size_t i = 0; i < 3; ++i) EXPECT_EQ(ra[i].lab, rb[i].lab);
}

}  // namespace
