// What a photo's reading is told of the surface, and what its interval owes to it.

#include <algorithm>
#include <cmath>
#include <memory>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/difference.h"
#include "mamelon/error.h"
#include "mamelon/zones.h"

#include "capture/colour_map.h"
#include "capture/expectation.h"
#include "capture/geometry.h"
#include "capture/tooth_library.h"
#include "colour/vectors.h"
#include "demo.h"

namespace {

using demo::d65;
using demo::scene;
using mamelon::ArgumentError;
using mamelon::fit_card;
using mamelon::Lab;
using mamelon::Signal;
using mamelon::SurfaceKind;
using testing::Contains;
using testing::HasSubstr;

double trace_of(const mamelon::Mat3& m) {
  return m[0][0] + m[1][1] + m[2][2];
}

double u95_of(const mamelon::Measured<Lab>& lab) {
  return std::sqrt(
      mamelon::detail::squared_u95(lab.value, mamelon::detail::to_eigen(lab.covariance())));
}

TEST(SurfaceKinds, NamesGoThereAndBack) {
  for (std::size_t i = 0; i < mamelon::detail::surface_kinds; ++i) {
    const auto kind = static_cast<SurfaceKind>(i);
    EXPECT_EQ(mamelon::from_string<SurfaceKind>(to_string(kind)), kind);
  }
  EXPECT_THROW((void)mamelon::from_string<SurfaceKind>("filling"), ArgumentError);
}

TEST(SurfaceKinds, EveryExpectationReflectsWhatMatterCan) {
  for (std::size_t i = 0; i < mamelon::detail::surface_kinds; ++i) {
    const auto expected = mamelon::detail::make_expectation(static_cast<SurfaceKind>(i), 200);
    EXPECT_EQ(expected.rows.rows(), 200);
    EXPECT_TRUE(expected.rows.allFinite()) << i;
    EXPECT_GT(expected.rows.minCoeff(), 0) << i;
    EXPECT_LT(expected.rows.maxCoeff(), 1) << i;
  }
}

// Blood absorbs at 542 and 577 nm and less at 560 nm (Prahl 1998).
TEST(SurfaceKinds, GingivaShowsBlood) {
  const auto expected = mamelon::detail::make_expectation(SurfaceKind::gingiva, 200);
  const Eigen::RowVectorXd mean = expected.rows.colwise().mean();
  EXPECT_GT(mean[16], mean[14]);  // 560 over 540 nm
  EXPECT_GT(mean[16], mean[18]);  // 560 over 580 nm
  EXPECT_GT(mean[30], 1.5 * mean[15]);
}

TEST(SurfaceKinds, AReadingCarriesItsKindAndUnknownIsWide) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  mamelon::ToothHint hint;
  hint.point = s.teeth.front().point;
  const auto zones = find_zones(s.photo, fit, hint);
  const auto teeth = read_zones(s.photo, fit, zones, "tooth");
  const auto composite = read_zones(s.photo, fit, zones, "tooth", SurfaceKind::restoration);
  const auto unknown = read_zones(s.photo, fit, zones, "tooth", SurfaceKind::unknown);
  EXPECT_EQ(teeth[1].kind, SurfaceKind::tooth);
  EXPECT_EQ(unknown[1].kind, SurfaceKind::unknown);
  EXPECT_NE(teeth[1].provenance, unknown[1].provenance);
  EXPECT_LT(trace_of(teeth[1].lab.shared), trace_of(composite[1].lab.shared));
  EXPECT_LT(trace_of(composite[1].lab.shared), trace_of(unknown[1].lab.shared));
}

TEST(Differences, CameraAndLightCancelMaterialDoesNot) {
  const auto& s = scene("front_teeth_linear");
  const auto fit = fit_card(s.photo, s.card, d65());
  mamelon::ToothHint hint;
  hint.point = s.teeth.front().point;
  const auto zones = find_zones(s.photo, fit, hint);
  const auto signals = zone_signals(s.photo, zones);
  const auto readings = read_zones(s.photo, fit, zones, "tooth");
  const auto apart = difference(fit, signals[0], signals[1]);
  const double of_both =
      trace_of(readings[0].lab.covariance()) + trace_of(readings[1].lab.covariance());
  EXPECT_LT(trace_of(apart.covariance), of_both);
  EXPECT_GT(trace_of(apart.covariance), 0);
  // The truth: the difference of the zones' true colours.
  const Lab& one = s.teeth.front().zones[0];
  const Lab& other = s.teeth.front().zones[1];
  const Lab moved = {apart.one.l - (apart.apart[0] - one.l + other.l),
                     apart.one.a - (apart.apart[1] - one.a + other.a),
                     apart.one.b - (apart.apart[2] - one.b + other.b)};
  EXPECT_LE(mamelon::de00(apart.one, moved), apart.de00_u95);
  // Of one signal taken for two materials neither colour nor interval is nothing. Unknown light
  // cancels: beside the interval of a reading where the card tells of the light.
  Signal tooth = signals[1];
  tooth.at = to_px(fit, {s.card.width_mm / 2, s.card.height_mm / 2});
  Signal tab = tooth;
  tab.kind = SurfaceKind::tab;
  EXPECT_GT(difference(fit, tooth, tab).de00_u95, 0.5 * u95_of(fit.correction->lab(tab)));
}

TEST(Belonging, AFitOrZonesOfAnotherPhotoIsAnError) {
  const auto& s = scene("front_teeth_linear");
  const auto& warm = scene("front_teeth_warm");
  const auto fit = fit_card(s.photo, s.card, d65());
  const auto other = fit_card(warm.photo, warm.card, d65());
  mamelon::ToothHint hint;
  hint.point = s.teeth.front().point;
  const auto zones = find_zones(s.photo, fit, hint);
  EXPECT_THROW((void)read_zones(s.photo, other, zones, "t"), ArgumentError);
  EXPECT_THROW((void)read_zones(warm.photo, other, zones, "t"), ArgumentError);
  EXPECT_THROW((void)read_grid(s.photo, other, zones, 2, 2, "t"), ArgumentError);
  EXPECT_THROW((void)map_lab(s.photo, other, zones), ArgumentError);
  EXPECT_THROW((void)find_zones(s.photo, other, hint), ArgumentError);
  EXPECT_THROW((void)zone_signals(warm.photo, zones), ArgumentError);
  EXPECT_NO_THROW((void)read_zones(s.photo, fit, zones, "t"));
}

mamelon::Reflectance flat(double level) {
  return {mamelon::detail::response_grid(), std::vector<double>(31, level)};
}

TEST(CardsThatCannotBeTrue, AreRefusedWithThePatchNamed) {
  const mamelon::Card good = demo::card("tooth20");
  EXPECT_NO_THROW(check_card(good, "card"));
  const auto expect = [](const mamelon::Card& card, const std::string& part) {
    try {
      check_card(card, "card");
      ADD_FAILURE() << "accepted; expected: " << part;
    } catch (const ArgumentError& error) {
      EXPECT_THAT(error.what(), HasSubstr(part));
    }
  };
  mamelon::Card card = good;
  card.white_reflectance = flat(1.2);
  expect(card, "1.02 at the most");
  card = good;
  card.white_reflectance = flat(0.4);
  card.white_lab.reset();
  expect(card, "80 or more");
  card = good;
  card.patches[8].lab = Lab{60, 10, 30};
  expect(card, "patch '" + good.patches[8].name + "'");
  // A spectrum shifted by two bands: its colour is no longer the stated one.
  card = good;
  auto values = good.patches[9].reflectance->values();
  std::rotate(values.begin(), values.begin() + 2, values.end());
  card.patches[9].reflectance = mamelon::Reflectance(good.patches[9].reflectance->grid(), values);
  expect(card, "the reflectance counts");
}

// The card lies in a shadow that the tooth does not, or the reverse, and no white stands beside the
// tooth: nothing in the photo tells, so that the interval has to hold it.
// A veil of glare over the card alone, 3 % of a perfect white: the dark patches show it, and
// whether it lies over the tooth too is not known.
TEST(VeilOverTheCard, IsInTheInterval) {
  const auto& s = scene("front_teeth_linear");
  const auto place = fit_card(s.photo, s.card, d65());
  const auto white =
      std::max_element(place.patches.begin(), place.patches.end(),
                       [](const auto& a, const auto& b) { return a.rgb[1] < b.rgb[1]; });
  mamelon::Photo photo = s.photo;
  const auto bare = demo::card("tooth20");
  const auto card_place = fit_card(s.photo, bare, d65());
  const auto px_to_mm = mamelon::detail::inverse(card_place.mm_to_px);
  for (std::size_t y = 0; y < photo.height; ++y) {
    for (std::size_t x = 0; x < photo.width; ++x) {
      const auto at = mamelon::detail::apply_inverse(
          px_to_mm, {static_cast<double>(x), static_cast<double>(y)});
      if (at.x < 0 || at.y < 0 || at.x > bare.width_mm || at.y > bare.height_mm) continue;
      for (std::size_t c = 0; c < 3; ++c) {
        auto& value = photo.rgb[3 * (y * photo.width + x) + c];
        const double veiled = value + 0.03 * 65535 * white->rgb[c];
        value = static_cast<std::uint16_t>(std::min(65534.0, veiled));
      }
    }
  }
  const auto fit = fit_card(photo, s.card, d65());
  for (const auto& tooth : s.teeth) {
    mamelon::ToothHint hint;
    hint.point = tooth.point;
    const auto readings = read_zones(photo, fit, find_zones(photo, fit, hint), tooth.name);
    for (std::size_t i = 0; i < readings.size(); ++i) {
      EXPECT_LE(mamelon::de00(readings[i].lab.value, tooth.zones[i]), u95_of(readings[i].lab))
          << tooth.name << " " << i;
    }
  }
}

class ShadowOnTheCard : public testing::TestWithParam<double> {};

TEST_P(ShadowOnTheCard, IsInTheIntervalWhereNoWhiteStandsBesideTheTooth) {
  const auto& s = scene("front_teeth_linear");
  const auto bare = demo::card("tooth20");
  const auto place = fit_card(s.photo, bare, d65());
  mamelon::Photo photo = s.photo;
  const auto px_to_mm = mamelon::detail::inverse(place.mm_to_px);
  for (std::size_t y = 0; y < photo.height; ++y) {
    for (std::size_t x = 0; x < photo.width; ++x) {
      const auto at = mamelon::detail::apply_inverse(
          px_to_mm, {static_cast<double>(x), static_cast<double>(y)});
      if (at.x < -1 || at.y < -1 || at.x > bare.width_mm + 1 || at.y > bare.height_mm + 1) continue;
      for (std::size_t c = 0; c < 3; ++c) {
        auto& value = photo.rgb[3 * (y * photo.width + x) + c];
        value =
            static_cast<std::uint16_t>(std::min(65534.0, GetParam() * static_cast<double>(value)));
      }
    }
  }
  const auto fit = fit_card(photo, bare, d65());
  for (const auto& tooth : s.teeth) {
    mamelon::ToothHint hint;
    hint.point = tooth.point;
    const auto zones = find_zones(photo, fit, hint);
    EXPECT_THAT(zones.warnings, Contains(HasSubstr("put white beside it")));
    const auto readings = read_zones(photo, fit, zones, tooth.name);
    for (std::size_t i = 0; i < readings.size(); ++i) {
      EXPECT_LE(mamelon::de00(readings[i].lab.value, tooth.zones[i]), u95_of(readings[i].lab))
          << tooth.name << " " << i;
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Factors, ShadowOnTheCard, testing::Values(0.6, 0.8, 1.0));

// A card read by patches that are all a little off, and a tab of known colour beside them.
TEST(TwoSteps, ATabInTheFrameCorrectsWhatTheCardLeavesAtTabs) {
  const auto& s = scene("front_teeth_linear");
  auto card = s.card;
  const auto at = std::find_if(card.patches.begin(), card.patches.end(),
                               [](const auto& p) { return p.name == "t4"; });
  ASSERT_NE(at, card.patches.end());
  const mamelon::Patch known = *at;
  card.patches.erase(at);
  const auto plain = fit_card(s.photo, card, d65());
  const auto a =
      to_px(plain, {known.x_mm + 0.25 * known.width_mm, known.y_mm + 0.25 * known.height_mm});
  const auto b =
      to_px(plain, {known.x_mm + 0.75 * known.width_mm, known.y_mm + 0.75 * known.height_mm});
  const mamelon::BoxPx box = {a.x, a.y, b.x - a.x, b.y - a.y};
  mamelon::CardFitOptions options;
  options.surfaces = {{known.name, box, std::nullopt, known.reflectance}};
  const auto both = fit_card(s.photo, card, d65(), options);
  const Lab truth = to_lab(*known.reflectance, d65());
  const auto alone = read_box(s.photo, plain, box, SurfaceKind::tab, "t4");
  const auto corrected = read_box(s.photo, both, box, SurfaceKind::tab, "t4");
  EXPECT_LE(mamelon::de00(corrected.lab.value, truth), mamelon::de00(alone.lab.value, truth));
  EXPECT_LT(trace_of(corrected.lab.shared), trace_of(alone.lab.shared));
  EXPECT_NE(plain.provenance, both.provenance);
}

TEST(BlankWhite, HasToBeOfThePhotosSizeAndTellsOfTheLight) {
  const auto& s = scene("front_teeth_linear");
  mamelon::CardFitOptions options;
  mamelon::Photo blank = s.photo;
  // Even white under light that falls to the right.
  for (std::size_t y = 0; y < blank.height; ++y) {
    for (std::size_t x = 0; x < blank.width; ++x) {
      const double u = static_cast<double>(x) / static_cast<double>(blank.width);
      for (std::size_t c = 0; c < 3; ++c) {
        blank.rgb[3 * (y * blank.width + x) + c] =
            static_cast<std::uint16_t>(30000 * (1 - 0.3 * u));
      }
    }
  }
  options.blank_white = std::make_shared<const mamelon::Photo>(blank);
  const auto told = fit_card(s.photo, s.card, d65(), options);
  const auto untold = fit_card(s.photo, s.card, d65());
  EXPECT_NE(told.correction->light({1000, 200}), untold.correction->light({1000, 200}));
  blank.height /= 2;
  blank.rgb.resize(3 * blank.width * blank.height);
  options.blank_white = std::make_shared<const mamelon::Photo>(blank);
  EXPECT_THROW((void)fit_card(s.photo, s.card, d65(), options), ArgumentError);
}

// A tone curve, steeper in red, that no profile tells of: the response estimate cannot be told, and
// the plain matrix reads the photo with an interval that says so.
TEST(RenderedPhotos, FallBackToThePlainMapInPlaceOfARefusal) {
  const auto& s = scene("front_teeth");
  mamelon::Photo photo = s.photo;
  for (std::size_t i = 0; i < photo.rgb.size(); ++i) {
    const double light = photo.rgb[i] / 65535.0;
    const double bent = std::pow(light, i % 3 == 0 ? 0.72 : 0.8);
    photo.rgb[i] = static_cast<std::uint16_t>(65535 * bent);
  }
  photo.encoding = mamelon::Encoding::srgb_assumed;
  const auto fit = fit_card(photo, s.card, d65());
  EXPECT_EQ(fit.correction->method(), mamelon::CorrectionMethod::matrix);
  EXPECT_THAT(fit.warnings, Contains(HasSubstr("a plain matrix was fitted")));
  mamelon::ToothHint hint;
  hint.point = s.teeth.front().point;
  const auto readings = read_zones(photo, fit, find_zones(photo, fit, hint), "t");
  for (std::size_t i = 0; i < readings.size(); ++i) {
    EXPECT_LE(mamelon::de00(readings[i].lab.value, s.teeth.front().zones[i]),
              u95_of(readings[i].lab));
  }
}

}  // namespace
