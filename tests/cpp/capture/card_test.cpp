#include "mamelon/card.h"

#include <algorithm>
#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/difference.h"
#include "mamelon/error.h"
#include "mamelon/zones.h"

#include "capture/colour_map.h"
#include "colour/vectors.h"
#include "demo.h"

namespace {

using demo::d65;
using demo::scene;
using mamelon::CaptureError;
using mamelon::CorrectionMethod;
using mamelon::fit_card;
using testing::Contains;
using testing::HasSubstr;

template <class Failure = CaptureError>
void expect_refused(const mamelon::Photo& photo, const mamelon::Card& card, const std::string& part,
                    const mamelon::CardFitOptions& options = {}) {
  try {
    (void)fit_card(photo, card, d65(), options);
    ADD_FAILURE() << "accepted; expected: " << part;
  } catch (const Failure& failure) {
    EXPECT_THAT(failure.what(), HasSubstr(part));
  }
}

class DemoCard : public testing::TestWithParam<const char*> {};

TEST_P(DemoCard, LiesWhereTheSimulatorPutIt) {
  const auto& s = scene(GetParam());
  const auto fit = fit_card(s.photo, s.card, d65());
  const mamelon::CardFit truth{.mm_to_px = s.mm_to_px,
                               .card_parts = {},
                               .patches = {},
                               .correction = nullptr,
                               .viewing = d65(),
                               .warnings = {},
                               .provenance = {}};
  for (const auto& f : s.card.fiducials) {
    const auto found = to_px(fit, {f.x_mm, f.y_mm});
    const auto true_place = to_px(truth, {f.x_mm, f.y_mm});
    EXPECT_LT(std::hypot(found.x - true_place.x, found.y - true_place.y), 1.0);
  }
}

TEST_P(DemoCard, ReadsItsOwnPatches) {
  const auto& s = scene(GetParam());
  const auto fit = fit_card(s.photo, s.card, d65());
  EXPECT_EQ(fit.correction->method(), CorrectionMethod::response_estimate);
  EXPECT_LT(fit.loo_de00_median, 0.3);
  EXPECT_LT(fit.loo_de00_max, 1.5);
  for (const auto& p : fit.patches) {
    if (!p.used) continue;
    EXPECT_GT(p.pixels, 500U) << p.name;
    EXPECT_LE(p.de00, p.loo_de00 + 0.05) << p.name;
  }
}

INSTANTIATE_TEST_SUITE_P(Photos, DemoCard,
                         testing::Values("front_teeth", "front_teeth_linear", "front_teeth_warm"));

TEST(Card, UpsideDownIsReadAlike) {
  const auto& s = scene("front_teeth_linear");
  const auto upright = fit_card(s.photo, s.card, d65());
  const auto turned = fit_card(demo::turned(s.photo), s.card, d65());
  for (std::size_t i = 0; i < upright.patches.size(); ++i) {
    EXPECT_LT(mamelon::de00(upright.patches[i].fitted, turned.patches[i].fitted), 0.1);
  }
}

TEST(Card, ExposureCancels) {
  const auto& s = scene("front_teeth_linear");
  const auto whole = fit_card(s.photo, s.card, d65());
  const auto half = fit_card(demo::exposed(s.photo, 0.5), s.card, d65());
  for (std::size_t i = 0; i < whole.patches.size(); ++i) {
    EXPECT_LT(mamelon::de00(whole.patches[i].fitted, half.patches[i].fitted), 0.05);
  }
}

TEST(Card, CornersByHandDoAsWellAsFiducials) {
  const auto& s = scene("front_teeth_linear");
  const auto by_fiducials = fit_card(s.photo, s.card, d65());
  mamelon::CardFitOptions options;
  options.corners_px = {to_px(by_fiducials, {0, 0}), to_px(by_fiducials, {s.card.width_mm, 0}),
                        to_px(by_fiducials, {s.card.width_mm, s.card.height_mm}),
                        to_px(by_fiducials, {0, s.card.height_mm})};
  const auto by_hand = fit_card(s.photo, s.card, d65(), options);
  for (std::size_t i = 0; i < by_hand.patches.size(); ++i) {
    EXPECT_LT(mamelon::de00(by_hand.patches[i].fitted, by_fiducials.patches[i].fitted), 0.05);
  }
  std::swap((*options.corners_px)[0], (*options.corners_px)[1]);
  expect_refused<mamelon::ArgumentError>(s.photo, s.card, "clockwise", options);
}

TEST(Card, ExcludedPatchesAreNamedAndUnused) {
  const auto& s = scene("front_teeth");
  mamelon::CardFitOptions options;
  options.exclude = {"t3"};
  const auto fit = fit_card(s.photo, s.card, d65(), options);
  const auto t3 = std::find_if(fit.patches.begin(), fit.patches.end(),
                               [](const auto& p) { return p.name == "t3"; });
  ASSERT_NE(t3, fit.patches.end());
  EXPECT_FALSE(t3->used);
  EXPECT_EQ(t3->reason, "excluded");
  options.exclude = {"no such patch"};
  expect_refused<mamelon::ArgumentError>(s.photo, s.card, "no such patch", options);
}

TEST(Card, ClippedPatchIsDroppedAndNamed) {
  const auto& s = scene("front_teeth_linear");
  auto photo = s.photo;
  const auto& n0 = s.card.patches[0];
  demo::paint(photo, s.mm_to_px, n0.x_mm, n0.y_mm, n0.width_mm, n0.height_mm,
              {65535, 65535, 65535});
  const auto fit = fit_card(photo, s.card, d65());
  EXPECT_FALSE(fit.patches[0].used);
  EXPECT_EQ(fit.patches[0].reason, "clipped");
  EXPECT_EQ(fit.patches[0].clipped_fraction, 1);
  EXPECT_THAT(fit.warnings, Contains(HasSubstr(n0.name)));
}

TEST(Card, RefusesPhotosWithoutAWholeCard) {
  const auto& s = scene("front_teeth");
  auto blank = s.photo;
  std::fill(blank.rgb.begin(), blank.rgb.end(), std::uint16_t{20000});
  expect_refused(blank, s.card, "no card found");

  // One hidden corner is made good by the other three; two are not.
  auto hidden = s.photo;
  const auto hide = [&](const mamelon::Fiducial& f) {
    demo::paint(hidden, s.mm_to_px, f.x_mm + 1, f.y_mm + 1, 1.6, 1.6, {30000, 20000, 18000});
  };
  hide(s.card.fiducials[2]);
  const auto whole = fit_card(s.photo, s.card, d65());
  const auto fit = fit_card(hidden, s.card, d65());
  EXPECT_THAT(fit.warnings,
              Contains(HasSubstr("fiducial " + std::to_string(s.card.fiducials[2].id) +
                                 " is not visible")));
  for (const mamelon::PointMm at : {mamelon::PointMm{0, 0}, {s.card.width_mm, s.card.height_mm}}) {
    EXPECT_LT(
        std::hypot(to_px(fit, at).x - to_px(whole, at).x, to_px(fit, at).y - to_px(whole, at).y),
        2.0);
  }
  hide(s.card.fiducials[0]);
  expect_refused(hidden, s.card,
                 "fiducials " + std::to_string(s.card.fiducials[0].id) + ", " +
                     std::to_string(s.card.fiducials[2].id));

  expect_refused(demo::mirrored(s.photo), s.card, "mirrored");
}

// Nothing hides the fiducials of a photo out of focus or moved: they cannot be read.
TEST(Card, ABlurredPhotoIsCalledBlurred) {
  const auto& s = scene("front_teeth");
  const auto blurred = [&](long across, long down) {
    mamelon::Photo out = s.photo;
    const auto width = static_cast<long>(s.photo.width);
    const auto height = static_cast<long>(s.photo.height);
    for (long y = 0; y < height; ++y) {
      for (long x = 0; x < width; ++x) {
        for (std::size_t c = 0; c < 3; ++c) {
          unsigned sum = 0;
          unsigned count = 0;
          for (long v = std::max(0L, y - down); v <= std::min(height - 1, y + down); v += 4) {
            for (long u = std::max(0L, x - across); u <= std::min(width - 1, x + across); u += 4) {
              sum += s.photo.rgb[3 * static_cast<std::size_t>(v * width + u) + c];
              ++count;
            }
          }
          out.rgb[3 * static_cast<std::size_t>(y * width + x) + c] =
              static_cast<std::uint16_t>(sum / count);
        }
      }
    }
    return out;
  };
  expect_refused(blurred(16, 16), s.card, "the photo is blurred");
  expect_refused(blurred(40, 0), s.card, "the photo is blurred");
}

TEST(Card, RefusesTwoCards) {
  const auto& s = scene("front_teeth_linear");
  mamelon::Photo two = s.photo;
  two.height *= 2;
  two.rgb.insert(two.rgb.end(), s.photo.rgb.begin(), s.photo.rgb.end());
  expect_refused(two, s.card, "more than one card");
}

TEST(Card, RefusesTheWrongDefinition) {
  const auto& s = scene("front_teeth");
  // The right layout with the patches in another order, as if another card had been defined.
  auto wrong = s.card;
  for (std::size_t i = 0; i + 1 < wrong.patches.size(); i += 2) {
    std::swap(wrong.patches[i].reflectance, wrong.patches[i + 1].reflectance);
    std::swap(wrong.patches[i].lab, wrong.patches[i + 1].lab);
  }
  expect_refused(s.photo, wrong, "do not agree with the definition");
  // Another layout: its fiducials are elsewhere.
  expect_refused(s.photo, demo::card("chart24"), "");
}

TEST(Card, RefusesOverAndUnderExposure) {
  const auto& s = scene("front_teeth");
  expect_refused(demo::exposed(s.photo, 8), s.card, "over-exposed");
  expect_refused(demo::exposed(s.photo, 0.004), s.card, "");
}

TEST(Card, LabOnlyPatchesNeedTheCardsViewing) {
  const auto& s = scene("front_teeth");
  auto lab_only = s.card;
  for (auto& p : lab_only.patches) p.reflectance.reset();
  lab_only.white_reflectance.reset();
  const auto fit = fit_card(s.photo, lab_only, d65());
  EXPECT_EQ(fit.correction->method(), CorrectionMethod::matrix);
  EXPECT_THROW((void)fit_card(s.photo, lab_only, mamelon::viewing_from_string("A/10")),
               mamelon::ArgumentError);
  mamelon::CardFitOptions options;
  options.method = CorrectionMethod::response_estimate;
  expect_refused<mamelon::ArgumentError>(s.photo, lab_only, "reflectance of every patch", options);
}

// A reflectance with the same tristimulus values under D65/2 and another course: a ripple that is
// orthogonal to the three weighting functions is added.
mamelon::Reflectance metamer(const mamelon::Reflectance& r, double size) {
  const auto w = weights(r.grid(), d65());
  std::array<std::vector<double>, 3> base = {w->x, w->y, w->z};
  const auto dot = [](const std::vector<double>& a, const std::vector<double>& b) {
    double sum = 0;
    for (std::size_t i = 0; i < a.size(); ++i) sum += a[i] * b[i];
    return sum;
  };
  const auto remove = [&](std::vector<double>& from, const std::vector<double>& unit) {
    const double part = dot(from, unit);
    for (std::size_t i = 0; i < from.size(); ++i) from[i] -= part * unit[i];
  };
  for (std::size_t k = 0; k < 3; ++k) {
    for (std::size_t j = 0; j < k; ++j) remove(base[k], base[j]);
    const double size_k = std::sqrt(dot(base[k], base[k]));
    for (double& v : base[k]) v /= size_k;
  }
  std::vector<double> ripple(r.size());
  for (std::size_t i = 0; i < r.size(); ++i)
    ripple[i] = std::sin(0.055 * r.grid().wavelength_nm(i));
  for (const auto& unit : base) remove(ripple, unit);
  const double largest = std::abs(*std::max_element(
      ripple.begin(), ripple.end(), [](double a, double b) { return std::abs(a) < std::abs(b); }));
  std::vector<double> values = r.values();
  for (std::size_t i = 0; i < r.size(); ++i) values[i] *= 1 + size * ripple[i] / largest;
  // The product with R is no longer orthogonal: take the change of colour out again.
  std::vector<double> change(r.size());
  for (std::size_t i = 0; i < r.size(); ++i) change[i] = values[i] - r[i];
  for (const auto& unit : base) remove(change, unit);
  for (std::size_t i = 0; i < r.size(); ++i) values[i] = r[i] + change[i];
  return {r.grid(), values};
}

TEST(Card, MetamericPatchesWidenTheIntervalAndAreFlagged) {
  const auto& s = scene("front_teeth_linear");
  auto metameric = s.card;
  double sign = 1;
  for (auto& p : metameric.patches) {
    if (p.neutral) continue;
    p.reflectance = metamer(*p.reflectance, 0.4 * (sign = -sign));
    ASSERT_LT(mamelon::de00(to_lab(*p.reflectance, d65()), *p.lab), 0.15);
  }
  const auto honest = fit_card(s.photo, s.card, d65());
  const auto fooled = fit_card(s.photo, metameric, d65());
  EXPECT_THAT(fooled.warnings, Contains(HasSubstr("metameric")));
  EXPECT_THAT(honest.warnings, testing::Not(Contains(HasSubstr("metameric"))));
  const mamelon::Vec3 tooth = {0.3, 0.26, 0.2};
  // On the card, where the light is known: elsewhere unknown light widens both alike.
  const auto on_card = to_px(honest, {s.card.width_mm / 2, s.card.height_mm / 2});
  const auto narrow = honest.correction->lab(tooth, {}, on_card).sd();
  const auto wide = fooled.correction->lab(tooth, {}, on_card).sd();
  EXPECT_GT(wide[1] + wide[2], 1.5 * (narrow[1] + narrow[2]));
  std::size_t within = 0;
  std::size_t zones = 0;
  for (const auto& shown : s.teeth) {
    mamelon::ToothHint hint;
    hint.point = shown.point;
    const auto readings =
        read_zones(s.photo, fooled, find_zones(s.photo, fooled, hint), shown.name);
    for (std::size_t i = 0; i < readings.size(); ++i) {
      const auto& lab = readings[i].lab;
      const double error = mamelon::de00(lab.value, shown.zones[i]);
      const double u95 =
          mamelon::detail::squared_u95(lab.value, mamelon::detail::to_eigen(lab.covariance()));
      within += error * error <= u95 ? 1U : 0U;
      ++zones;
    }
  }
  EXPECT_GE(static_cast<double>(within), 0.9 * static_cast<double>(zones));
}

TEST(Card, EveryMethodReadsTheDemoWithItsOwnInterval) {
  const auto& s = scene("front_teeth");
  double last_sd = 0;
  for (const auto method : {CorrectionMethod::response_estimate, CorrectionMethod::root_polynomial,
                            CorrectionMethod::grey}) {
    mamelon::CardFitOptions options;
    options.method = method;
    const auto fit = fit_card(s.photo, s.card, d65(), options);
    EXPECT_EQ(fit.correction->method(), method);
    const auto reading = fit.correction->lab(fit.patches[9].rgb, {}, {800, 800});
    EXPECT_LT(mamelon::de00(reading.value, fit.patches[9].reference), 3) << to_string(method);
    const double sd = reading.sd()[2];
    EXPECT_GT(sd, last_sd) << to_string(method);
    last_sd = sd;
  }
}

TEST(Card, SameInputSameBits) {
  const auto& s = scene("front_teeth_linear");
  const auto a = fit_card(s.photo, s.card, d65());
  const auto b = fit_card(s.photo, s.card, d65());
  EXPECT_EQ(a.mm_to_px, b.mm_to_px);
  EXPECT_EQ(a.provenance, b.provenance);
  const mamelon::Vec3 tooth = {0.31, 0.27, 0.2};
  EXPECT_EQ(a.correction->lab(tooth, {}, {500, 300}), b.correction->lab(tooth, {}, {500, 300}));
}

}  // namespace
